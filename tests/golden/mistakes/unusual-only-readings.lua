sequence { title = "A bore, nothing else", engine = "E", document = "invented" }

measure {
  id = "bore", say = "Bore.",
  readings = { reading { id = "d", say = "diameter", unit = "in", decimals = 4, plausible = { inch(3), inch(4) } } },
}
-- unusual, and no mistake
