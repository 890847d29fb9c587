-- What may be accepted as it is, with a second person: a value, a verdict.  All of it invented.
sequence {
  title = "Winch drum, to be decided on",
  engine = "slipway winch",
  document = "Workshop manual of the harbour pilot service, invented, chapter 9",
  revision = "A",
  invented = true,
  torque_unit = "N.m",
}

group { name = "drum", say = "drum bolts", thread = "M10x1.5", lubricant = "engine oil on the thread",
        places = labels { "upper", "lower" }, order = "listed" }

measure {
  id = "gap",
  say = "Gap of the drum.",
  readings = { reading { id = "gap", say = "gap", unit = "mm", decimals = 2, plausible = { mm(0.05), mm(0.50) } } },
  derive = { value { id = "most", say = "widest gap", formula = "largest", of = "gap", unit = "mm", decimals = 2,
                     high = mm(0.10) } },
}
tighten { id = "bolts", say = "Tighten the drum bolts.", group = "drum", after = "gap",
          stages = { torque { Nm(20), within = percent(8) } } }
