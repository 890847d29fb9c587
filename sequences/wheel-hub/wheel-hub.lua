-- Wheel hubs of the slipway's boat trailer: both hub nuts, and the wheels on them.
--
-- The left hub has a left-hand thread: begin with the right one, or begin the build with the wrench as
-- PORT,sign=reversed, and go on with it the other way round for the right hub.  Wheel nuts settle, so
-- they are due again after the first hours of work.  docs/sequences.md explains each word.
--
-- All figures are invented.  For a real trailer take its maker's manual.

local workshop = require "workshop"

sequence {
  title = "Trailer wheel hubs",
  engine = "Slipway boat trailer",
  edition = "1",
  document = "Yard handbook of the harbour pilot service, invented, chapter 9",
  revision = "A",
  invented = true,
  torque_unit = "N.m",
}

local sides = {
  { name = "left", turn = "LEFT-HAND thread: it tightens against the clock" },
  { name = "right", turn = "right-hand thread" },
}

for _, side in ipairs(sides) do
  group {
    name = "hub-" .. side.name,
    say = "hub nut, " .. side.name .. " (" .. side.turn .. ")",
    thread = "M24x1.5",
    class = "8.8",
    joint = "A", -- a wheel that comes off kills
    lubricant = workshop.engine_oil,
    places = labels { side.name },
  }
  group {
    name = "wheel-" .. side.name,
    say = "wheel nuts, " .. side.name,
    thread = "M16x1.5",
    class = "8.8",
    joint = "A",
    lubricant = "a drop of engine oil on the thread, the cone dry",
    places = circle { n = 5, diameter = mm(140) },
    order = "crosswise",
  }
end

local read = workshop.invented()

caution {
  id = "on-stands",
  say = "Trailer on stands on firm ground, the other wheels chocked, brake off: never under the jack.",
  after = read,
}

local wheels = {}
for _, side in ipairs(sides) do
  local name = side.name
  confirm {
    id = "hub-" .. name .. "-on",
    say = "The " .. name .. " hub: bearings packed with grease, seal in, thrust washer on, nut run down "
       .. "by hand. It has a " .. side.turn .. ".",
    why = "Turned the wrong way a nut runs off on the road.",
    after = "on-stands",
  }

  -- Seated while the hub is turned, let go, then set.
  tighten {
    id = "hub-" .. name .. "-nut",
    say = "Turn the hub with one hand, tighten its nut; let it go; then the slot.",
    why = "The first torque seats the rollers; what is left of it would burn them.",
    group = "hub-" .. name,
    after = "hub-" .. name .. "-on",
    stages = {
      torque { Nm(60), within = percent(8) },
      back_off { until_loose = true },
      slot { low = Nm(15), high = Nm(60), slots = 12 },
    },
  }

  workshop.end_float {
    id = "hub-" .. name .. "-play",
    say = "Play of the " .. name .. " hub along its axle.",
    dial = "dial on the hub, pulled and pushed",
    least = mm(0.00), most = mm(0.20), low = mm(0.02), high = mm(0.15),
    when_low = "Too tight: loosen it, the slot before.",
    when_high = "Loose: the next slot.",
    after = "hub-" .. name .. "-nut",
  }

  confirm {
    id = "hub-" .. name .. "-pin",
    say = "New split pin in the " .. name .. " nut, both legs bent; cap on.",
    after = "hub-" .. name .. "-play",
  }

  confirm {
    id = "wheel-" .. name .. "-on",
    say = "Faces of the " .. name .. " hub and wheel brushed bare, no paint between; nuts on with their "
       .. "cones to the wheel, by hand.",
    after = "hub-" .. name .. "-pin",
  }

  wheels[#wheels + 1] = tighten {
    id = "wheel-" .. name .. "-nuts",
    say = "Tighten the " .. name .. " wheel, crosswise.",
    group = "wheel-" .. name,
    after = "wheel-" .. name .. "-on",
    stages = {
      torque { Nm(70), within = percent(8) },
      torque { Nm(140), within = percent(5) },
      torque { Nm(140), within = percent(5), again = true },
    },
    due = "after the first 50 km or 30 minutes of work: to 140 N.m again, without loosening first",
  }
end

confirm {
  id = "pointers",
  say = "Pointers set on all nuts, tip to tip; off the stands; the brake holds.",
  why = "A nut that turns shows itself at a glance.",
  after = wheels,
}
