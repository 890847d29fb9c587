-- The kinds of stages that ask for more than a pull: each has its view.  All of it invented.
sequence {
  title = "Odd jobs",
  engine = "Plover 2",
  document = "invented",
  revision = "A",
  invented = true,
  torque_unit = "N.m",
}

group { name = "nut", say = "locking nuts", thread = "M10", lubricant = "engine oil",
        places = labels { "left", "right" }, order = "listed" }
group { name = "rod", say = "rod bolts", thread = "M8", lubricant = "engine oil",
        places = labels { "inner", "outer" }, order = "listed" }
group { name = "axle", say = "castle nut", thread = "M16", lubricant = "engine oil",
        places = labels { "axle" }, order = "listed" }

tighten { id = "nuts", say = "Run down, then tighten.", group = "nut", stages = {
  prevailing { low = Nm(1), high = Nm(7), least_turn = deg(360) },
  torque { Nm(30), within = percent(8), above_prevailing = true } } }
tighten { id = "rods", say = "Stretch.", group = "rod", stages = {
  stretch { mm(0.160), within = mm(0.020), about = Nm(40), ceiling = Nm(90) } } }
confirm { id = "top", say = "Piston at the top.", position = "number 1 at its top" }
tighten { id = "castle", say = "To the slot.", group = "axle", stages = {
  slot { low = Nm(60), high = Nm(110), slots = 8 } } }
