-- A small job for the browser tests: one of each thing that the display asks.  All of it invented.
sequence {
  title = "Winch flange, small",
  engine = "slipway winch",
  edition = "1",
  document = "Workshop manual of the harbour pilot service, invented, chapter 9",
  revision = "A",
  invented = true,
  torque_unit = "N.m",
}

group {
  name = "flange",
  say = "flange bolts",
  thread = "M10x1.5",
  lubricant = "engine oil on the thread",
  washers = "hardened, chamfer up",
  places = grid { rows = 2, columns = 2, dx = mm(80), dy = mm(80) },
  order = "listed",
}

caution { id = "eyes", say = "Wear eye protection." }
note { id = "number", say = "Write down the number on the winch.", after = "eyes" }
ask { id = "seal", say = "Which seal is fitted?", answers = { "flat", "ring" }, after = "number" }
measure {
  id = "gap",
  say = "Gap of the flange.",
  gauge = "feeler gauges",
  after = "seal",
  readings = {
    reading { id = "gap", say = "gap", unit = "mm", decimals = 2, at = { "left", "right" },
              plausible = { mm(0.05), mm(0.50) } },
  },
  derive = {
    value { id = "most", say = "widest gap", formula = "pump_clearance", of = "gap", unit = "mm",
            decimals = 2, low = mm(0.05), high = mm(0.40) },
  },
}
confirm {
  id = "seal-in",
  say = "Seal oiled and laid in its groove, no twist.",
  why = "A twisted seal leaks under load.",
  after = "gap",
  buries = "the seal",
}
forbid { say = "turn the drum", why = "the seal would be torn", from = "seal-in", to = "free" }
tighten {
  id = "bolts",
  say = "Tighten the flange bolts.",
  group = "flange",
  after = "seal-in",
  stages = { torque { Nm(20), within = percent(8) }, torque { Nm(40), within = percent(6) } },
}
confirm { id = "free", say = "The drum turns by hand.", after = "bolts" }
