-- Each kind of stage, with each of its fields, in units that are mixed as manuals mix them.

sequence {
  title = "Every stage", engine = "Plover 2", edition = "2", document = "invented", revision = "B",
  invented = true, torque_unit = "lbf.ft", rule = "guarded_95",
}

group {
  name = "nuts", say = "locking nuts", lubricant = "engine oil", thread = "M12x1.25", class = "10.9",
  places = labels { "front", "rear" },
}

group { name = "shaft", say = "shaft nut", lubricant = "gear oil", places = labels { "shaft" } }

tighten {
  id = "torque", say = "To a torque.", group = "nuts",
  stages = {
    prevailing { low = Nm(1), high = Nm(8), least_turn = deg(360) },
    torque { Nm(40), low = lbf_ft(28), high = lbf_ft(31), least_turn = deg(5),
             above_prevailing = true },
    torque { Nm(60), low = lbf_ft(43), high = Nm(63), above_prevailing = true },
    torque { Nm(60), within = percent(5), again = true, above_prevailing = true },
    check { low = Nm(50), high = Nm(75), most_turn = deg(5), above_prevailing = true },
    back_off { deg(90), within = deg(15) },
    torque { Nm(60), within = Nm(2.5), above_prevailing = true },
    back_off { until_loose = true },
  },
}

tighten {
  id = "angle", say = "Through an angle.", after = "torque", group = "nuts",
  stages = {
    prevailing { low = lbf_in(4), high = lbf_in(60), least_turn = deg(400) },
    torque { Nm(30), within = percent(5), least_turn = deg(0) },
    angle { deg(90), within = deg(4), from = Nm(40), floor = Nm(60), ceiling = Nm(140),
            above_prevailing = true },
    angle { deg(30), low = deg(27), high = deg(35), ceiling = Nm(160), above_prevailing = true },
  },
}

tighten {
  id = "torque-angle", say = "From snug.", after = "angle", group = "nuts",
  stages = { torque_angle { snug = Nm(40), deg(90), within = percent(5), floor = Nm(60) } },
}

tighten {
  id = "yield", say = "Until it yields.", after = "torque-angle", group = "nuts",
  stages = {
    yield { share = percent(62.5), snug = Nm(40), low = Nm(70), high = Nm(110),
            most_turn = deg(120) },
  },
}

tighten {
  id = "stretch", say = "By its growth.", after = "yield", group = "nuts",
  stages = {
    stretch { mm(0.15), low = mm(0.13), high = mm(0.17), about = Nm(45), ceiling = Nm(60) },
    angle { deg(5), within = deg(2) },
  },
}

tighten {
  id = "stretch-thou", say = "By its growth alone.", after = "stretch", group = "nuts",
  stages = { stretch { thou(6), within = thou(0.5) } },
}

tighten {
  id = "slot", say = "To the slot.", after = "stretch-thou", group = "nuts",
  stages = { slot { low = Nm(60), high = Nm(90), slots = 6 } },
}

tighten {
  id = "creep", say = "The sleeve.", group = "shaft",
  stages = {
    creep { low = Nm(2.0), high = Nm(2.6), least_turn = deg(180) },
    rotating { low = Nm(2.0), high = Nm(2.6), least_turn = deg(1080) },
  },
}
