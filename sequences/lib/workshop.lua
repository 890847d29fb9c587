-- What the sequences of the harbour workshop share: names of lubricants and instruments, and
-- sentences that are said the same way everywhere.  All of it is invented.

local workshop = {}

-- Lubricants.  What is on the thread and under the head is part of every torque figure.
workshop.engine_oil = "engine oil on the thread and under the head"
workshop.gear_oil = "gear oil on the thread and under the head"
workshop.bolt_paste = "the bolt maker's assembly paste on the thread and under the head"
workshop.locking = "locking compound, medium, on the oil-free thread; head clean"
workshop.coolant_sealer = "thread sealer for coolant on the thread, engine oil under the head"

-- Instruments, as they are labelled in the workshop's drawers.
workshop.micrometer = "outside micrometer 50-75 mm"
workshop.bore_gauge = "bore gauge 50-100 mm, set on its ring"
workshop.dial = "dial gauge on a magnetic stand"
workshop.feelers = "feeler gauges"
workshop.straight_edge = "straight edge and feeler gauges"
workshop.strip_card = "card of the gauge strip"

-- Ids of the same step for each cylinder, bearing or side, for `after`.
function workshop.each(prefix, names)
  local ids = {}
  for i, name in ipairs(names) do
    ids[i] = prefix .. name
  end
  return ids
end

-- One list of all that is given: ids, and lists of ids.
function workshop.all(...)
  local ids = {}
  for _, one in ipairs { ... } do
    for _, id in ipairs(type(one) == "table" and one or { one }) do
      ids[#ids + 1] = id
    end
  end
  return ids
end

-- The first thing that is read: every sequence here begins with it.
function workshop.invented()
  return caution {
    id = "invented-figures",
    say = "Every figure in this sequence is invented: use it to learn, not on a real engine.",
  }
end

function workshop.eyes(after)
  return caution {
    id = "hands-and-eyes",
    say = "Wear eye protection when threads and galleries are blown out.",
    after = after,
  }
end

-- What hangs can fall.
function workshop.lifting(what, after)
  return caution {
    id = "lifting",
    say = "Lift " .. what .. " with the hoist, never by hand; nobody stands below it, no finger is "
       .. "between the parts when it comes down.",
    after = after,
  }
end

-- Someone may start what is being worked on.
function workshop.locked(what, after)
  return caution {
    id = "locked",
    say = "Lock " .. what .. ", hang the tag on it, and keep the key in your pocket.",
    after = after,
  }
end

-- The temperature of a part at which a fine measurement counts.
workshop.room = { degC(16), degC(26) }

-- A length read at one point or more; a bare number means millimetres.
function workshop.length(id, say, decimals, least, most, at)
  return reading {
    id = id, say = say, unit = "mm", decimals = decimals, at = at, plausible = { least, most },
  }
end

-- End float of a shaft, read twice.
function workshop.end_float(fields)
  return measure {
    id = fields.id,
    say = fields.say,
    gauge = workshop.dial,
    after = fields.after,
    readings = {
      workshop.length("float", fields.dial, 2, fields.least, fields.most, { "first", "second" }),
    },
    derive = {
      value {
        id = "end-float", say = "end float", formula = "end_float", of = "float",
        unit = "mm", decimals = 2, low = fields.low, high = fields.high,
        when_low = fields.when_low, when_high = fields.when_high,
      },
    },
  }
end

-- The three clearances of a rotor oil pump: of each the largest of four feeler readings counts.
function workshop.oil_pump(fields)
  local round = { "1", "2", "3", "4" }
  local function limit(id, say, of, low, high)
    return value {
      id = id, say = say, formula = "pump_clearance", of = of,
      unit = "mm", decimals = 2, low = low, high = high,
    }
  end
  return measure {
    id = fields.id,
    say = "Clearances of the oil pump, a quarter of a turn between readings.",
    gauge = workshop.feelers,
    after = fields.after,
    readings = {
      workshop.length("tip", "tip of the inner rotor to the outer rotor", 2, mm(0.02), mm(0.22),
                      round),
      workshop.length("body", "outer rotor to the body", 2, mm(0.05), mm(0.25), round),
      workshop.length("side", "rotors to a straight edge across the body", 2, mm(0.01), mm(0.11),
                      round),
    },
    derive = {
      limit("tip-clearance", "tip clearance", "tip", mm(0.06), mm(0.18)),
      limit("body-clearance", "body clearance", "body", mm(0.10), mm(0.20)),
      limit("side-clearance", "side clearance", "side", mm(0.03), mm(0.09)),
    },
  }
end

-- Turning a crank once its caps are tight.
function workshop.crank_group(say)
  return group {
    name = "crank", say = say, lubricant = workshop.engine_oil, places = labels { "crank" },
  }
end

function workshop.crank_turns(id, after, why)
  return tighten {
    id = id,
    say = "Turn the crank with the wrench, steadily, two turns.",
    why = why,
    group = "crank",
    after = after,
    stages = { rotating { low = Nm(0.8), high = Nm(3.5), least_turn = deg(720) } },
  }
end

return workshop
