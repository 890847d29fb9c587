sequence { title = "Up, down, up, down, up", engine = "E", document = "invented", rule = "guarded" }

group { name = "g", say = "s", lubricant = "dry", thread = "M10x1", class = "12.9", places = labels { "only" } }

tighten { id = "t", say = "s", group = "g",
          stages = { torque { Nm(30), within = percent(10) }, back_off { deg(30), within = deg(10) },
                     torque { Nm(20), within = percent(10) }, back_off { until_loose = true },
                     torque { Nm(10), within = percent(10) }, torque { Nm(10), within = percent(10), again = true } } }

tighten { id = "u", say = "s", group = "g", after = "t", continues = "t",
          stages = { check { low = Nm(5), high = Nm(20), most_turn = deg(5) }, back_off { until_loose = true } } }
-- unusual, and no mistake
