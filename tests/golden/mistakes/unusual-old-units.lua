sequence { title = "Everything in inches and pounds", engine = "E", document = "invented", torque_unit = "lbf.in" }

group { name = "g", say = "cap screws", lubricant = "30 weight", thread = "1/4-28", class = "grade 8",
        places = places { { label = "N", x = inch(0), y = inch(1) }, { label = "S", x = inch(0), y = inch(-1) },
                          { label = "E", x = inch(1), y = inch(0) }, { label = "W", x = inch(-1), y = inch(0) } },
        order = "crosswise", reversed = true }

tighten { id = "t", say = "Snug, quarter turn, off, and again.", group = "g",
          stages = { torque { lbf_in(40), within = lbf_in(4), least_turn = deg(0) }, angle { turn(0.125), within = deg(5) },
                     back_off { until_loose = true }, torque_angle { snug = lbf_in(40), deg(45), within = deg(5) } } }
-- unusual, and no mistake
