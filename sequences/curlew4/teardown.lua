-- Curlew 4, taken apart again: what the first build's sheet said against what is found.
--
-- The same points are measured as in short-block.lua and long-block.lua, under the same names, so
-- that the two sheets can be laid side by side; what was measured then is typed in beside what is
-- measured now, and the wear between them is worked out and held against its limit.
--
-- All figures are invented.  For a real engine take its maker's manual.

local workshop = require "workshop"
local curlew4 = require "curlew4"

sequence {
  title = "Curlew 4 teardown and comparison",
  engine = "Curlew 4",
  edition = "1",
  document = "Workshop manual of the harbour pilot service, invented, chapter 8",
  revision = "C",
  invented = true,
  torque_unit = "N.m",
}

-- The bolts as they are found: only felt, and loosened round by round, from the ends to the middle.
local taken_apart = true
local main = curlew4.main_group()
local head = curlew4.head_group(taken_apart)
workshop.crank_group("crank, turned at its pulley end")

local read = workshop.invented()

caution {
  id = "hot-oil",
  say = "The engine is cold and its oil is out; gloves on, old oil is not for the skin.",
  after = read,
}
workshop.lifting("the head and the crank", "hot-oil")

note { id = "first-build", say = "Write down the number of the first build's sheet.", after = read }
note { id = "hours", say = "Write down the running hours since that build.", after = read }
note { id = "complaint", say = "Write down why it is taken apart, in the words of the one who brought it.",
       after = read }

confirm {
  id = "marks-seen",
  say = "Photographs taken; paint marks on all bolts looked at: none has turned.",
  after = { "first-build", "hours", "complaint", "lifting" },
}

---------------------------------------------------------------------------------------------------
-- As it is found
---------------------------------------------------------------------------------------------------

workshop.crank_turns("turns-as-found", "marks-seen", "What binds is known before it is apart.")

measure {
  id = "end-float",
  say = "End float of the crank as it is found, and as the first build's sheet says.",
  gauge = workshop.dial,
  after = "turns-as-found",
  readings = {
    workshop.length("now", "end float now", 2, mm(0.10), mm(0.40)),
    workshop.length("then", "end float on the sheet", 2, mm(0.05), mm(0.35)),
  },
  derive = {
    value { id = "grown", say = "grown by", formula = "clearance_least", of = { "now", "then" },
            unit = "mm", decimals = 2, high = mm(0.12),
            when_high = "Thrust washers are worn: look at the clutch that pushes on them." },
  },
}

fit {
  id = "rocker-gear-off",
  say = "Rocker cover off; each rocker with its push rod into the rack: which number did it get?",
  part = "rocker",
  to = { "1 inlet", "1 exhaust", "2 inlet", "2 exhaust", "3 inlet", "3 exhaust", "4 inlet", "4 exhaust" },
  why = "They have run in together and go back together.",
  after = "end-float",
}

tighten {
  id = "head-seat",
  say = "Head bolts as found: pull slowly to the first build's first torque; none may turn.",
  why = "One that turns at so little has let go in use.",
  group = head,
  after = "rocker-gear-off",
  stages = { torque { Nm(40), within = percent(6), least_turn = deg(0) } },
}

tighten {
  id = "head-loose",
  say = "Loosen the head bolts with a bar, a little each, round after round, then fully.",
  why = "A head that is let go at one end bends.",
  group = head,
  after = "head-seat",
  reversed = true,
  continues = "head-seat",
  buries = { say = "what the head bolts still held, and how the engine turned",
             steps = { "head-seat", "turns-as-found" } },
  stages = { back_off { until_loose = true } },
}

confirm {
  id = "head-off",
  say = "Head off; gasket photographed on both faces before anything is wiped.",
  after = "head-loose",
}

---------------------------------------------------------------------------------------------------
-- Bores, against the first sheet
---------------------------------------------------------------------------------------------------

local heights = { "top", "middle", "bottom" }
local measured = {}
for _, cylinder in ipairs(curlew4.cylinders) do
  measured[#measured + 1] = measure {
    id = "bore-" .. cylinder,
    say = "Bore " .. cylinder .. " now, and what the first sheet has for the same heights.",
    gauge = workshop.bore_gauge,
    after = "head-off",
    readings = {
      workshop.length("across", "bore across the engine, now", 3, mm(86.000), mm(86.120), heights),
      workshop.length("along", "bore along the engine, now", 3, mm(86.000), mm(86.120), heights),
      workshop.length("then", "bore across the engine, on the sheet", 3, mm(86.000), mm(86.060), heights),
    },
    derive = {
      value { id = "taper", say = "taper of the bore", formula = "worst_taper",
              of = { "across", "along" }, unit = "mm", decimals = 3, high = mm(0.050),
              when_high = "Bore the cylinder to the next size." },
      value { id = "round", say = "out of round", formula = "worst_out_of_round",
              of = { "across", "along" }, unit = "mm", decimals = 3, high = mm(0.050),
              when_high = "Bore the cylinder to the next size." },
      value { id = "worn", say = "worn since, at most", formula = "clearance_most",
              of = { "across", "then" }, unit = "mm", decimals = 3, high = mm(0.060),
              when_high = "Bore the cylinder to the next size." },
    },
  }
end

---------------------------------------------------------------------------------------------------
-- Bearings
---------------------------------------------------------------------------------------------------

confirm {
  id = "caps-marked",
  say = "Main caps and rod caps carry their numbers and arrows; where one does not, mark it now.",
  after = measured,
}

tighten {
  id = "main-seat",
  say = "Main cap bolts as found: pull slowly to their first torque; none may turn.",
  group = main,
  after = "caps-marked",
  stages = { torque { curlew4.main_first, within = percent(6), least_turn = deg(0) } },
}

tighten {
  id = "main-loose",
  say = "Loosen the main cap bolts with a bar, a little each, round after round, then fully.",
  group = main,
  after = "main-seat",
  reversed = true,
  continues = "main-seat",
  buries = { say = "what the main cap bolts still held, and the end float as found",
             steps = { "main-seat", "end-float" } },
  stages = { back_off { until_loose = true } },
}

local journals = {}
for _, bearing in ipairs(curlew4.mains) do
  local ends = { "front", "rear" }
  journals[#journals + 1] = measure {
    id = "main-journal-" .. bearing,
    say = "Main journal " .. bearing .. " now, and as the first sheet has it.",
    gauge = workshop.micrometer,
    after = "main-loose",
    readings = {
      workshop.length("now", "diameter now", 3, mm(57.920), mm(57.960), ends),
      workshop.length("then", "diameter on the sheet", 3, mm(57.930), mm(57.970), ends),
    },
    derive = {
      value { id = "taper", say = "taper of the journal", formula = "taper", of = "now",
              unit = "mm", decimals = 3, high = mm(0.010), when_high = "The crank goes to the grinder." },
      value { id = "worn", say = "worn since, at most", formula = "clearance_most",
              of = { "then", "now" }, unit = "mm", decimals = 3, high = mm(0.020),
              when_high = "The crank goes to the grinder." },
    },
  }
end

ask {
  id = "shells-look",
  say = "How do the worst main shells look?",
  answers = { "even and grey", "scored", "copper shows" },
  after = journals,
}

note {
  id = "shells-scored", when = { step = "shells-look", answer = "scored" }, after = "shells-look",
  say = "Write down which shells are scored, and what was in the filter when it was cut open.",
}

confirm {
  id = "oil-ways-first", when = { step = "shells-look", answer = "copper shows" }, after = "shells-look",
  say = "The oil pump goes on the bench and is measured before anything is ordered.",
}

confirm {
  id = "laid-out",
  say = "All parts laid out by number, photographed, tagged with the build's number.",
  after = { "shells-look", "shells-scored", "oil-ways-first" },
}

note {
  id = "finding",
  say = "Write down in one sentence what was found, for the one who pays.",
  after = "laid-out",
}
