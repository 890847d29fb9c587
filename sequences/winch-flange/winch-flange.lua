-- The 16-bolt pressure flange of the slipway winch's hydraulics.
--
-- The flange is drawn down evenly: crosswise at a quarter, at six tenths and at the whole torque,
-- then round as a clock goes at the whole until no nut turns, and after it has stood for a while
-- each nut is felt.
-- docs/sequences.md explains each word.
--
-- All figures are invented.  For a real flange take its maker's manual and the rules of the place.

local workshop = require "workshop"

sequence {
  title = "Winch flange, 16 bolts",
  engine = "Slipway winch hydraulics",
  edition = "1",
  document = "Winch handbook of the harbour pilot service, invented, page 31",
  revision = "B",
  invented = true,
  torque_unit = "N.m",
}

-- M20, class 8.8, with paste: at 260 N.m about six tenths of proof.
local whole = Nm(260)

group {
  name = "flange",
  say = "flange bolts",
  thread = "M20x2.5",
  class = "8.8",
  joint = "A", -- what it lets out goes through skin
  lubricant = workshop.bolt_paste,
  washers = "hardened, one under each nut",
  places = circle { n = 16, diameter = mm(355) },
  order = "crosswise",
}

local read = workshop.invented()
workshop.locked("the winch's pump", read)

caution {
  id = "no-pressure",
  say = "The accumulator is drained and its gauge reads nothing: oil under pressure goes through skin.",
  after = "locked",
}

note { id = "flange-number", say = "Write down the number stamped on the flange.", after = "no-pressure" }
note { id = "gasket-batch", say = "Write down the batch of the new gasket.", after = "no-pressure" }

confirm {
  id = "faces-seen",
  say = "Both faces clean, no scratch runs across the gasket's ring.",
  after = { "flange-number", "gasket-batch" },
}

measure {
  id = "gap-before",
  say = "Bolts by hand, gasket in its place: the gap of the flanges at four places.",
  gauge = workshop.feelers,
  after = "faces-seen",
  readings = {
    workshop.length("gap", "gap", 2, mm(2.00), mm(4.00), { "top", "right", "bottom", "left" }),
  },
  derive = {
    value { id = "crooked", say = "gap differs by", formula = "range", of = "gap", unit = "mm",
            decimals = 2, high = mm(0.20), when_high = "The pipe pulls: set its supports first." },
  },
}

confirm {
  id = "numbered",
  say = "Places numbered with chalk, 1 at the top, going round as a clock does; a nut finger tight on "
     .. "each.",
  after = "gap-before",
}

tighten {
  id = "flange-cross",
  say = "Draw the flange down crosswise.",
  why = "A gasket that is pressed on one side first never seals on the other.",
  group = "flange",
  after = "numbered",
  stages = {
    torque { 0.25 * whole, within = percent(10) },
    torque { 0.60 * whole, within = percent(8) },
    torque { whole, within = percent(5) },
  },
}

tighten {
  id = "flange-round",
  say = "Round as a clock goes at the whole torque, twice.",
  why = "Each bolt has loosened its neighbours.",
  group = "flange",
  after = "flange-cross",
  continues = "flange-cross",
  order = "listed",
  stages = {
    torque { whole, within = percent(5), again = true },
    torque { whole, within = percent(5), again = true },
  },
}

measure {
  id = "gap-after",
  say = "The gap of the flanges at the same four places.",
  gauge = workshop.feelers,
  after = "flange-round",
  readings = {
    workshop.length("gap", "gap", 2, mm(1.50), mm(2.50), { "top", "right", "bottom", "left" }),
  },
  derive = {
    value { id = "crooked", say = "gap differs by", formula = "range", of = "gap", unit = "mm",
            decimals = 2, high = mm(0.10), when_high = "Loosen it, look for what lies between." },
  },
}

wait {
  id = "settled",
  say = "The gasket has settled.",
  after = "gap-after",
  since = "flange-round",
  least = h(4),
}

tighten {
  id = "flange-felt",
  say = "Pull slowly at each nut until it just moves, or the torque is reached.",
  group = "flange",
  after = "settled",
  stages = { check { low = Nm(200), high = Nm(340), most_turn = deg(6) } },
  due = "after 24 hours under pressure, drained and cold: once more to 260 N.m without loosening",
}

confirm {
  id = "pressure-held",
  say = "Nobody stands before the flange; test pressure held for ten minutes, no drop on the paper laid "
     .. "below it.",
  after = "flange-felt",
}
