-- Plover 2 with its generator: from the split crankcase to the set that is run in.
--
-- Through-bolts whose locking nuts turn hard before they clamp, castle nuts, rod bolts tightened by
-- their stretch, a head on either side.  bottom-end.lua has fewer steps and more kinds of stage.
-- docs/sequences.md explains each word.
--
-- All figures are invented.  For a real engine take its maker's manual.

local workshop = require "workshop"
local plover2 = require "plover2"

sequence {
  title = "Plover 2 generator set",
  engine = "Plover 2",
  edition = "1",
  document = "Workshop manual of the harbour pilot service, invented, chapters 7 and 9",
  revision = "A",
  invented = true,
  torque_unit = "lbf.ft",
}

---------------------------------------------------------------------------------------------------
-- Fasteners
---------------------------------------------------------------------------------------------------

-- The case halves are held by through-bolts; cylinders stand on the same bolts.
group {
  name = "through",
  say = "locking nuts of the through-bolts of the case",
  thread = "M12x1.25",
  class = "10.9",
  lubricant = workshop.engine_oil,
  washers = "hardened, one under each nut",
  new_each_time = true,
  places = grid { rows = 2, columns = 3, dx = mm(118), dy = mm(150) },
  order = "spiral",
}
plover2.main_group()
plover2.rod_group()
workshop.crank_group("crank, turned at its rotor end")
for _, side in ipairs(plover2.sides) do
  plover2.head_group(side)
  group {
    name = "rocker-" .. side,
    say = "rocker shaft bolts, " .. side,
    thread = "M8x1.25",
    class = "8.8",
    lubricant = workshop.engine_oil,
    places = labels { "upper", "lower" },
  }
end
plover2.rotor_group()
group {
  name = "governor",
  say = "castle nut of the governor shaft",
  thread = "M10x1.25",
  class = "8.8",
  lubricant = workshop.engine_oil,
  places = labels { "governor" },
}
group {
  name = "stator",
  say = "stator bolts",
  thread = "M8x1.25",
  class = "8.8",
  lubricant = workshop.locking,
  places = circle { n = 6, diameter = mm(210) },
  order = "crosswise",
}
group {
  name = "foot",
  say = "bolts of the feet on the frame",
  thread = "M10x1.5",
  class = "8.8",
  lubricant = workshop.engine_oil,
  places = grid { rows = 2, columns = 2, dx = mm(420), dy = mm(300) },
  order = "spiral",
}

---------------------------------------------------------------------------------------------------
-- Receive, clean
---------------------------------------------------------------------------------------------------

local read = workshop.invented()
workshop.locked("the changeover switch of the generator's line", read)
workshop.lifting("the case and the generator", "locked")
local begun = {
  note { id = "case-number", say = "Write down the number stamped on both case halves: it is one pair.",
         after = "lifting" },
  note { id = "generator-number", say = "Write down the number on the generator's plate.",
         after = "lifting" },
  note { id = "batches", say = "Write down the batches of bearings, rod bolts and locking nuts.",
         after = "lifting" },
}
workshop.eyes(begun)

confirm {
  id = "clean",
  say = "Case halves, crank, cylinders and heads washed, oil ways blown through, threads chased.",
  after = "hands-and-eyes",
}

---------------------------------------------------------------------------------------------------
-- Measure
---------------------------------------------------------------------------------------------------

local measured = {}
for _, side in ipairs(plover2.sides) do
  local heights = { "top", "middle", "bottom" }
  measured[#measured + 1] = measure {
    id = "bore-" .. side,
    say = "Bore and piston of the " .. side .. " cylinder.",
    gauge = workshop.bore_gauge,
    after = "clean",
    readings = {
      workshop.length("across", "bore across the crank", 3, mm(78.000), mm(78.060), heights),
      workshop.length("along", "bore along the crank", 3, mm(78.000), mm(78.060), heights),
      workshop.length("piston", "piston 9 mm above its lower edge", 3, mm(77.950), mm(78.010)),
    },
    derive = {
      value { id = "taper", say = "taper of the bore", formula = "worst_taper",
              of = { "across", "along" }, unit = "mm", decimals = 3, high = mm(0.015) },
      value { id = "round", say = "out of round", formula = "worst_out_of_round",
              of = { "across", "along" }, unit = "mm", decimals = 3, high = mm(0.015) },
      value { id = "clearance", say = "piston clearance", formula = "piston_clearance",
              of = { "across", "piston" }, unit = "mm", decimals = 3, low = mm(0.030),
              high = mm(0.070) },
    },
  }
  measured[#measured + 1] = measure {
    id = "ring-" .. side,
    say = "Upper ring of the " .. side .. " cylinder, squared in its own bore.",
    gauge = workshop.feelers,
    after = "bore-" .. side,
    readings = { workshop.length("gap", "gap", 2, mm(0.15), mm(0.55)) },
    derive = {
      value { id = "ring-gap", say = "ring gap", formula = "mean", of = "gap", unit = "mm",
              decimals = 2, low = mm(0.30), high = mm(0.40),
              when_low = "File it from the outside inward, square, and deburr.",
              when_high = "Too big for this bore: take a new ring." },
    },
  }
end

---------------------------------------------------------------------------------------------------
-- Crank, case
---------------------------------------------------------------------------------------------------

plover2.crank(measured)
workshop.crank_turns("crank-turns", "main-nuts")
plover2.end_float("crank-turns")

confirm {
  id = "case-bead",
  say = "A thin bead of the case sealant on one half, inside of the bolts.",
  after = "crank-end-float",
}

tighten {
  id = "through-bolts",
  say = "Halves together, through-bolts in, tighten their nuts.",
  why = "The drag of each new nut is measured and added: the bolt feels only the rest.",
  group = "through",
  after = "case-bead",
  since = "case-bead",
  most = min(20),
  buries = { say = "the main bearings", steps = { "main-nuts", "crank-end-float" } },
  stages = {
    prevailing { low = Nm(2), high = Nm(9), least_turn = deg(360) },
    torque { Nm(40), within = percent(8), above_prevailing = true },
    torque { both(Nm(78), lbf_ft(57.5)), within = percent(6), above_prevailing = true },
    torque { Nm(78), within = percent(6), again = true, above_prevailing = true },
  },
}

workshop.crank_turns("turns-in-case", "through-bolts", "The case must not pinch the bearings.")

---------------------------------------------------------------------------------------------------
-- Rods, heads
---------------------------------------------------------------------------------------------------

confirm {
  id = "rods-on",
  say = "Pistons in their own bores, rod caps on their own rods, numbers on one side; new bolts with "
     .. "the bolt maker's assembly paste, run down by hand.",
  after = "turns-in-case",
  buries = { say = "the rings", steps = { "ring-left", "ring-right" } },
}

tighten {
  id = "rod-bolts",
  say = "Tighten the connecting rod bolts by their stretch.",
  group = "rod",
  after = "rods-on",
  stages = plover2.rod_stages(),
}

local heads = {}
for _, side in ipairs(plover2.sides) do
  confirm {
    id = "head-" .. side .. "-on",
    say = "The " .. side .. " head on its dowels, gasket with its tab up, washers with the chamfer "
       .. "up, nuts run down by hand; the wrench is clear of the fins.",
    after = "rod-bolts",
    buries = { say = "the " .. side .. " piston", steps = { "rods-on", "bore-" .. side } },
  }
  tighten {
    id = "head-" .. side .. "-nuts",
    say = "Tighten the " .. side .. " head.",
    group = "head-" .. side,
    after = "head-" .. side .. "-on",
    stages = plover2.head_stages(),
    due = "after the first hour of running, cold: nuts of the " .. side .. " head to 42 N.m again",
  }
  heads[#heads + 1] = tighten {
    id = "rocker-" .. side .. "-bolts",
    say = "Rocker shaft of the " .. side .. " head, push rods seated.",
    group = "rocker-" .. side,
    after = "head-" .. side .. "-nuts",
    position = "the " .. side .. " piston at the top of its compression",
    stages = { torque { Nm(20), within = percent(8) } },
  }
end

---------------------------------------------------------------------------------------------------
-- Governor, generator
---------------------------------------------------------------------------------------------------

tighten {
  id = "governor-nut",
  say = "Governor shaft: to the least torque, then on to the next slot.",
  group = "governor",
  after = heads,
  stages = { slot { low = Nm(25), high = Nm(55), slots = 12 } },
}

confirm {
  id = "governor-pin",
  say = "New split pin in the governor's nut, both legs bent.",
  after = "governor-nut",
}

plover2.rotor("governor-pin")

tighten {
  id = "stator-bolts",
  say = "Stator on, its leads clear of the rotor, tighten its bolts.",
  group = "stator",
  after = "rotor-pin",
  buries = { say = "the rotor's nut", steps = { "rotor-nut", "rotor-pin" } },
  stages = { torque { Nm(10), within = percent(10) }, torque { Nm(20), within = percent(6) } },
}

measure {
  id = "air-gap",
  say = "Air gap between rotor and stator.",
  gauge = workshop.feelers,
  after = "stator-bolts",
  readings = {
    workshop.length("gap", "gap", 2, mm(0.30), mm(0.90), { "top", "right", "bottom", "left" }),
  },
  derive = {
    value { id = "least", say = "least gap", formula = "smallest", of = "gap", unit = "mm",
            decimals = 2, low = mm(0.45), when_low = "Loosen the stator, centre it, tighten." },
    value { id = "uneven", say = "gap differs by", formula = "range", of = "gap", unit = "mm",
            decimals = 2, high = mm(0.15), when_high = "Loosen the stator, centre it, tighten." },
  },
}

tighten {
  id = "foot-bolts",
  say = "Set on its frame, rubbers in, tighten the feet.",
  group = "foot",
  after = "air-gap",
  stages = { torque { Nm(38), within = percent(8) } },
}

---------------------------------------------------------------------------------------------------
-- Close
---------------------------------------------------------------------------------------------------

wait {
  id = "sealant-cured", say = "The case's sealant has cured.", after = "foot-bolts",
  since = "case-bead", least = h(2),
}

confirm {
  id = "oil-in",
  say = "Oil in to the upper mark; crank turned by hand until oil stands at both rockers.",
  after = "sealant-cured",
}

caution {
  id = "live",
  say = "From its first turn on the generator gives voltage: covers on before it is run.",
  after = "oil-in",
}

confirm {
  id = "closing-check",
  say = "No nut, washer or pin is left on the bench; covers on, tag on, both numbers on the sheet.",
  after = "live",
}
