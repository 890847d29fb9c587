-- Final drive of the harbour workshop's truck: pinion, ring gear, side bearings, backlash.
--
-- It shows work that is measured, adjusted and measured again: a pinion nut that crushes a sleeve
-- and never goes back, the torque that keeps a shaft turning, backlash by shims, a tooth pattern.
-- docs/sequences.md explains each word.
--
-- All figures are invented.  For a real drive take its maker's manual.

local workshop = require "workshop"

sequence {
  title = "Final drive: pinion, ring gear, backlash",
  engine = "Yard truck final drive",
  edition = "1",
  document = "Yard handbook of the harbour pilot service, invented, chapter 4",
  revision = "B",
  invented = true,
  torque_unit = "N.m",
}

---------------------------------------------------------------------------------------------------
-- Fasteners
---------------------------------------------------------------------------------------------------

group {
  name = "ring",
  say = "ring gear bolts",
  thread = "M10x1.25",
  class = "10.9",
  joint = "B",
  lubricant = workshop.locking,
  new_each_time = true,
  places = circle { n = 10, diameter = mm(146) },
  order = "crosswise",
}

group {
  name = "pinion",
  say = "nut of the pinion, over the crush sleeve",
  thread = "M20x1.5",
  class = "10.9",
  lubricant = workshop.gear_oil,
  new_each_time = true,
  places = labels { "pinion" },
}

group {
  name = "drive",
  say = "pinion, turned at its flange with the side bearings in",
  lubricant = workshop.gear_oil,
  places = labels { "pinion" },
}

group {
  name = "side-cap",
  say = "bolts of the side bearing caps",
  thread = "M12x1.5",
  class = "10.9",
  lubricant = workshop.gear_oil,
  reuse = "after_check",
  reuse_check = "thread whole, no rust under the head",
  cycles = 6,
  places = labels { "left upper", "left lower", "right upper", "right lower" },
}

group {
  name = "cover",
  say = "cover bolts",
  thread = "M8x1.25",
  class = "8.8",
  lubricant = workshop.gear_oil,
  places = circle { n = 10, diameter = mm(230) },
  order = "crosswise",
}

---------------------------------------------------------------------------------------------------
-- Receive and measure
---------------------------------------------------------------------------------------------------

local read = workshop.invented()
workshop.locked("the truck's wheels with chocks on both sides", read)
workshop.lifting("the drive's housing", "locked")

note { id = "ratio", say = "Write down the numbers etched on ring gear and pinion: they are a pair.",
       after = "lifting" }

ask {
  id = "bearings", say = "Are the pinion's bearings new, or do the old ones go in again?",
  answers = { "new", "used" }, after = "lifting",
}

measure {
  id = "pinion-depth",
  say = "Pinion depth: from the middle of the side bearings to the pinion's face, without its shim.",
  gauge = "depth gauge on its bar",
  after = "ratio",
  readings = {
    workshop.length("found", "depth without shim", 2, mm(71.40), mm(72.40), { "first", "second" }),
    workshop.length("etched", "depth that is etched on the pinion", 2, mm(70.20), mm(71.20)),
  },
  derive = {
    value { id = "shim", say = "thickness of the shim that is needed", formula = "clearance_least",
            of = { "found", "etched" }, unit = "mm", decimals = 2, low = mm(1.00), high = mm(1.40),
            when_low = "Clean the seat and measure again: no shim is so thin.",
            when_high = "The bearing is not home: press it down and measure again." },
    value { id = "spread", say = "two readings differ by", formula = "range", of = "found",
            unit = "mm", decimals = 2, high = mm(0.02), when_high = "The bar rocks: seat it again." },
  },
}

choose {
  id = "shim-taken",
  say = "Shim of the pinion, measured, not read off its label.",
  after = "pinion-depth",
  of = { step = "pinion-depth", value = "shim" }, within = mm(0.03),
  stock = { mm(1.00), mm(1.05), mm(1.10), mm(1.15), mm(1.20), mm(1.25), mm(1.30), mm(1.35), mm(1.40) },
}

---------------------------------------------------------------------------------------------------
-- Ring gear
---------------------------------------------------------------------------------------------------

confirm {
  id = "ring-on",
  say = "Ring gear warmed to 80 degrees, laid on the carrier with gloves, pulled down evenly by two "
     .. "guide studs; new bolts with compound run down by hand.",
  after = "shim-taken",
}

tighten {
  id = "ring-bolts",
  say = "Tighten the ring gear bolts.",
  group = "ring",
  after = "ring-on",
  stages = {
    torque { Nm(30), within = percent(8) },
    torque { Nm(60), within = percent(5) },
    torque { Nm(60), within = percent(5), again = true },
  },
}

---------------------------------------------------------------------------------------------------
-- Pinion: the sleeve is crushed bit by bit, and felt
---------------------------------------------------------------------------------------------------

confirm {
  id = "pinion-in",
  say = "Pinion in with its shim, new crush sleeve, outer bearing, seal and flange; new nut run down "
     .. "until the play is gone.",
  after = { "ring-bolts", "bearings" },
  buries = { say = "the pinion's shim", steps = "shim-taken" },
}

-- Old bearings have lost their first roughness, so less drag means the same preload.
local drag = {
  new = { Nm(2.0), Nm(3.0) },
  used = { Nm(1.0), Nm(1.6) },
}
for _, bearings in ipairs { "new", "used" } do
  tighten {
    id = "pinion-nut-" .. bearings,
    say = "Flange held by its bar, nut a little tighter, then turn the pinion and feel: never back.",
    why = "A crushed sleeve does not grow again: once too far, it is replaced.",
    group = "pinion",
    after = { "pinion-in", "bearings" },
    when = { step = "bearings", answer = bearings },
    stages = { creep { low = drag[bearings][1], high = drag[bearings][2], least_turn = deg(720) } },
  }
end

---------------------------------------------------------------------------------------------------
-- Side bearings and backlash
---------------------------------------------------------------------------------------------------

confirm {
  id = "carrier-in",
  say = "Carrier in with the first pair of shims, caps on their own sides, bolts run down by hand.",
  after = { "pinion-nut-new", "pinion-nut-used" },
}

tighten {
  id = "caps-on",
  say = "Tighten the side bearing caps.",
  group = "side-cap",
  after = "carrier-in",
  stages = {
    torque { Nm(40), within = percent(8) },
    torque { Nm(95), within = percent(5) },
  },
}

measure {
  id = "backlash",
  say = "Backlash: pinion held, dial square to a tooth, four teeth round the ring.",
  gauge = workshop.dial,
  after = "caps-on",
  readings = {
    workshop.length("play", "backlash", 2, mm(0.05), mm(0.35), { "1", "2", "3", "4" }),
  },
  derive = {
    value { id = "least", say = "least backlash", formula = "smallest", of = "play",
            unit = "mm", decimals = 2, low = mm(0.13),
            when_low = "Caps off; move shims from the tooth side to the other, 0.10 mm for 0.07 of "
                    .. "backlash; caps on at their torque." },
    value { id = "most", say = "most backlash", formula = "largest", of = "play",
            unit = "mm", decimals = 2, high = mm(0.25),
            when_high = "Caps off; move shims to the tooth side, 0.10 mm for 0.07 of backlash; caps on "
                     .. "at their torque." },
    value { id = "runout", say = "backlash differs by", formula = "range", of = "play",
            unit = "mm", decimals = 2, high = mm(0.07),
            when_high = "The ring gear sits crooked on the carrier: look for dirt under it." },
  },
}

tighten {
  id = "whole-drag",
  say = "Turn the pinion steadily, two turns: it now turns the side bearings too.",
  why = "What is more than the pinion alone is the preload of the side bearings.",
  group = "drive",
  after = "backlash",
  stages = { rotating { low = Nm(1.3), high = Nm(4.4), least_turn = deg(720) } },
}

ask {
  id = "pattern", say = "Marking paste on eight teeth, turned both ways under load: where is the pattern?",
  answers = { "middle", "too deep", "too shallow" }, after = "whole-drag",
}

for _, wrong in ipairs { { "too deep", "thinner" }, { "too shallow", "thicker" } } do
  note {
    id = "pattern-" .. wrong[2],
    say = "The pinion needs a " .. wrong[2] .. " shim and a new sleeve: write down by how much, and "
       .. "begin again from its depth as a new build.",
    after = "pattern",
    when = { step = "pattern", answer = wrong[1] },
  }
end

---------------------------------------------------------------------------------------------------
-- Close
---------------------------------------------------------------------------------------------------

confirm {
  id = "cover-on",
  say = "Paste wiped off, magnet clean, gasket dry, cover on.",
  after = { "pattern", "pattern-thinner", "pattern-thicker" },
  buries = {
    say = "ring gear and pinion",
    steps = { "ring-bolts", "pinion-nut-new", "pinion-nut-used", "caps-on", "backlash", "pattern" },
  },
}

tighten {
  id = "cover-bolts",
  say = "Tighten the cover.",
  group = "cover",
  after = "cover-on",
  stages = { torque { Nm(10), within = percent(8) }, torque { Nm(20), within = percent(6) } },
}

confirm {
  id = "oil-in",
  say = "Gear oil in until it runs from the level hole; both plugs tight; vent clear.",
  after = "cover-bolts",
}
