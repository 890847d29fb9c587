sequence {
  title = "Cover", engine = "Gearbox", edition = "1",
  document = "invented", revision = "A", invented = true, torque_unit = "N.m",
}

group {
  name = "cover", say = "cover bolts", thread = "M8x1.25", class = "8.8", lubricant = "engine oil", washer = "flat",
  places = grid { rows = 2, columns = 3, dx = mm(70), dy = mm(90) },
  order = "spiral",
}

ask { id = "kind", say = "New or used?", answers = { "new", "used" } }

confirm { id = "on", say = "Cover on.", after = "kind" }

measure {
  id = "gap", say = "Gap.", gauge = "feelers", after = "on",
  readings = {
    reading { id = "gap", say = "gap", unit = "mm", decimals = 2, at = { "left", "right" }, plausible = { mm(0.20), mm(1.20) } },
  },
  derive = {
    value { id = "even", say = "differ by", formula = "range", of = "gap", unit = "mm", decimals = 2, high = mm(0.10) },
  },
}

tighten {
  id = "bolts", say = "Tighten.", group = "cover", after = "gap",
  stages = {
    torque { Nm(10), within = percent(8) },
    torque { Nm(20), low = Nm(19), high = Nm(21) },
  },
}

confirm { id = "done", say = "Done.", after = "bolts" }
-- mistake in line 7: group has no field `washer`; did you mean `washers`?
