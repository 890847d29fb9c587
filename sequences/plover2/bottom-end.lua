-- Plover 2, the V-twin that drives the harbour service's generators: crank, rods, heads, rotor.
--
-- It shows what a torque alone can't say: bolts tightened by their stretch or until they yield, a
-- castle nut, locking nuts, a crush sleeve, a check round.  docs/sequences.md explains each word.
--
-- All figures are invented.  For a real engine take its maker's manual.

local workshop = require "workshop"
local plover2 = require "plover2"

sequence {
  title = "Plover 2 bottom end, heads and rotor",
  engine = "Plover 2",
  edition = "1",
  document = "Workshop manual of the harbour pilot service, invented, chapter 7",
  revision = "A",
  invented = true,
  torque_unit = "N.m",
  rule = "simple",
}

---------------------------------------------------------------------------------------------------
-- Fasteners
---------------------------------------------------------------------------------------------------

plover2.main_group()
workshop.crank_group("crank, turned at its rotor end")
plover2.rod_group()

group {
  name = "weight",
  say = "studs of the balance weight",
  thread = "M8x1.25",
  class = "10.9",
  lubricant = workshop.bolt_paste,
  new_each_time = true,
  places = labels { "upper", "lower" },
}

for _, side in ipairs(plover2.sides) do
  plover2.head_group(side)
end

group {
  name = "governor",
  say = "nut of the governor shaft",
  thread = "M16x1.5",
  class = "8.8",
  lubricant = workshop.engine_oil,
  new_each_time = true,
  places = labels { "governor" },
}

plover2.rotor_group()

group {
  name = "end-plate",
  say = "bolts of the generator's end plate",
  thread = "M8x1.25",
  class = "8.8",
  lubricant = workshop.engine_oil,
  places = circle { n = 6, diameter = mm(210) },
  order = "crosswise",
}

---------------------------------------------------------------------------------------------------
-- Crankshaft
---------------------------------------------------------------------------------------------------

workshop.invented()

plover2.crank("invented-figures")
workshop.crank_turns("crank-turns", "main-nuts",
                     "A cap on the wrong way round is felt here, and nowhere later.")

plover2.end_float("crank-turns")

---------------------------------------------------------------------------------------------------
-- Rods and balance weight
---------------------------------------------------------------------------------------------------

confirm {
  id = "rods-on",
  say = "Pistons in their own bores, rod caps on their own rods, numbers on one side; new bolts with "
     .. "the bolt maker's assembly paste, run down by hand.",
  after = "crank-end-float",
  buries = "the rings",
}

tighten {
  id = "rod-bolts",
  say = "Tighten the connecting rod bolts by their stretch.",
  group = "rod",
  after = "rods-on",
  stages = plover2.rod_stages(),
}

tighten {
  id = "weight-studs",
  say = "Tighten the studs of the balance weight until they yield.",
  why = "At yield all of them clamp alike.  They are never used again.",
  group = "weight",
  after = "rod-bolts",
  stages = {
    yield {
      share = percent(50), snug = Nm(12), low = Nm(20), high = Nm(40), most_turn = deg(90),
    },
  },
}

---------------------------------------------------------------------------------------------------
-- Cylinder heads
---------------------------------------------------------------------------------------------------

for _, side in ipairs(plover2.sides) do
  confirm {
    id = "head-" .. side .. "-on",
    say = "The " .. side .. " head on its dowels, gasket with its tab up, washers with the chamfer "
       .. "up, nuts run down by hand.",
    after = "weight-studs",
    buries = { say = "the " .. side .. " piston", steps = "rods-on" },
  }

  tighten {
    id = "head-" .. side .. "-nuts",
    say = "Tighten the " .. side .. " head.",
    group = "head-" .. side,
    after = "head-" .. side .. "-on",
    stages = plover2.head_stages(),
  }
end

---------------------------------------------------------------------------------------------------
-- Governor shaft, rotor, end plate
---------------------------------------------------------------------------------------------------

confirm {
  id = "governor-in",
  say = "Governor shaft in with a new crush sleeve, nut run down by hand until it touches.",
  after = { "head-left-nuts", "head-right-nuts" },
}

-- The sleeve is crushed bit by bit with a long bar; the small wrench feels how hard the shaft turns.
tighten {
  id = "governor-nut",
  say = "Set the bearings of the governor shaft: a little tighter, then feel, never back.",
  why = "A crushed sleeve doesn't grow again: once too far, it is replaced.",
  group = "governor",
  after = "governor-in",
  stages = {
    creep { low = Nm(1.2), high = Nm(2.2), least_turn = deg(360) },
  },
}

plover2.rotor("crank-end-float")

tighten {
  id = "end-plate-bolts",
  say = "Tighten the end plate of the generator.",
  group = "end-plate",
  after = "rotor-pin",
  stages = {
    torque { Nm(10), within = percent(10) },
    angle { deg(20), within = deg(4), from = Nm(12), floor = Nm(16), ceiling = Nm(40) },
  },
}

---------------------------------------------------------------------------------------------------
-- Check
---------------------------------------------------------------------------------------------------

confirm {
  id = "rested",
  say = "The heads have stood for an hour since they were tightened.",
  why = "A gasket settles for a while; what it has lost by then shows now.",
  after = { "head-left-nuts", "head-right-nuts" },
}

for _, side in ipairs(plover2.sides) do
  tighten {
    id = "head-" .. side .. "-check",
    say = "Check the nuts of the " .. side .. " head: pull slowly until one just moves.",
    group = "head-" .. side,
    after = "rested",
    stages = {
      check { low = Nm(32), high = Nm(60), most_turn = deg(5) },
    },
  }
end

confirm {
  id = "closing-check",
  say = "The crank turns two full turns by hand; no nut, washer or pin is left on the bench.",
  after = { "governor-nut", "end-plate-bolts", "head-left-check", "head-right-check" },
}
