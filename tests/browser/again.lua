-- Used fasteners after a check, a step that more stands on, and a retorque after closing.  All of it
-- invented.
sequence {
  title = "Winch drum, done again",
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
  lubricant = "engine oil on the thread",
  reuse = "after_check",
  reuse_check = "thread whole, no rust",
  places = labels { "near", "middle", "far" },
  order = "listed",
}

confirm { id = "clean", say = "Clean the drum flange." }
tighten {
  id = "bolts",
  say = "Tighten the drum bolts.",
  group = "drum",
  after = "clean",
  stages = { torque { Nm(20), within = percent(8) } },
  due = "after the first hour of hauling: to 20 N.m again, without loosening first",
}
