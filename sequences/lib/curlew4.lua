-- The fasteners that every job on a Curlew 4 shares, and their torques.  Invented, all of it.

local workshop = require "workshop"

local curlew4 = {}

curlew4.cylinders = { 1, 2, 3, 4 }
curlew4.mains = { 1, 2, 3, 4, 5 }
curlew4.firing_order = { 1, 3, 4, 2 }

-- The figures of the main bearing caps are needed twice: on trial and for good.
curlew4.main_first = Nm(30)
curlew4.main_final = Nm(65)

function curlew4.main_stages()
  return {
    torque { curlew4.main_first, within = percent(6) },
    torque { curlew4.main_final, within = percent(5) },
  }
end

function curlew4.rod_stages()
  return {
    torque { Nm(20), within = percent(8) },
    torque { Nm(45), within = percent(5) },
  }
end

-- `whole_job`: it is asked whether each set of bolts was looked at before it goes in again.
function curlew4.main_group(whole_job)
  return group {
    name = "main",
    say = "main cap bolts",
    thread = "M11x1.25",
    class = "10.9",
    lubricant = workshop.engine_oil,
    reuse = whole_job and "after_check",
    reuse_check = whole_job and "no longer than 87.5 mm, neck as thick as the shank",
    cycles = 3,
    places = grid {
      rows = 2, columns = 5, dx = mm(92), dy = mm(96),
      labels = {
        "1 left", "2 left", "3 left", "4 left", "5 left",
        "1 right", "2 right", "3 right", "4 right", "5 right",
      },
    },
    order = "spiral",
  }
end

function curlew4.rod_group()
  return group {
    name = "rod",
    say = "connecting rod bolts",
    thread = "M10x1.25",
    class = "10.9",
    joint = "B",
    lubricant = workshop.bolt_paste,
    new_each_time = true,
    cycles = 3,
    places = labels {
      "1 inner", "1 outer", "2 inner", "2 outer", "3 inner", "3 outer", "4 inner", "4 outer",
    },
    order = "listed",
  }
end

-- `taken_apart`: they are only felt and loosened, and none of them is new.
function curlew4.head_group(taken_apart)
  return group {
    name = "head",
    say = "cylinder head bolts",
    thread = "M11x1.5",
    class = "10.9",
    lubricant = workshop.engine_oil,
    washers = "hardened, chamfer up",
    new_each_time = not taken_apart,
    places = grid { rows = 2, columns = 5, dx = mm(98), dy = mm(112) },
    order = "spiral",
  }
end

-- Two directions at three heights, and the piston that goes in.
function curlew4.measure_bore(cylinder, after)
  local heights = { "top", "middle", "bottom" }
  return measure {
    id = "bore-" .. cylinder,
    say = "Bore and piston of cylinder " .. cylinder .. ".",
    why = "A bore that is not round or not straight loses its rings' seal where it is widest.",
    gauge = workshop.bore_gauge .. "; micrometer 75-100 mm",
    temperature = workshop.room,
    after = after,
    readings = {
      workshop.length("across", "bore across the engine", 3, mm(86.000), mm(86.060), heights),
      workshop.length("along", "bore along the engine", 3, mm(86.000), mm(86.060), heights),
      reading {
        id = "piston", say = "piston 11 mm above its lower edge", unit = "mm", decimals = 3,
        repeats = 2, spread = mm(0.004), plausible = { mm(85.950), mm(86.010) },
      },
    },
    derive = {
      value {
        id = "taper", say = "taper of the bore", formula = "worst_taper",
        of = { "across", "along" }, unit = "mm", decimals = 3, high = mm(0.015),
        when_high = "Hone or bore the cylinder to the next size.",
      },
      value {
        id = "round", say = "out of round", formula = "worst_out_of_round",
        of = { "across", "along" }, unit = "mm", decimals = 3, high = mm(0.015),
        when_high = "Hone or bore the cylinder to the next size.",
      },
      value {
        id = "clearance", say = "piston clearance", formula = "piston_clearance",
        of = { "across", "piston" }, unit = "mm", decimals = 3, low = mm(0.030), high = mm(0.070),
        when_low = "Hone to fit this piston.", when_high = "Take a piston of the larger grade.",
      },
    },
  }
end

-- Ends and directions of one journal.
function curlew4.measure_journal(kind, number, least, most, after)
  local ends = { "front", "rear" }
  return measure {
    id = kind .. "-journal-" .. number,
    say = "Journal of " .. kind .. " bearing " .. number .. ".",
    gauge = workshop.micrometer,
    temperature = workshop.room,
    after = after,
    readings = {
      workshop.length("upright", "diameter, throw upright", 3, least, most, ends),
      workshop.length("level", "diameter, throw level", 3, least, most, ends),
    },
    derive = {
      value {
        id = "taper", say = "taper of the journal", formula = "worst_taper",
        of = { "upright", "level" }, unit = "mm", decimals = 3, high = mm(0.010),
        when_high = "The crank goes to the grinder.",
      },
      value {
        id = "round", say = "out of round", formula = "worst_out_of_round",
        of = { "upright", "level" }, unit = "mm", decimals = 3, high = mm(0.010),
        when_high = "The crank goes to the grinder.",
      },
    },
  }
end

return curlew4
