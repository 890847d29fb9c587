-- Plover 2, the V-twin that drives the harbour service's generators: crank, rods, heads, rotor.
--
-- It shows what a torque alone can't say: bolts tightened by their stretch or until they yield, a
-- castle nut, locking nuts, a crush sleeve, a check round.  docs/sequences.md explains each word.
--
-- All figures are invented.  For a real engine take its maker's manual.

local workshop = require "workshop"

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

group {
  name = "main",
  say = "locking nuts of the main bearing caps",
  thread = "M10x1.25",
  class = "10.9",
  lubricant = workshop.engine_oil,
  new_each_time = true,
  places = grid {
    rows = 2, columns = 2, dx = mm(140), dy = mm(96),
    labels = { "rear left", "front left", "rear right", "front right" },
  },
  order = "rows",
}

group {
  name = "crank",
  say = "crank, turned at its rotor end",
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
  places = labels { "left inner", "left outer", "right inner", "right outer" },
}

group {
  name = "weight",
  say = "studs of the balance weight",
  thread = "M8x1.25",
  class = "10.9",
  lubricant = workshop.bolt_paste,
  new_each_time = true,
  places = labels { "upper", "lower" },
}

for _, side in ipairs { "left", "right" } do
  group {
    name = "head-" .. side,
    say = "nuts of the " .. side .. " cylinder head",
    thread = "M10x1.25",
    class = "8.8",
    lubricant = workshop.engine_oil,
    washers = "hardened, chamfer up",
    places = circle { n = 4, diameter = mm(118) },
    order = "crosswise",
  }
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

group {
  name = "rotor",
  say = "castle nut of the rotor",
  thread = "M12x1.25",
  class = "8.8",
  lubricant = workshop.engine_oil,
  places = labels { "rotor" },
}

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

caution {
  id = "invented-figures",
  say = "Every figure in this sequence is invented: use it to learn, not on a real engine.",
}

confirm {
  id = "crank-in",
  say = "Crank in, both bearings oiled, caps on with their arrows to the rotor; new locking nuts "
     .. "turned on until the locking feature is felt.",
  after = "invented-figures",
}

-- A locking nut turns hard before it clamps anything.  That torque is measured first and comes on
-- top of what the joint needs.
tighten {
  id = "main-nuts",
  say = "Tighten the main bearing caps.",
  why = "A locking nut that runs down too easily holds no more; one that runs down too hard eats "
     .. "up the torque that should clamp.",
  group = "main",
  after = "crank-in",
  stages = {
    prevailing { low = Nm(1), high = Nm(7), least_turn = deg(360) },
    torque { Nm(20), within = percent(8), above_prevailing = true },
    torque { Nm(45), within = percent(6), above_prevailing = true },
  },
}

tighten {
  id = "crank-turns",
  say = "Turn the crank with the wrench, steadily, two turns.",
  why = "A cap on the wrong way round is felt here, and nowhere later.",
  group = "crank",
  after = "main-nuts",
  stages = {
    rotating { low = Nm(0.8), high = Nm(3.5), least_turn = deg(720) },
  },
}

measure {
  id = "crank-end-float",
  say = "End float of the crank.",
  gauge = workshop.dial,
  after = "crank-turns",
  readings = {
    reading {
      id = "float", say = "dial with the crank pried to the rotor, zeroed at the other end",
      unit = "mm", decimals = 2, at = { "first", "second" }, plausible = { mm(0.02), mm(0.40) },
    },
  },
  derive = {
    value {
      id = "end-float", say = "end float", formula = "end_float", of = "float",
      unit = "mm", decimals = 2, low = mm(0.08), high = mm(0.25),
    },
  },
}

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

-- The gauge says what the bolt does, whatever the friction: the torque is only where to measure
-- first, and the ceiling shows that something is wrong.
tighten {
  id = "rod-bolts",
  say = "Tighten the connecting rod bolts by their stretch.",
  group = "rod",
  after = "rods-on",
  stages = {
    stretch { mm(0.140), within = mm(0.012), about = Nm(32), ceiling = Nm(58) },
  },
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

for _, side in ipairs { "left", "right" } do
  confirm {
    id = "head-" .. side .. "-on",
    say = "The " .. side .. " head on its dowels, gasket with its tab up, washers with the chamfer "
       .. "up, nuts run down by hand.",
    after = "weight-studs",
    buries = "the " .. side .. " piston",
  }

  -- Each nut loosens its neighbours a little, so the last torque goes round twice.
  tighten {
    id = "head-" .. side .. "-nuts",
    say = "Tighten the " .. side .. " head.",
    group = "head-" .. side,
    after = "head-" .. side .. "-on",
    stages = {
      torque { Nm(20), within = percent(8) },
      torque { Nm(42), within = percent(6) },
      torque { Nm(42), within = percent(6), again = true },
    },
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

confirm {
  id = "rotor-on",
  say = "Taper of crank and rotor wiped dry, key in, rotor on, castle nut run down by hand.",
  after = "crank-end-float",
}

-- The first torque seats the taper; the castle nut then goes to its least torque, and on to the
-- next slot.  The nut has six slots and the crank two holes, half a slot apart: twelve in all.
tighten {
  id = "rotor-nut",
  say = "Seat the rotor, then tighten its castle nut.",
  group = "rotor",
  after = "rotor-on",
  stages = {
    torque { Nm(40), within = percent(8) },
    back_off { until_loose = true },
    slot { low = Nm(48), high = Nm(120), slots = 12 },
  },
}

confirm {
  id = "rotor-pin",
  say = "New split pin in, one leg over the end of the crank, the other cut off.",
  after = "rotor-nut",
}

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

for _, side in ipairs { "left", "right" } do
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
