-- Curlew 4, the harbour service's inline four: from the bare block to the sealed engine.
--
-- The shorter short-block.lua is the one to learn from; this one shows a whole job: parts chosen
-- from a table, bearings measured on trial, rings filed until they fit, groups that take turns,
-- the crank in its place for the rockers, sealant that can't wait.  docs/sequences.md explains
-- each word.
--
-- All figures are invented.  For a real engine take its maker's manual.

local workshop = require "workshop"

sequence {
  title = "Curlew 4 long block",
  engine = "Curlew 4",
  edition = "1",
  document = "Workshop manual of the harbour pilot service, invented, chapters 2 to 4",
  revision = "C",
  invented = true,
  torque_unit = "N.m",
}

local cylinders = { 1, 2, 3, 4 }
local mains = { 1, 2, 3, 4, 5 }

-- Ids of the same step for each cylinder or bearing, for `after`.
local function each(prefix, numbers)
  local ids = {}
  for i, number in ipairs(numbers) do
    ids[i] = prefix .. number
  end
  return ids
end

---------------------------------------------------------------------------------------------------
-- Fasteners
---------------------------------------------------------------------------------------------------

group {
  name = "main",
  say = "main cap bolts",
  thread = "M11x1.25",
  class = "10.9",
  lubricant = workshop.engine_oil,
  cycles = 3,
  places = grid {
    rows = 2, columns = 5, dx = mm(92), dy = mm(96),
    labels = {
      "1 left", "2 left", "3 left", "4 left", "5 left",
      "1 right", "2 right", "3 right", "4 right", "5 right",
    },
  },
  order = "spiral",
}

group {
  name = "cross",
  say = "cross bolts of the main caps",
  thread = "M8x1.25",
  class = "8.8",
  lubricant = workshop.engine_oil,
  places = labels { "2 left", "3 left", "4 left", "2 right", "3 right", "4 right" },
}

group {
  name = "crank",
  say = "crank, turned at its pulley end",
  lubricant = workshop.engine_oil,
  places = labels { "crank" },
}

group {
  name = "rod",
  say = "connecting rod bolts",
  thread = "M10x1.25",
  class = "10.9",
  lubricant = workshop.bolt_paste,
  new_each_time = true,
  cycles = 3,
  places = labels {
    "1 inner", "1 outer", "2 inner", "2 outer", "3 inner", "3 outer", "4 inner", "4 outer",
  },
}

group {
  name = "head",
  say = "cylinder head bolts",
  thread = "M11x1.5",
  class = "10.9",
  lubricant = workshop.engine_oil,
  washers = "hardened, chamfer up",
  new_each_time = true,
  places = grid { rows = 2, columns = 5, dx = mm(98), dy = mm(112) },
  order = "spiral",
}

group {
  name = "front",
  say = "small bolts at the front of the head",
  thread = "M8x1.25",
  class = "8.8",
  lubricant = workshop.engine_oil,
  places = labels { "left", "middle", "right" },
}

for _, cylinder in ipairs(cylinders) do
  group {
    name = "rocker-" .. cylinder,
    say = "rocker bolts of cylinder " .. cylinder,
    thread = "M8x1.25",
    class = "8.8",
    lubricant = workshop.engine_oil,
    places = labels { "inlet", "exhaust" },
  }
end

group {
  name = "pulley",
  say = "bolt of the crank pulley",
  thread = "M14x1.5",
  class = "10.9",
  lubricant = workshop.engine_oil,
  places = labels { "pulley" },
}

group {
  name = "sump",
  say = "sump bolts",
  thread = "M8x1.25",
  class = "8.8",
  lubricant = workshop.engine_oil,
  places = grid { rows = 2, columns = 6, dx = mm(78), dy = mm(190) },
  order = "spiral",
}

---------------------------------------------------------------------------------------------------
-- Receive, clean
---------------------------------------------------------------------------------------------------

local read = caution {
  id = "invented-figures",
  say = "Every figure in this sequence is invented: use it to learn, not on a real engine.",
}

note { id = "block-number", say = "Write down the number stamped on the block.", after = read }
note { id = "launch", say = "Write down the launch that the engine belongs to.", after = read }

confirm {
  id = "threads-clean",
  say = "All bolt holes chased and blown dry; no oil stands in a blind hole.",
  why = "Oil under a bolt can't go anywhere: it splits the block.",
  after = { "block-number", "launch" },
}

confirm {
  id = "galleries-clean",
  say = "Oil galleries brushed in both directions and blown through, plugs back with compound.",
  after = "threads-clean",
}

---------------------------------------------------------------------------------------------------
-- Bores and rings
---------------------------------------------------------------------------------------------------

local heights = { "top", "middle", "bottom" }

for _, cylinder in ipairs(cylinders) do
  measure {
    id = "bore-" .. cylinder,
    say = "Bore and piston of cylinder " .. cylinder .. ".",
    gauge = workshop.bore_gauge .. "; micrometer 75-100 mm",
    after = "galleries-clean",
    readings = {
      reading {
        id = "across", say = "bore across the engine", unit = "mm", decimals = 3,
        at = heights, plausible = { mm(86.000), mm(86.100) },
      },
      reading {
        id = "along", say = "bore along the engine", unit = "mm", decimals = 3,
        at = heights, plausible = { mm(86.000), mm(86.100) },
      },
      reading {
        id = "piston", say = "piston 11 mm above its lower edge", unit = "mm", decimals = 3,
        plausible = { mm(85.920), mm(86.000) },
      },
    },
    derive = {
      value {
        id = "taper", say = "taper of the bore", formula = "worst_taper",
        of = { "across", "along" }, unit = "mm", decimals = 3, high = mm(0.100),
      },
      value {
        id = "round", say = "out of round", formula = "worst_out_of_round",
        of = { "across", "along" }, unit = "mm", decimals = 3, high = mm(0.100),
      },
      value {
        id = "clearance", say = "piston clearance", formula = "piston_clearance",
        of = { "across", "piston" }, unit = "mm", decimals = 3, low = mm(0.000), high = mm(0.180),
      },
    },
  }

  measure {
    id = "rings-" .. cylinder,
    say = "Rings of cylinder " .. cylinder .. ", each squared in its own bore with a piston.",
    gauge = workshop.feelers,
    after = "bore-" .. cylinder,
    readings = {
      reading {
        id = "upper", say = "gap of the upper ring", unit = "mm", decimals = 2,
        plausible = { mm(0.20), mm(0.60) },
      },
      reading {
        id = "second", say = "gap of the second ring", unit = "mm", decimals = 2,
        plausible = { mm(0.20), mm(0.60) },
      },
    },
    derive = {
      value {
        id = "upper-gap", say = "gap of the upper ring", formula = "mean", of = "upper",
        unit = "mm", decimals = 2, low = mm(0.30), high = mm(0.50),
        when_low = "File it from the outside inward, square, and deburr.",
        when_high = "Too big for this bore: take a new ring.",
      },
      value {
        id = "second-gap", say = "gap of the second ring", formula = "mean", of = "second",
        unit = "mm", decimals = 2, low = mm(0.30), high = mm(0.50),
        when_low = "File it from the outside inward, square, and deburr.",
        when_high = "Too big for this bore: take a new ring.",
      },
    },
  }
end

---------------------------------------------------------------------------------------------------
-- Main bearings: chosen, and measured on trial
---------------------------------------------------------------------------------------------------

for _, main in ipairs(mains) do
  ask {
    id = "block-mark-" .. main,
    say = "Which letter is on the block beside cap " .. main .. "?",
    answers = { "A", "B", "C" },
    after = "galleries-clean",
  }
  ask {
    id = "crank-mark-" .. main,
    say = "Which digit is on the crank at journal " .. main .. "?",
    answers = { "1", "2", "3" },
    after = "galleries-clean",
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

confirm {
  id = "strips-in",
  say = "Crank laid in dry, a gauge strip on each journal, caps on, number to number, arrow to the "
     .. "front.",
  after = each("shell-", mains),
}

tighten {
  id = "main-trial",
  say = "Tighten the main cap bolts as for good, to measure.",
  why = "A bore is as round as its cap is tight.",
  group = "main",
  trial = true,
  after = "strips-in",
  stages = {
    torque { Nm(30), within = percent(6) },
    torque { Nm(65), within = percent(5) },
  },
}

measure {
  id = "main-clearance",
  say = "Caps off again. The widest place of each strip against its card.",
  gauge = "card of the gauge strip",
  after = "main-trial",
  readings = {
    reading {
      id = "strip", say = "oil clearance", unit = "mm", decimals = 3,
      at = { "1", "2", "3", "4", "5" }, plausible = { mm(0.025), mm(0.076) },
    },
  },
  derive = {
    value {
      id = "least", say = "least oil clearance", formula = "smallest", of = "strip",
      unit = "mm", decimals = 3, low = mm(0.025), when_low = "Take thinner shells, one colour.",
    },
    value {
      id = "most", say = "most oil clearance", formula = "largest", of = "strip",
      unit = "mm", decimals = 3, high = mm(0.076), when_high = "Take thicker shells, one colour.",
    },
  },
}

confirm {
  id = "strips-out",
  say = "Strips cleaned off, crank out again.",
  after = "main-clearance",
}

forbid {
  say = "turn the crank",
  why = "a strip that was smeared shows too much",
  from = "strips-in", to = "strips-out",
}

---------------------------------------------------------------------------------------------------
-- Crankshaft, for good
---------------------------------------------------------------------------------------------------

confirm {
  id = "oil-jets",
  say = "All four piston oil jets in, each pointing at its own bore.",
  why = "With the crank in, no jet can be reached.",
  after = "strips-out",
}

confirm {
  id = "crank-in",
  say = "Shells and journals oiled, thrust washers in with their grooves to the crank, crank in, "
     .. "caps on with their bolts oiled and run down by hand.",
  after = "oil-jets",
  buries = "the oil jets and the upper main shells",
}

-- The caps are drawn to the block first, then sideways, then down for good.
tighten {
  id = "main-first",
  say = "Draw the main caps down.",
  group = "main",
  after = "crank-in",
  stages = { torque { Nm(30), within = percent(6) } },
}

tighten {
  id = "cross-bolts",
  say = "Draw the main caps sideways.",
  group = "cross",
  after = "main-first",
  stages = { torque { Nm(14), within = percent(8) } },
}

tighten {
  id = "main-last",
  say = "Tighten the main cap bolts for good.",
  group = "main",
  after = "cross-bolts",
  continues = "main-first",
  stages = { torque { Nm(65), within = percent(5) } },
}

tighten {
  id = "cross-last",
  say = "The cross bolts once more.",
  why = "The caps have moved a little since.",
  group = "cross",
  after = "main-last",
  continues = "cross-bolts",
  stages = { torque { Nm(14), within = percent(8), again = true } },
}

tighten {
  id = "crank-turns",
  say = "Turn the crank with the wrench, steadily, two turns.",
  group = "crank",
  after = "cross-last",
  stages = { rotating { low = Nm(0.8), high = Nm(3.5), least_turn = deg(720) } },
}

measure {
  id = "end-float",
  say = "End float of the crank.",
  gauge = workshop.dial,
  after = "crank-turns",
  readings = {
    reading {
      id = "float", say = "dial with the crank pried to the front, zeroed at the rear",
      unit = "mm", decimals = 2, at = { "first", "second" }, plausible = { mm(0.05), mm(0.35) },
    },
  },
  derive = {
    value {
      id = "end-float", say = "end float", formula = "end_float", of = "float",
      unit = "mm", decimals = 2, low = mm(0.05), high = mm(0.35),
    },
  },
}

---------------------------------------------------------------------------------------------------
-- Pistons and rods
---------------------------------------------------------------------------------------------------

local in_bores = { "end-float" }
for _, cylinder in ipairs(cylinders) do
  in_bores[#in_bores + 1] = confirm {
    id = "piston-" .. cylinder,
    say = "Piston " .. cylinder .. " in its own bore, arrow to the front, ring gaps a third of a "
       .. "turn apart; its own cap on, numbers to the inlet, new bolts run down by hand.",
    after = { "end-float", "rings-" .. cylinder },
    buries = "the rings of cylinder " .. cylinder,
  }
end

tighten {
  id = "rod-bolts",
  say = "Tighten the connecting rod bolts.",
  group = "rod",
  after = in_bores,
  stages = {
    torque { Nm(20), within = percent(8) },
    torque { Nm(45), within = percent(5) },
  },
}

confirm {
  id = "rods-free",
  say = "Each rod can be moved along its journal by hand; the crank still turns.",
  after = "rod-bolts",
  moves = true,
}

---------------------------------------------------------------------------------------------------
-- Cylinder head
---------------------------------------------------------------------------------------------------

confirm {
  id = "head-on",
  say = "Faces clean and dry, dowels in, gasket with its writing up, head on, new bolts oiled and "
     .. "run down by hand.",
  after = "rods-free",
  position = "all pistons half way down",
  buries = "the gasket, the pistons and the bores",
}

tighten {
  id = "head-first",
  say = "Tighten the cylinder head bolts.",
  group = "head",
  after = "head-on",
  stages = { torque { Nm(40), within = percent(6) } },
}

tighten {
  id = "front-bolts",
  say = "Tighten the small bolts at the front.",
  group = "front",
  after = "head-first",
  stages = { torque { Nm(12), within = percent(8) } },
}

tighten {
  id = "head-angle",
  say = "Turn the cylinder head bolts on.",
  group = "head",
  after = "front-bolts",
  continues = "head-first",
  stages = {
    angle { deg(45), within = deg(4) },
    angle { deg(45), within = deg(4), floor = Nm(70) },
  },
}

tighten {
  id = "front-last",
  say = "The small bolts once more.",
  group = "front",
  after = "head-angle",
  continues = "front-bolts",
  stages = { torque { Nm(12), within = percent(8), again = true } },
}

---------------------------------------------------------------------------------------------------
-- Rockers
---------------------------------------------------------------------------------------------------

-- In the order in which the engine fires; each cylinder's valves are shut where it is at the top.
local last = "front-last"
for _, cylinder in ipairs { 1, 3, 4, 2 } do
  last = tighten {
    id = "rockers-" .. cylinder,
    say = "Rockers of cylinder " .. cylinder .. ".",
    group = "rocker-" .. cylinder,
    after = last,
    position = "cylinder " .. cylinder .. " at the top of its compression",
    stages = { torque { Nm(22), within = percent(8) } },
  }
end

---------------------------------------------------------------------------------------------------
-- Pulley, sump
---------------------------------------------------------------------------------------------------

ask { id = "pulley-bolt", say = "Is the pulley's bolt new or used?", answers = { "new", "used" },
      after = last }

-- A new bolt is seated once before it is tightened.
tighten {
  id = "pulley-seat",
  say = "Seat the new bolt of the pulley.",
  group = "pulley",
  after = "pulley-bolt",
  when = { step = "pulley-bolt", answer = "new" },
  stages = {
    torque { Nm(120), within = percent(8) },
    back_off { until_loose = true },
  },
}

tighten {
  id = "pulley-last",
  say = "Tighten the bolt of the pulley.",
  group = "pulley",
  after = { "pulley-bolt", "pulley-seat" },
  stages = { torque { Nm(90), within = percent(6) } },
}

confirm {
  id = "bead-on",
  say = "Oil pump and pick-up on, looked at by lamp; bead of sealant on the sump, behind the holes.",
  after = "pulley-last",
}

tighten {
  id = "sump-bolts",
  say = "Sump on, tighten its bolts.",
  why = "The sealant forms its skin.",
  group = "sump",
  after = "bead-on",
  since = "bead-on",
  most = min(20),
  buries = "the oil pump and its pick-up",
  stages = { torque { Nm(12), within = percent(8) } },
}

wait {
  id = "sealant-cured",
  say = "The sealant has cured; only then oil goes in.",
  after = "sump-bolts",
  since = "bead-on",
  least = h(2),
}

confirm {
  id = "primed",
  say = "Oil in; pump turned by hand until oil stands at every rocker.",
  after = "sealant-cured",
}

confirm {
  id = "sealed",
  say = "All openings capped, paint marks on every bolt that was tightened, tag on.",
  after = "primed",
}
