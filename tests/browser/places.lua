-- Places where a gauge is held: one of each part that the display draws.  All of it invented.
sequence {
  title = "Places where a gauge is held, one of each that is drawn, in a title that is longer than any header",
  engine = "Curlew 4",
  document = "invented",
  revision = "A",
  invented = true,
  torque_unit = "N.m",
}

local function length(id, say, least, most, at)
  return reading { id = id, say = say, unit = "mm", decimals = 3, at = at, plausible = { mm(least), mm(most) } }
end

local function most(formula, of, limit)
  return { value { id = "value", say = "value", formula = formula, of = of, unit = "mm", decimals = 3, high = mm(limit) } }
end

local heights = { "top", "middle", "bottom" }
measure { id = "bore", say = "Bore of cylinder 1.", gauge = "bore gauge",
  readings = { length("across", "bore across the engine", 85, 87, heights),
               length("along", "bore along the engine", 85, 87, heights) },
  derive = most("worst_taper", { "across", "along" }, 0.02) }
measure { id = "bores", say = "Bores 1 and 2.", gauge = "bore gauge", after = "bore",
  readings = { reading { id = "bore", say = "bore", unit = "mm", decimals = 3, repeats = 2, spread = mm(0.004),
                         at = points { { "1", "2" }, { "top", "foot" }, { "along", "across" } },
                         plausible = { mm(85), mm(87) } } },
  derive = most("largest", "bore", 87) }
measure { id = "journal", say = "Rod bearing 1.", gauge = "micrometer", after = "bores",
  readings = { length("upright", "journal, throw upright", 47, 48, { "front", "rear" }),
               length("level", "journal, throw level", 47, 48, { "front", "rear" }) },
  derive = most("worst_out_of_round", { "upright", "level" }, 0.02) }
measure { id = "ring", say = "Upper ring in bore 1, squared with a piston.", after = "journal",
  readings = { length("gap", "gap", 0.1, 0.6) }, derive = most("mean", "gap", 1) }
measure { id = "face", say = "Straight edge over the block.", after = "ring",
  readings = { length("deck", "gap", 0, 0.1, { "along", "across", "diagonal 1", "diagonal 2" }) },
  derive = most("largest", "deck", 1) }
measure { id = "flange", say = "Gap of the flanges.", after = "face",
  readings = { length("gap", "gap", 0, 1, { "top", "right", "bottom", "left" }) },
  derive = most("range", "gap", 1) }
measure { id = "float", say = "End float of the crank.", after = "flange",
  readings = { length("float", "dial", 0, 1, { "first", "second" }) }, derive = most("end_float", "float", 1) }
measure { id = "springs", say = "Height of each spring.", after = "float",
  readings = { length("height", "height", 30, 50, points { { "1", "2" }, { "inlet", "exhaust" } }) },
  derive = most("largest", "height", 60) }
