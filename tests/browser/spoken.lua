-- What is read out: a torque with a turn behind it, in the manual's unit, and one alone.  Invented.
sequence {
  title = "Spoken",
  engine = "Plover 2",
  document = "invented",
  revision = "A",
  invented = true,
  torque_unit = "N.m",
}

group { name = "caps", say = "main cap", thread = "M10", lubricant = "engine oil", places = labels { "4" },
        order = "listed" }

confirm { id = "on", say = "Caps on, oil on the threads." }
tighten { id = "caps", say = "Tighten the cap.", group = "caps", after = "on", stages = {
  torque_angle { snug = lbf_ft(28), deg(90), within = deg(60), ceiling = Nm(400) },
  torque { Nm(60), within = percent(8) } } }
