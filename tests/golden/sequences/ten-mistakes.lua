-- Ten planted mistakes.  Each line that holds one says so; what `check` must say of them stands in
-- ten-mistakes.txt beside this file, LINE: TEXT, in order.

sequence {
  title = "Ten mistakes", engine = "Curlew 4", document = "invented", invented = true,
}

group {                                              -- 1: no lubricant
  name = "main", say = "main cap bolts",
  places = grid { rows = 2, columns = 2, dx = mm(90), dy = mm(96) },
}

group {                                              -- 2: spiral, but nothing says where
  name = "rod", say = "rod bolts", lubricant = "engine oil",
  places = labels { "1", "2", "3", "4" }, order = "spiral",
}

group {                                              -- 3: a bolt too small for its torque, below
  name = "cover", say = "cover bolts", lubricant = "engine oil", thread = "M6x1", class = "8.8",
  places = circle { n = 6, diameter = mm(120) }, order = "crosswise",
}

confrm { id = "clean", say = "Everything is clean." } -- 4: an unknown word

tighten {
  id = "main-bolts", say = "Tighten the main cap bolts.", group = "main", after = "clean",
  stages = {
    torque { Nm(60), low = Nm(57), high = Nm(63) },
    torque { Nm(40), within = percent(5) },          -- 5: down without backing off
  },
}

tighten {
  id = "rod-bolts", say = "Tighten the rod bolts.", group = "rod", after = "main-bolts",
  stages = {
    torque { Nm(45), low = Nm(48), high = Nm(42) },  -- 6: limits the wrong way round
    angle { deg(90), within = mm(4) },               -- 7: a length where an angle belongs
  },
}

tighten {
  id = "cover-bolts", say = "Tighten the cover bolts.", group = "cover",
  stages = {
    torque { Nm(60), within = percent(5) },          -- 3: here
  },
}

confirm {                                            -- 8: after a step that comes later
  id = "turns", say = "The crank turns.", after = "end-float",
}

measure {
  id = "end-float", say = "End float of the crank.",
  readings = {
    reading { id = "float", say = "dial", unit = "mm", decimals = 2, -- 9: inverted, next line
              plausible = { mm(0.30), mm(0.05) } },
  },
}

confirm {                                            -- 10: an id that is there already
  id = "turns", say = "The crank still turns.",
}
