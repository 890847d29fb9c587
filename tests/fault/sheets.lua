-- A joint with everything that a sheet can show; all of it is invented.
sequence { title = "Winch flange, all that a sheet can show", engine = "Winch flange", edition = "7",
  document = "Manual of the winch, invented, chapter 4", revision = "B", invented = true,
  torque_unit = "N.m" }

group { name = "flange", say = "flange bolts", thread = "M12x1.75", class = "8.8",
  lubricant = "paste with copper on the thread, dry under the head", washers = "hardened, two each",
  places = circle { n = 6, diameter = mm(160), labels = {
    "twelve o'clock, beside the filler neck", "two o'clock", "four o'clock", "δεξιά κάτω", "слева снизу",
    "ten o'clock, behind the pipe to the accumulator" } },
  order = "crosswise" }

group { name = "cover", say = "cover screws", lubricant = "none, dry",
  places = labels { "upper", "lower" }, order = "listed" }

caution { id = "pressure", say = "No pressure is left in the line: the gauge stands at zero and the drain is open." }
note { id = "number", say = "Write down the number stamped on the flange." }
ask { id = "gasket", say = "Which letter is on the gasket?", answers = { "A", "B" } }
choose { id = "ring", say = "Sealing ring of the flange.", after = "gasket", row = "gasket",
         parts = { "ring 3.2 mm", "ring 3.6 mm" } }

for cylinder = 1, 2 do
  measure { id = "rod-" .. cylinder, say = "Piston rod of cylinder " .. cylinder .. ".",
    gauge = "outside micrometer 25-50 mm", after = "ring",
    readings = { reading { id = "rod", say = "rod diameter", unit = "mm", decimals = 3,
                           at = { "front", "rear" }, plausible = { mm(39.9), mm(40.1) } } },
    derive = { value { id = "taper", say = "taper of the rod", formula = "taper", of = "rod",
                       unit = "mm", decimals = 3, high = mm(0.020) } } }
end

tighten { id = "flange", say = "Tighten the flange.", group = "flange", after = { "rod-1", "rod-2" },
  stages = { torque { Nm(40), within = percent(6) }, torque { Nm(80), within = percent(6) } },
  due = "after 20 hours of work: once more to the same torque, without loosening" }

tighten { id = "cover", say = "Tighten the cover.", group = "cover", after = "flange",
  stages = { torque { Nm(12), within = percent(10) } } }
