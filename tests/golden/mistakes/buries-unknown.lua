sequence {
  title = "Cover", engine = "Gearbox", edition = "1",
  document = "invented", revision = "A", invented = true, torque_unit = "N.m",
}

group {
  name = "cover", say = "cover bolts", thread = "M8x1.25", class = "8.8", lubricant = "engine oil",
  places = grid { rows = 2, columns = 3, dx = mm(70), dy = mm(90) },
  order = "spiral",
}

ask { id = "kind", say = "New or used?", answers = { "new", "used" } }

confirm { id = "gears-in", say = "Gears in." }

confirm { id = "on", say = "Cover on.", after = "gears-in",
          buries = { say = "the gears", steps = "gear-in" } }

tighten {
  id = "bolts", say = "Tighten.", group = "cover", after = "on",
  stages = {
    torque { Nm(10), within = percent(8) },
    torque { Nm(20), low = Nm(19), high = Nm(21) },
  },
}

confirm { id = "done", say = "Done.", after = "bolts" }
-- mistake in line 17: `buries` names "gear-in", which is no step; did you mean "gears-in"?
