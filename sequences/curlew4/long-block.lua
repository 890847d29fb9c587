-- Curlew 4, the harbour service's inline four: from the bare block to the sealed engine.
--
-- The shorter short-block.lua is the one to learn from; this one is a whole job: parts chosen from
-- a table, bearings measured on trial, rings filed until they fit, groups that take turns, the
-- crank in its place for rockers and lash, sealant that can't wait, what is due once it runs.
-- docs/sequences.md explains each word.
--
-- All figures are invented.  For a real engine take its maker's manual.

local workshop = require "workshop"
local curlew4 = require "curlew4"
local measuring = require "curlew4-measuring"

sequence {
  title = "Curlew 4 long block",
  engine = "Curlew 4",
  edition = "2",
  document = "Workshop manual of the harbour pilot service, invented, chapters 2 to 6",
  revision = "C",
  invented = true,
  torque_unit = "N.m",
}

local cylinders = curlew4.cylinders
local mains = curlew4.mains
local each, all = workshop.each, workshop.all

---------------------------------------------------------------------------------------------------
-- Fasteners
---------------------------------------------------------------------------------------------------

local whole_job = true
curlew4.main_group(whole_job)
curlew4.rod_group()
curlew4.head_group()
workshop.crank_group("crank, turned at its pulley end")

-- Small bolts that are all alike but for their places.
local function bolts(name, say, thread, where, more)
  more = more or {}
  group {
    name = name, say = say, thread = thread, class = more.class or "8.8",
    lubricant = more.lubricant or workshop.engine_oil, places = where, order = more.order,
    washers = more.washers, new_each_time = more.new_each_time,
  }
end

bolts("cross", "cross bolts of the main caps", "M8x1.25",
      labels { "2 left", "3 left", "4 left", "2 right", "3 right", "4 right" })
bolts("front", "small bolts at the front of the head", "M8x1.25",
      labels { "left", "middle", "right" })
bolts("cam-gear", "bolt of the cam gear", "M12x1.25", labels { "gear" }, { class = "10.9" })
bolts("tensioner", "bolts of the chain tensioner", "M8x1.25", labels { "upper", "lower" },
      { lubricant = workshop.locking })
bolts("pump", "bolts of the oil pump", "M8x1.25",
      grid { rows = 2, columns = 2, dx = mm(64), dy = mm(48) }, { order = "spiral" })
bolts("pick-up", "bolts of the pick-up pipe", "M6x1", labels { "flange left", "flange right", "stay" },
      { lubricant = workshop.locking })
bolts("chain-cover", "bolts of the chain cover", "M8x1.25",
      grid { rows = 4, columns = 2, dx = mm(160), dy = mm(85) }, { order = "spiral" })
bolts("water", "bolts of the water pump, which reach into the water jacket", "M8x1.25",
      circle { n = 5, diameter = mm(96) },
      { order = "crosswise", lubricant = workshop.coolant_sealer })
bolts("flywheel", "flywheel bolts", "M10x1.25", circle { n = 8, diameter = mm(78) },
      { class = "10.9", order = "crosswise", new_each_time = true, lubricant = workshop.locking })
bolts("pulley", "bolt of the crank pulley", "M14x1.5", labels { "pulley" }, { class = "10.9" })
bolts("sump", "sump bolts", "M8x1.25", grid { rows = 2, columns = 6, dx = mm(78), dy = mm(190) },
      { order = "spiral" })
bolts("rocker-cover", "bolts of the rocker cover", "M6x1",
      grid { rows = 2, columns = 4, dx = mm(130), dy = mm(150) },
      { order = "spiral", washers = "rubber, lip down" })

for _, cylinder in ipairs(cylinders) do
  bolts("rocker-" .. cylinder, "rocker bolts of cylinder " .. cylinder, "M8x1.25",
        labels { "inlet", "exhaust" })
  bolts("lash-" .. cylinder, "lock nuts of the adjusting screws of cylinder " .. cylinder, "M8x1",
        labels { "inlet", "exhaust" })
end

---------------------------------------------------------------------------------------------------
-- Receive
---------------------------------------------------------------------------------------------------

local read = workshop.invented()
workshop.lifting("block, crank and head", read)

local received = {
  "lifting",
  note { id = "launch", say = "Write down the launch that the engine belongs to, and who brought it.",
         after = read },
  note { id = "block-number", say = "Write down the number stamped on the block.", after = read },
  note { id = "crank-number", say = "Write down the number on the crank's front web.", after = read },
  note { id = "head-number", say = "Write down the number on the head, above port 1.", after = read },
  note { id = "batches", say = "Write down the batch numbers of shells, rings and new bolts.",
         after = read },
  note { id = "third-party", after = read,
         say = "Write down who bored the block and ground the crank, and the number of their sheet.",
         why = "What another shop did is still answered for by the one who builds it in." },
  confirm { id = "kit-complete", after = read,
            say = "All parts of the kit list are on the bench: gaskets, seals, both sealants, new rod, "
               .. "head and flywheel bolts, oil." },
  confirm { id = "gauges-ready", after = read,
            say = "Bore gauge, micrometers, dial, feelers and strips are here; the micrometers read "
               .. "zero on their standards." },
}

---------------------------------------------------------------------------------------------------
-- Clean
---------------------------------------------------------------------------------------------------

workshop.eyes(received)

confirm {
  id = "block-washed",
  say = "Block washed by hand with hot water and soap, bores wiped with oil until the cloth is clean.",
  why = "What honing leaves in the pores grinds the rings away in an hour.",
  after = "hands-and-eyes",
}

confirm {
  id = "threads-clean",
  say = "All bolt holes chased and blown dry; no oil stands in a blind hole.",
  why = "Oil under a bolt can't go anywhere: it splits the block.",
  after = "block-washed",
}

confirm {
  id = "galleries-clean",
  say = "Oil galleries brushed in both directions and blown through, plugs back with compound.",
  after = "threads-clean",
}

confirm {
  id = "plugs-counted",
  say = "Seven gallery plugs and five core plugs are in: count them.",
  why = "A missing one can't be seen once the chain cover is on.",
  after = "galleries-clean",
}

fit {
  id = "caps-marked",
  say = "Main caps off: what is stamped on each, and where it came from.",
  why = "Each cap was bored on its own seat and fits no other.",
  part = "main bearing cap",
  to = { "bearing 1", "bearing 2", "bearing 3", "bearing 4", "bearing 5" },
  after = "hands-and-eyes",
}

confirm {
  id = "crank-clean",
  say = "Oil ways of the crank brushed and blown through from journal to journal.",
  after = "hands-and-eyes",
}

confirm {
  id = "head-clean",
  say = "Head washed, ports and oil ways blown through, guides brushed.",
  after = "hands-and-eyes",
}

confirm {
  id = "room-steady",
  say = "Block, crank, pistons and gauges have lain in this room since yesterday.",
  why = "A skirt 10 degrees warmer than its bore takes a third of its clearance.",
  after = { "plugs-counted", "crank-clean", "head-clean" },
}

measure {
  id = "room",
  say = "Temperature of the room and of the block.",
  gauge = "contact thermometer",
  after = "room-steady",
  readings = {
    reading { id = "parts", say = "temperature", unit = "degC", decimals = 1,
              at = { "room", "block" }, plausible = { degC(10), degC(32) } },
  },
  derive = {
    value { id = "apart", say = "difference", formula = "range", of = "parts",
            unit = "degC", decimals = 1, high = degC(2),
            when_high = "Wait until they are alike, then read again." },
  },
}

---------------------------------------------------------------------------------------------------
-- Measure and select
---------------------------------------------------------------------------------------------------

-- sequences/lib/curlew4-measuring.lua: bores, rings, journals, runout, faces, springs; then the
-- main bearing shells by the marks on block and crank.
measuring.parts()
measuring.select_shells()

---------------------------------------------------------------------------------------------------
-- Trial assembly: main and rod bearings measured by strips
---------------------------------------------------------------------------------------------------

-- The oil clearances that strips show, each between its limits.
local function strips(id, say, after, at)
  return measure {
    id = id,
    say = say,
    gauge = workshop.strip_card,
    after = after,
    readings = { workshop.length("strip", "oil clearance", 3, mm(0.025), mm(0.076), at) },
    derive = {
      value {
        id = "least", say = "least oil clearance", formula = "smallest", of = "strip",
        unit = "mm", decimals = 3, low = mm(0.030), when_low = "Take thinner shells, one colour.",
      },
      value {
        id = "most", say = "most oil clearance", formula = "largest", of = "strip",
        unit = "mm", decimals = 3, high = mm(0.070), when_high = "Take thicker shells, one colour.",
      },
    },
  }
end

confirm {
  id = "strips-in",
  say = "Crank laid in dry, a gauge strip on each journal, caps on, number to number, arrow to the "
     .. "front.",
  after = all("crank-runout", each("shell-", mains)),
}

tighten {
  id = "main-trial",
  say = "Tighten the main cap bolts as for good, to measure.",
  why = "A bore is as round as its cap is tight.",
  group = "main",
  trial = true,
  after = "strips-in",
  stages = curlew4.main_stages(),
}

strips("main-clearance", "Caps off again. The widest place of each strip against its card.",
       "main-trial", { "1", "2", "3", "4", "5" })

confirm {
  id = "strips-out",
  say = "Strips cleaned off, crank out again.",
  after = "main-clearance",
}

forbid {
  say = "turn the crank",
  why = "a strip that was smeared shows too much",
  from = "strips-in", to = "strips-out",
}

confirm {
  id = "rod-strips-in",
  say = "Rods without pistons on the crank, on the bench, shells dry, a strip on each journal, caps on "
     .. "their own rods, bolts with paste.",
  after = all("strips-out", each("rod-journal-", cylinders)),
}

tighten {
  id = "rod-trial",
  say = "Tighten the rod bolts as for good, to measure; the rods must not turn on the crank.",
  group = "rod",
  trial = true,
  after = "rod-strips-in",
  stages = curlew4.rod_stages(),
}

strips("rod-clearance", "Rod caps off again. The widest place of each strip against its card.",
       "rod-trial", { "1", "2", "3", "4" })

confirm {
  id = "rod-strips-out",
  say = "Strips cleaned off; rods, caps and bolts back in their boxes, each cap on its own rod.",
  after = "rod-clearance",
}

forbid {
  say = "turn a rod on the crank",
  why = "a strip that was smeared shows too much",
  from = "rod-strips-in", to = "rod-strips-out",
}

---------------------------------------------------------------------------------------------------
-- Crankshaft, for good
---------------------------------------------------------------------------------------------------

confirm {
  id = "oil-jets",
  say = "All four piston oil jets in, each pointing at its own bore.",
  why = "With the crank in, no jet can be reached.",
  after = "rod-strips-out",
}

confirm {
  id = "rear-seal-upper",
  say = "Upper half of the rear seal in, lip to the engine, oiled.",
  why = "It goes in before the crank or not at all.",
  after = "rod-strips-out",
}

confirm {
  id = "crank-in",
  say = "Shells and journals oiled, thrust washers in with their grooves to the crank, crank in.",
  after = { "oil-jets", "rear-seal-upper" },
  buries = {
    say = "the oil jets, the upper seal and the upper main shells",
    steps = all("oil-jets", "rear-seal-upper", each("shell-", mains)),
  },
}

fit {
  id = "caps-on",
  say = "Caps on their own seats, arrow to the front, bolts oiled and run down by hand.",
  part = "main bearing cap",
  to = { "bearing 1", "bearing 2", "bearing 3", "bearing 4", "bearing 5" },
  as = "caps-marked",
  after = { "crank-in", "caps-marked" },
}

-- The caps are drawn to the block first, then sideways, then down for good.
tighten {
  id = "main-first",
  say = "Draw the main caps down.",
  group = "main",
  after = "caps-on",
  stages = { torque { curlew4.main_first, within = percent(6) } },
}

tighten {
  id = "cross-bolts",
  say = "Draw the main caps sideways.",
  group = "cross",
  after = "main-first",
  stages = { torque { Nm(14), within = percent(8) } },
}

tighten {
  id = "main-last",
  say = "Tighten the main cap bolts for good.",
  group = "main",
  after = "cross-bolts",
  continues = "main-first",
  stages = { torque { curlew4.main_final, within = percent(5) } },
}

tighten {
  id = "cross-last",
  say = "The cross bolts once more.",
  why = "The caps have moved a little since.",
  group = "cross",
  after = "main-last",
  continues = "cross-bolts",
  stages = { torque { Nm(14), within = percent(8), again = true } },
}

workshop.crank_turns("crank-turns", "cross-last",
                     "A cap on the wrong way round is felt here, and nowhere later.")

workshop.end_float {
  id = "end-float",
  say = "End float of the crank.",
  dial = "dial with the crank pried to the front, zeroed at the rear",
  least = mm(0.05), most = mm(0.35), low = mm(0.10), high = mm(0.28),
  when_low = "Take thinner thrust washers.", when_high = "Take thicker thrust washers.",
  after = "crank-turns",
}

---------------------------------------------------------------------------------------------------
-- Pistons and rods
---------------------------------------------------------------------------------------------------

fit {
  id = "pistons-in",
  say = "Each piston with its rod in its own bore, arrow to the front, ring gaps a third of a turn "
     .. "apart; its own cap on, numbers to the inlet, new bolts run down by hand.",
  part = "piston and rod",
  to = { "cylinder 1", "cylinder 2", "cylinder 3", "cylinder 4" },
  marks = { "1", "2", "3", "4" },
  after = all("end-float", each("set-", cylinders)),
  buries = { say = "the rings", steps = each("rings-", cylinders) },
}

tighten {
  id = "rod-bolts",
  say = "Tighten the connecting rod bolts.",
  group = "rod",
  after = "pistons-in",
  stages = curlew4.rod_stages(),
}

measure {
  id = "rod-side",
  say = "Side clearance of each rod on its journal.",
  gauge = workshop.feelers,
  after = "rod-bolts",
  readings = { workshop.length("side", "side clearance", 2, mm(0.05), mm(0.35), { "1", "2", "3", "4" }) },
  derive = {
    value { id = "least", say = "least side clearance", formula = "smallest", of = "side",
            unit = "mm", decimals = 2, low = mm(0.10), when_low = "A cap is turned round: look." },
    value { id = "most", say = "most side clearance", formula = "largest", of = "side",
            unit = "mm", decimals = 2, high = mm(0.30), when_high = "The rod is worn: a new one." },
  },
}

workshop.crank_turns("turns-with-rods", "rod-side", "A tight rod is felt against the turn before.")

local depths, heights = {}, {}
for i, word in ipairs { "one", "two", "three", "four" } do
  depths[i] = workshop.length(word, "depth, cylinder " .. i, 2, mm(0.00), mm(0.60), { "front", "rear" })
  heights[i] = value { id = "deck-" .. i, say = "deck height " .. i, formula = "deck_height", of = word,
                       unit = "mm", decimals = 2, low = mm(0.20), high = mm(0.40) }
end
measure {
  id = "deck",
  say = "Depth of each piston below the deck at its top, over the pin, front and rear of it.",
  gauge = workshop.dial .. ", on a bridge",
  after = "turns-with-rods",
  position = "the piston that is measured at its top",
  moves = true,
  readings = depths,
  derive = heights,
}

---------------------------------------------------------------------------------------------------
-- Cylinder head
---------------------------------------------------------------------------------------------------

confirm {
  id = "neck-check",
  say = "The necks of all ten new head bolts are as thick as their shanks, and each has its washer.",
  after = "deck",
}

confirm {
  id = "head-on",
  say = "Faces clean and dry, dowels in, gasket with its writing up, head on, new bolts oiled and "
     .. "run down by hand.",
  after = { "neck-check", "faces", "springs" },
  position = "all pistons half way down",
  buries = {
    say = "the gasket, the pistons and the bores",
    steps = all("faces", "deck", "pistons-in", each("bore-", cylinders)),
  },
}

tighten {
  id = "head-first",
  say = "Tighten the cylinder head bolts.",
  group = "head",
  after = "head-on",
  stages = { torque { Nm(40), within = percent(6) } },
}

tighten {
  id = "front-bolts",
  say = "Tighten the small bolts at the front.",
  group = "front",
  after = "head-first",
  stages = { torque { Nm(12), within = percent(8) } },
}

tighten {
  id = "head-angle",
  say = "Turn the cylinder head bolts on.",
  group = "head",
  after = "front-bolts",
  continues = "head-first",
  stages = {
    angle { deg(45), within = deg(4) },
    angle { deg(45), within = deg(4), floor = Nm(70) },
  },
}

tighten {
  id = "front-last",
  say = "The small bolts once more.",
  group = "front",
  after = "head-angle",
  continues = "front-bolts",
  stages = { torque { Nm(12), within = percent(8), again = true } },
}

---------------------------------------------------------------------------------------------------
-- Timing
---------------------------------------------------------------------------------------------------

confirm {
  id = "stop-found",
  say = "Degree wheel on; with a stop in cylinder 1 the crank turned to it from both sides, the wheel "
     .. "set so that both readings are alike, stop out again.",
  why = "The top between two equal stops is the true one; a mark is only near it.",
  after = "front-last",
}

confirm {
  id = "chain-on",
  say = "Chain on with its bright links at the dots of both gears, guides on.",
  after = "stop-found",
  position = "cylinder 1 at its top",
}

tighten {
  id = "cam-gear-bolt",
  say = "Tighten the bolt of the cam gear, its hexagon held.",
  group = "cam-gear",
  after = "chain-on",
  stages = { torque { Nm(80), within = percent(6) } },
}

tighten {
  id = "tensioner-bolts",
  say = "Tensioner on, tighten its bolts.",
  group = "tensioner",
  after = "cam-gear-bolt",
  stages = { torque { Nm(14), within = percent(8) } },
}

confirm {
  id = "tensioner-free",
  say = "Pin of the tensioner pulled; it has come out against the guide.",
  after = "tensioner-bolts",
}

measure {
  id = "centreline",
  say = "Two crank angles at which inlet valve 1 stands 1.00 mm below its full lift.",
  gauge = "degree wheel and dial",
  after = "tensioner-free",
  moves = true,
  readings = {
    reading { id = "angle", say = "crank angle after the top", unit = "deg", decimals = 1,
              at = { "opening", "closing" }, plausible = { deg(60), deg(160) } },
  },
  derive = {
    value { id = "middle", say = "middle of the inlet lobe", formula = "mean", of = "angle",
            unit = "deg", decimals = 1, low = deg(103), high = deg(117),
            when_low = "The chain is a tooth early: set it again.",
            when_high = "The chain is a tooth late: set it again." },
  },
}

local seven = { "15 before", "10 before", "5 before", "top", "5 after", "10 after", "15 after" }
measure {
  id = "valve-room",
  say = "Light springs in cylinder 1: at each angle the valve's lift, and how far it goes to the piston.",
  gauge = workshop.dial .. "; degree wheel",
  after = "centreline",
  moves = true,
  readings = {
    workshop.length("lift", "lift of the inlet valve", 2, mm(0.50), mm(3.50), seven),
    workshop.length("reach", "way to the piston", 2, mm(3.00), mm(7.00), seven),
  },
  derive = {
    value { id = "least", say = "least room between valve and piston", formula = "valve_to_piston",
            of = { "lift", "reach" }, unit = "mm", decimals = 2, low = mm(2.00),
            when_low = "Stop: the timing or the head is not what it should be." },
  },
}

---------------------------------------------------------------------------------------------------
-- Rockers and lash
---------------------------------------------------------------------------------------------------

-- In the order in which the engine fires; each cylinder's valves are shut where it is at the top.
local last = "valve-room"
for _, cylinder in ipairs(curlew4.firing_order) do
  local at_top = "cylinder " .. cylinder .. " at the top of its compression"
  last = tighten {
    id = "rockers-" .. cylinder,
    say = "Rockers of cylinder " .. cylinder .. ", each on its own place, push rods seated.",
    group = "rocker-" .. cylinder,
    after = last,
    position = at_top,
    stages = { torque { Nm(22), within = percent(8) } },
  }
  last = tighten {
    id = "lash-nuts-" .. cylinder,
    say = "Set the lash of cylinder " .. cylinder .. " by feeler, hold the screw, tighten its lock nut.",
    group = "lash-" .. cylinder,
    after = last,
    position = at_top,
    stages = { torque { Nm(15), within = percent(8) } },
  }
  last = measure {
    id = "lash-read-" .. cylinder,
    say = "Lash of cylinder " .. cylinder .. ", cold, read again with the nuts tight.",
    why = "The lock nut moves the screw a little.",
    gauge = workshop.feelers,
    after = last,
    position = at_top,
    readings = {
      workshop.length("inlet", "lash of the inlet valve", 2, mm(0.10), mm(0.30)),
      workshop.length("exhaust", "lash of the exhaust valve", 2, mm(0.15), mm(0.35)),
    },
    derive = {
      value { id = "inlet-lash", say = "inlet lash", formula = "mean", of = "inlet",
              unit = "mm", decimals = 2, low = mm(0.18), high = mm(0.22),
              when_low = "Loosen the nut, a little more lash, tighten.",
              when_high = "Loosen the nut, a little less lash, tighten." },
      value { id = "exhaust-lash", say = "exhaust lash", formula = "mean", of = "exhaust",
              unit = "mm", decimals = 2, low = mm(0.23), high = mm(0.27),
              when_low = "Loosen the nut, a little more lash, tighten.",
              when_high = "Loosen the nut, a little less lash, tighten." },
    },
  }
end

---------------------------------------------------------------------------------------------------
-- Oil pump
---------------------------------------------------------------------------------------------------

workshop.oil_pump { id = "oil-pump", after = "room" }

confirm {
  id = "pump-filled",
  say = "Pump filled with oil, its relief valve moves freely, new seal on its outlet.",
  after = { "oil-pump", last },
}

tighten {
  id = "pump-bolts",
  say = "Pump on, tighten its bolts.",
  group = "pump",
  after = "pump-filled",
  stages = { torque { Nm(10), within = percent(10) }, torque { Nm(20), within = percent(6) } },
}

tighten {
  id = "pick-up-bolts",
  say = "Pick-up pipe on with a new seal, tighten its bolts.",
  group = "pick-up",
  after = "pump-bolts",
  stages = { torque { Nm(8), within = percent(10) } },
}

measure {
  id = "pick-up-height",
  say = "Face of the block to the bottom of the strainer, against the depth of the sump.",
  gauge = "depth gauge",
  after = "pick-up-bolts",
  readings = {
    workshop.length("sump", "depth of the sump, gasket face to floor", 1, mm(128.0), mm(132.0)),
    workshop.length("strainer", "gasket face to the strainer", 1, mm(119.0), mm(123.0)),
  },
  derive = {
    value { id = "room", say = "room below the strainer", formula = "clearance_least",
            of = { "sump", "strainer" }, unit = "mm", decimals = 1, low = mm(6), high = mm(12),
            when_low = "The strainer is starved: shim or bend its stay.",
            when_high = "The strainer draws air: bend its stay." },
  },
}

---------------------------------------------------------------------------------------------------
-- Covers, flywheel, pulley
---------------------------------------------------------------------------------------------------

confirm {
  id = "front-seal",
  say = "New seal in the chain cover, lip to the engine; oil slinger on, dish outward.",
  after = "pick-up-height",
}

confirm {
  id = "cover-bead",
  say = "Bead of the grey sealant on the chain cover, inside of the holes.",
  after = "front-seal",
}

tighten {
  id = "chain-cover-bolts",
  say = "Chain cover on, tighten its bolts.",
  why = "The sealant forms its skin.",
  group = "chain-cover",
  after = "cover-bead",
  since = "cover-bead",
  most = min(15),
  buries = {
    say = "the chain, the tensioner and the gallery plugs",
    steps = { "cam-gear-bolt", "tensioner-bolts", "tensioner-free", "plugs-counted" },
  },
  stages = { torque { Nm(10), within = percent(8) }, torque { Nm(20), within = percent(6) } },
}

tighten {
  id = "water-pump-bolts",
  say = "Water pump on, tighten its bolts.",
  why = "They reach the water: without sealer it creeps along the threads into the oil.",
  group = "water",
  after = "chain-cover-bolts",
  stages = { torque { Nm(18), within = percent(8) } },
}

tighten {
  id = "flywheel-bolts",
  say = "Flywheel on by its dowel, its holder in, tighten the new bolts.",
  group = "flywheel",
  after = "chain-cover-bolts",
  stages = {
    torque { Nm(25), within = percent(8) },
    torque { Nm(58), within = percent(5) },
    torque { Nm(58), within = percent(5), again = true },
  },
}

ask { id = "pulley-bolt", say = "Is the pulley's bolt new or used?", answers = { "new", "used" },
      after = "flywheel-bolts" }

confirm {
  id = "pulley-bolt-length",
  say = "The used bolt is no longer than 61.5 mm and its thread is whole.",
  after = "pulley-bolt",
  when = { step = "pulley-bolt", answer = "used" },
}

-- A new bolt is seated once before it is tightened.
tighten {
  id = "pulley-seat",
  say = "Seat the new bolt of the pulley.",
  group = "pulley",
  after = "pulley-bolt",
  when = { step = "pulley-bolt", answer = "new" },
  stages = {
    torque { Nm(120), within = percent(8) },
    back_off { until_loose = true },
  },
}

tighten {
  id = "pulley-last",
  say = "Tighten the bolt of the pulley.",
  group = "pulley",
  after = { "pulley-bolt-length", "pulley-seat" },
  stages = { torque { Nm(90), within = percent(6) } },
}

confirm {
  id = "holder-out",
  say = "Holder of the flywheel out and back on its hook.",
  why = "The engine would be started against it.",
  after = "pulley-last",
}

---------------------------------------------------------------------------------------------------
-- Sump
---------------------------------------------------------------------------------------------------

confirm {
  id = "sump-bolts-laid-out",
  say = "Sump clean, its twelve bolts and the wrench within reach; pump and pick-up looked at by lamp.",
  after = "holder-out",
}

confirm {
  id = "bead-on",
  say = "Bead of sealant on the sump, inside of the holes, 3 mm and no more.",
  why = "What is squeezed inward ends in the strainer.",
  after = "sump-bolts-laid-out",
}

tighten {
  id = "sump-bolts",
  say = "Sump on, tighten its bolts.",
  why = "The sealant forms its skin.",
  group = "sump",
  after = "bead-on",
  since = "bead-on",
  most = min(20),
  buries = {
    say = "main and rod bolts, the oil pump and its pick-up",
    steps = { "main-last", "cross-last", "rod-bolts", "pump-bolts", "pick-up-bolts", "pick-up-height" },
  },
  stages = { torque { Nm(12), within = percent(8) } },
}

wait {
  id = "sealant-cured",
  say = "The sealant has cured; only then oil goes in.",
  after = "sump-bolts",
  since = "bead-on",
  least = h(2),
}

---------------------------------------------------------------------------------------------------
-- Prime
---------------------------------------------------------------------------------------------------

confirm {
  id = "oil-in",
  say = "Drain plug tight, oil in to the upper mark, new filter filled and on.",
  after = { "sealant-cured", "water-pump-bolts" },
}

caution {
  id = "hands-off",
  say = "Spark leads off; nobody's hand near belt or pulley while the pump is driven.",
  after = "oil-in",
}

measure {
  id = "primed",
  say = "Pump driven by hand drill until oil stands at every rocker; the pressure then.",
  gauge = "oil pressure gauge",
  after = "hands-off",
  readings = {
    reading { id = "pressure", say = "oil pressure", unit = "bar", decimals = 1,
              plausible = { bar(0.5), bar(6.0) } },
  },
  derive = {
    value { id = "priming", say = "priming pressure", formula = "smallest", of = "pressure",
            unit = "bar", decimals = 1, low = bar(1.5),
            when_low = "Look for the leak before the crank is turned." },
  },
}

confirm {
  id = "rockers-wet",
  say = "All eight rockers are wet; the crank turned a quarter and looked at again.",
  after = "primed",
  moves = true,
}

---------------------------------------------------------------------------------------------------
-- Close
---------------------------------------------------------------------------------------------------

tighten {
  id = "rocker-cover-bolts",
  say = "Rocker cover on with a new gasket, tighten its bolts.",
  group = "rocker-cover",
  after = "rockers-wet",
  buries = {
    say = "rockers and lash",
    steps = all(each("lash-read-", cylinders), each("rockers-", cylinders)),
  },
  stages = { torque { Nm(8), within = percent(10) } },
  due = "after the first heat cycle, cold: lash once more; the head bolts are not tightened again",
}

tighten {
  id = "flywheel-seen",
  say = "Flywheel bolts: pull slowly until each one just moves.",
  why = "They hold what turns fastest.",
  group = "flywheel",
  after = "rocker-cover-bolts",
  stages = { check { low = Nm(48), high = Nm(80), most_turn = deg(5) } },
}

confirm {
  id = "bench-empty",
  say = "No bolt, washer, clip or cloth is left on the bench; nothing rattles when the engine is turned.",
  after = "flywheel-seen",
}

confirm {
  id = "sealed",
  say = "All openings capped, paint marks on every bolt that was tightened, oil level right, tag on.",
  after = "bench-empty",
}

note {
  id = "released-by",
  say = "Write down who has looked it over and releases it.",
  after = "sealed",
}
