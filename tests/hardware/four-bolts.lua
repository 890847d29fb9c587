-- Four bolts in two stages: enough to go through the whole chain with the adapter's firmware.
sequence {
  title = "Test plate, four bolts",
  engine = "Test plate",
  document = "none",
  invented = true,
}

group {
  name = "plate", say = "plate bolts", thread = "M10x1.5", class = "10.9",
  lubricant = "engine oil", places = circle { n = 4, diameter = mm(110) }, order = "crosswise",
}

tighten {
  id = "plate", say = "Plate bolts in two stages.", group = "plate",
  stages = {
    torque { Nm(40), within = percent(6) },
    angle { deg(60), within = deg(6) },
  },
}
