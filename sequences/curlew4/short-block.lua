-- Curlew 4, the harbour service's inline four: from the bare block to the cylinder head.
--
-- How to read this file: each word with braces behind it is one thing to be done, in this order.
-- `say` is what the builder sees, `why` the reason he can ask for, `after` what must be done
-- before, `buries` what can't be reached any more afterwards.  Every figure has its unit.
--
-- All figures are invented.  For a real engine take its maker's manual.

local workshop = require "workshop" -- sequences/lib/workshop.lua
local curlew4 = require "curlew4"   -- sequences/lib/curlew4.lua

sequence {
  title = "Curlew 4 short block and head",
  engine = "Curlew 4",
  edition = "3",
  document = "Workshop manual of the harbour pilot service, invented, chapter 2",
  revision = "C",
  invented = true,
  torque_unit = "N.m",
}

---------------------------------------------------------------------------------------------------
-- Fasteners
---------------------------------------------------------------------------------------------------

-- They are the same in every job on this engine, so they stand in sequences/lib/curlew4.lua.
curlew4.main_group()
curlew4.rod_group()
curlew4.head_group()

---------------------------------------------------------------------------------------------------
-- Receive, clean
---------------------------------------------------------------------------------------------------

workshop.invented()
workshop.eyes()

note {
  id = "block-number",
  say = "Write down the number stamped on the block.",
}

note {
  id = "launch",
  say = "Write down the launch that the engine belongs to, and who brought it.",
}

confirm {
  id = "threads-clean",
  say = "All bolt holes chased and blown dry; no oil stands in a blind hole.",
  why = "Oil under a bolt can't go anywhere: it splits the block, and the torque is felt long "
     .. "before the joint is tight.",
}

confirm {
  id = "galleries-clean",
  say = "Oil galleries brushed in both directions and blown through, plugs back with compound.",
  after = "threads-clean",
}

---------------------------------------------------------------------------------------------------
-- Measure the main bearings
---------------------------------------------------------------------------------------------------

confirm {
  id = "caps-on-to-measure",
  say = "Shells in block and caps, dry. Caps on, number to number, arrow to the front. Bolts oiled "
     .. "and tightened as for good: " .. curlew4.main_first .. ", then "
     .. curlew4.main_final .. ", from the middle outward. The crank stays out.",
  why = "A bore is as round as its cap is tight.",
  after = "galleries-clean",
}

for main = 1, 5 do
  measure {
    id = "main-" .. main,
    say = "Main bearing " .. main .. ": journal and bore.",
    why = "Too little clearance and the oil can't get in, too much and it doesn't stay.",
    gauge = workshop.micrometer .. "; " .. workshop.bore_gauge,
    after = "caps-on-to-measure",
    readings = {
      reading {
        id = "journal", say = "journal diameter", unit = "mm", decimals = 3,
        at = { "front", "rear" }, plausible = { mm(57.900), mm(58.000) },
      },
      reading {
        id = "bore", say = "bearing bore", unit = "mm", decimals = 3,
        at = { "front", "rear" }, plausible = { mm(57.950), mm(58.050) },
      },
    },
    derive = {
      value {
        id = "least", say = "least oil clearance", formula = "oil_clearance_least",
        of = { "bore", "journal" }, unit = "mm", decimals = 3,
        low = mm(0.030), high = mm(0.070),
      },
      value {
        id = "most", say = "most oil clearance", formula = "oil_clearance_most",
        of = { "bore", "journal" }, unit = "mm", decimals = 3,
        low = mm(0.030), high = mm(0.070),
      },
      value {
        id = "taper", say = "taper of the journal", formula = "taper",
        of = "journal", unit = "mm", decimals = 3, high = mm(0.010),
      },
    },
  }
end

---------------------------------------------------------------------------------------------------
-- Crankshaft
---------------------------------------------------------------------------------------------------

confirm {
  id = "caps-off",
  say = "Caps off again, in order on the bench; shells stay in their places.",
  after = { "main-1", "main-2", "main-3", "main-4", "main-5" },
}

confirm {
  id = "oil-jets",
  say = "All four piston oil jets in, each pointing at its own bore.",
  why = "With the crank in, no jet can be reached.",
  after = "caps-off",
}

confirm {
  id = "crank-in",
  say = "Shells and journals oiled, thrust washers in with their grooves to the crank, crank laid "
     .. "in without turning it.",
  after = "oil-jets",
  buries = {
    say = "the oil jets and the upper main shells",
    steps = { "oil-jets", "main-1", "main-2", "main-3", "main-4", "main-5" },
  },
}

confirm {
  id = "caps-on",
  say = "Caps on, number to number, arrow to the front; bolts oiled and run down by hand.",
  after = "crank-in",
}

tighten {
  id = "main-bolts",
  say = "Tighten the main cap bolts.",
  group = "main",
  after = "caps-on",
  stages = curlew4.main_stages(),
}

confirm {
  id = "crank-turns",
  say = "The crank turns by hand, all the way round, without a tight spot.",
  after = "main-bolts",
}

workshop.end_float {
  id = "crank-end-float",
  say = "End float of the crank.",
  dial = "dial with the crank pried to the front, zeroed at the rear",
  least = mm(0.05), most = mm(0.35), low = mm(0.10), high = mm(0.28),
  after = "crank-turns",
}

---------------------------------------------------------------------------------------------------
-- Pistons and rods
---------------------------------------------------------------------------------------------------

confirm {
  id = "rings",
  say = "Rings on, marks up, gaps a third of a turn apart and none over the pin.",
  after = "crank-end-float",
}

confirm {
  id = "pistons-in",
  say = "Pistons in their own bores, arrow to the front.",
  why = "The pin sits beside the middle: the wrong way round the piston slaps.",
  after = "rings",
  buries = { say = "the rings", steps = "rings" },
}

confirm {
  id = "rod-caps-on",
  say = "Rod caps on their own rods, numbers on one side and to the inlet; new bolts with the "
     .. "bolt maker's assembly paste, run down by hand.",
  after = "pistons-in",
}

tighten {
  id = "rod-bolts",
  say = "Tighten the connecting rod bolts.",
  group = "rod",
  after = "rod-caps-on",
  stages = curlew4.rod_stages(),
}

confirm {
  id = "rods-free",
  say = "Each rod can be moved along its journal by hand; the crank still turns.",
  after = "rod-bolts",
}

---------------------------------------------------------------------------------------------------
-- Oil pump
---------------------------------------------------------------------------------------------------

workshop.oil_pump { id = "oil-pump" }

confirm {
  id = "oil-pump-on",
  say = "Pump filled with oil and bolted on, new seal on the pick-up pipe.",
  after = { "oil-pump", "rods-free" },
}

---------------------------------------------------------------------------------------------------
-- Cylinder head
---------------------------------------------------------------------------------------------------

confirm {
  id = "head-gasket",
  say = "Both faces clean and dry, dowels in, gasket on with its writing up.",
  after = { "rods-free", "oil-pump-on" },
}

confirm {
  id = "head-on",
  say = "Head on, all pistons half way down; new bolts oiled, washers with the chamfer up, run "
     .. "down by hand.",
  after = "head-gasket",
  buries = {
    say = "the gasket, the pistons and the bores",
    steps = { "head-gasket", "pistons-in" },
  },
}

tighten {
  id = "head-bolts",
  say = "Tighten the cylinder head bolts.",
  group = "head",
  after = "head-on",
  stages = {
    torque { Nm(40), within = percent(6) },
    angle { deg(45), within = deg(4) },
    angle { deg(45), within = deg(4), floor = Nm(70) },
  },
}

---------------------------------------------------------------------------------------------------
-- Close
---------------------------------------------------------------------------------------------------

confirm {
  id = "closing-check",
  say = "The crank turns two full turns by hand; no bolt, washer or shell is left on the bench.",
  after = { "head-bolts", "oil-pump-on" },
}
