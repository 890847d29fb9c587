-- The fasteners that every job on a Plover 2 shares, and their stages.  Invented, all of it.

local workshop = require "workshop"

local plover2 = {}

plover2.sides = { "left", "right" }

function plover2.main_group()
  return group {
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
end

-- A locking nut turns hard before it clamps anything.  That torque is measured first and comes on
-- top of what the joint needs.
function plover2.main_stages()
  return {
    prevailing { low = Nm(1), high = Nm(7), least_turn = deg(360) },
    torque { Nm(20), within = percent(8), above_prevailing = true },
    torque { Nm(45), within = percent(6), above_prevailing = true },
  }
end

function plover2.rod_group()
  return group {
    name = "rod",
    say = "connecting rod bolts",
    thread = "M10x1.25",
    class = "10.9",
    joint = "B",
    lubricant = workshop.bolt_paste,
    new_each_time = true,
    places = labels { "left inner", "left outer", "right inner", "right outer" },
  }
end

-- The gauge says what the bolt does, whatever the friction: the torque is only where to measure
-- first, and the ceiling shows that something is wrong.
function plover2.rod_stages()
  return { stretch { mm(0.140), within = mm(0.012), about = Nm(32), ceiling = Nm(58) } }
end

function plover2.head_group(side)
  return group {
    name = "head-" .. side,
    say = "nuts of the " .. side .. " cylinder head",
    thread = "M10x1.25",
    class = "8.8",
    lubricant = workshop.engine_oil,
    washers = "hardened, chamfer up",
    places = circle { n = 4, diameter = mm(118) },
    order = "crosswise",
    mirrored = side == "right",
  }
end

-- Each nut loosens its neighbours a little, so the last torque goes round twice.
function plover2.head_stages()
  return {
    torque { Nm(20), within = percent(8) },
    torque { Nm(42), within = percent(6) },
    torque { Nm(42), within = percent(6), again = true },
  }
end

function plover2.rotor_group()
  return group {
    name = "rotor",
    say = "castle nut of the rotor",
    thread = "M12x1.25",
    class = "8.8",
    lubricant = workshop.engine_oil,
    places = labels { "rotor" },
  }
end

-- The first torque seats the taper; the castle nut then goes to its least torque, and on to the
-- next slot.  The nut has six slots and the crank two holes, half a slot apart: twelve in all.
function plover2.rotor_stages()
  return {
    torque { Nm(40), within = percent(8) },
    back_off { until_loose = true },
    slot { low = Nm(48), high = Nm(120), slots = 12 },
  }
end

-- Crank in, caps tight.
function plover2.crank(after)
  confirm {
    id = "crank-in",
    say = "Crank in, both bearings oiled, caps on with their arrows to the rotor; new locking nuts "
       .. "turned on until the locking feature is felt.",
    after = after,
  }

  tighten {
    id = "main-nuts",
    say = "Tighten the main bearing caps.",
    why = "A locking nut that runs down too easily holds no more; one that runs down too hard eats "
       .. "up the torque that should clamp.",
    group = "main",
    after = "crank-in",
    stages = plover2.main_stages(),
  }
end

-- Rotor on, its nut tight and pinned.
function plover2.rotor(after)
  confirm {
    id = "rotor-on",
    say = "Taper of crank and rotor wiped dry, key in, rotor on, castle nut run down by hand.",
    after = after,
  }

  tighten {
    id = "rotor-nut",
    say = "Seat the rotor, then tighten its castle nut.",
    group = "rotor",
    after = "rotor-on",
    stages = plover2.rotor_stages(),
  }

  confirm {
    id = "rotor-pin",
    say = "New split pin in, one leg over the end of the crank, the other cut off.",
    after = "rotor-nut",
  }
end

function plover2.end_float(after)
  return workshop.end_float {
    id = "crank-end-float",
    say = "End float of the crank.",
    dial = "dial with the crank pried to the rotor, zeroed at the other end",
    least = mm(0.02), most = mm(0.40), low = mm(0.08), high = mm(0.25),
    after = after,
  }
end

return plover2
