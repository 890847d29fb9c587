-- What is measured on a Curlew 4 before anything goes together, and the shells that are chosen by
-- marks.  All figures are invented.

local workshop = require "workshop"
local curlew4 = require "curlew4"

local cylinders = curlew4.cylinders
local mains = curlew4.mains

local measuring = {}

-- Bores, rings, journals, runout, faces, springs; all of them after "room".
function measuring.parts()
  for _, cylinder in ipairs(cylinders) do
    curlew4.measure_bore(cylinder, "room")

    local function gap(id, ring, low, high)
      return value {
        id = id .. "-gap", say = "gap of the " .. ring, formula = "mean", of = id,
        unit = "mm", decimals = 2, low = low, high = high,
        when_low = "File it from the outside inward, square, and deburr.",
        when_high = "Too big for this bore: take a new ring.",
      }
    end
    measure {
      id = "rings-" .. cylinder,
      say = "Rings of cylinder " .. cylinder .. ", each squared in its own bore with a piston.",
      gauge = workshop.feelers,
      after = "bore-" .. cylinder,
      readings = {
        workshop.length("upper", "gap of the upper ring", 2, mm(0.20), mm(0.60)),
        workshop.length("second", "gap of the second ring", 2, mm(0.25), mm(0.65)),
        workshop.length("side", "side clearance of both rings in their grooves", 2, mm(0.02), mm(0.10),
                        { "upper", "second" }),
      },
      derive = {
        gap("upper", "upper ring", mm(0.35), mm(0.45)),
        gap("second", "second ring", mm(0.40), mm(0.50)),
        value { id = "side-clearance", say = "side clearance", formula = "largest", of = "side",
                unit = "mm", decimals = 2, high = mm(0.08), when_high = "The piston is worn: a new one." },
      },
    }
    confirm {
      id = "set-" .. cylinder,
      say = "Rings, piston and rod of cylinder " .. cylinder .. " together in their box, number on it.",
      after = "rings-" .. cylinder,
    }
  end

  for _, main in ipairs(mains) do
    curlew4.measure_journal("main", main, mm(57.930), mm(57.970), "room")
  end
  for _, cylinder in ipairs(cylinders) do
    curlew4.measure_journal("rod", cylinder, mm(47.930), mm(47.970), "room")
  end

  measure {
    id = "crank-runout",
    say = "Crank on V-blocks at its ends, dial on the middle journal, one slow turn.",
    gauge = workshop.dial,
    after = "room",
    readings = {
      workshop.length("dial", "dial, highest and lowest", 2, mm(0.00), mm(0.20), { "highest", "lowest" }),
    },
    derive = {
      value { id = "runout", say = "runout", formula = "range", of = "dial", unit = "mm", decimals = 2,
              high = mm(0.05), when_high = "The crank goes to be straightened." },
    },
  }

  local spans = { "along", "across", "diagonal 1", "diagonal 2" }
  measure {
    id = "faces",
    say = "Straight edge over block and head, along, across and both diagonals: the widest gap.",
    gauge = workshop.straight_edge,
    after = "room",
    readings = {
      workshop.length("deck", "gap at the block", 2, mm(0.00), mm(0.08), spans),
      workshop.length("head", "gap at the head", 2, mm(0.00), mm(0.08), spans),
    },
    derive = {
      value { id = "deck-flat", say = "flatness of the block", formula = "largest", of = "deck",
              unit = "mm", decimals = 2, high = mm(0.05), when_high = "Plane the block." },
      value { id = "head-flat", say = "flatness of the head", formula = "largest", of = "head",
              unit = "mm", decimals = 2, high = mm(0.05), when_high = "Plane the head." },
    },
  }


  measure {
    id = "springs",
    say = "Height of each valve spring as it is built in, seat to retainer.",
    gauge = "spring height gauge",
    after = "room",
    readings = { workshop.length("height", "built-in height", 2, mm(39.0), mm(41.0),
                                 points { { "1", "2", "3", "4" }, { "inlet", "exhaust" } }) },
    derive = {
      value { id = "lowest", say = "lowest spring", formula = "smallest", of = "height",
              unit = "mm", decimals = 2, low = mm(39.5), when_low = "Take a shim out." },
      value { id = "highest", say = "highest spring", formula = "largest", of = "height",
              unit = "mm", decimals = 2, high = mm(40.5), when_high = "Put a shim under it." },
    },
  }
end

-- Main bearing shells, by the marks on block and crank.
function measuring.select_shells()
  for _, main in ipairs(mains) do
    local journal = "main-journal-" .. main
    ask {
      id = "block-mark-" .. main,
      say = "Which letter is on the block beside cap " .. main .. "?",
      answers = { "A", "B", "C" },
      after = journal,
    }
    ask {
      id = "crank-mark-" .. main,
      say = "Which digit is on the crank at journal " .. main .. "?",
      answers = { "1", "2", "3" },
      after = journal,
    }
    choose {
      id = "shell-" .. main,
      say = "Shells of main bearing " .. main .. ", dry, into block and cap.",
      after = { "block-mark-" .. main, "crank-mark-" .. main },
      row = "block-mark-" .. main,
      column = "crank-mark-" .. main,
      parts = {
        { "red", "red above, yellow below", "yellow" },
        { "red above, yellow below", "yellow", "yellow above, blue below" },
        { "yellow", "yellow above, blue below", "blue" },
      },
    }
  end
end

return measuring
