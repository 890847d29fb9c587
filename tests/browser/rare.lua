-- What a job asks more rarely: a marked part for each place, used fasteners after a check, repeats, a
-- second person at a joint of class A.  All of it invented.
sequence {
  title = "Winch drum, small",
  engine = "slipway winch",
  document = "Workshop manual of the harbour pilot service, invented, chapter 9",
  revision = "A",
  invented = true,
  torque_unit = "N.m",
}

group {
  name = "drum",
  say = "drum bolts",
  thread = "M10x1.5",
  joint = "A",
  lubricant = "engine oil on the thread",
  reuse = "after_check",
  reuse_check = "thread whole, no rust",
  places = labels { "upper", "lower" },
  order = "listed",
}

fit { id = "shoes", say = "Brake shoes out.", part = "brake shoe", to = { "left", "right" } }
measure {
  id = "gap",
  say = "Gap of the drum.",
  after = "shoes",
  readings = {
    reading { id = "gap", say = "gap", unit = "mm", decimals = 2, at = { "top" }, repeats = 2,
              spread = mm(0.05), plausible = { mm(0.05), mm(0.50) } },
  },
}
tighten {
  id = "bolts",
  say = "Tighten the drum bolts.",
  group = "drum",
  after = "gap",
  stages = { torque { Nm(20), within = percent(8) } },
}
