-- What is built, in a line or two.
--
--   boltwright check THIS-FILE          every mistake in one go, or the plan to read aloud
--   boltwright rehearse THIS-FILE       gone through with a simulated builder and wrench
--   boltwright run THIS-FILE --build ID --wrench PORT --by NAME
--
-- Replace every figure by the one of the maker's manual, and take `invented` out when you have.

sequence {
  title = "Cover of a gearbox",
  engine = "Gearbox",
  edition = "1",
  document = "the manual, chapter and page",
  revision = "its revision",
  invented = true, -- until each figure below is the manual's
  torque_unit = "N.m", -- what the manual uses; the other unit is shown beside it
}

-- A group is what is tightened together.  `lubricant` is part of the torque: name what is on the
-- thread and under the head, or "dry".
group {
  name = "cover",
  say = "cover bolts",
  thread = "M8x1.25",
  class = "8.8",
  lubricant = "engine oil on the thread and under the head",
  places = grid { rows = 2, columns = 3, dx = mm(70), dy = mm(90) },
  order = "spiral", -- from the middle outward; "listed" is the order in which you list the places
}

-- Something to be read before any work.
caution {
  id = "locked",
  say = "The machine is locked and can't be started.",
}

-- Something to be done.  `why` is the reason the builder can ask for; `after` what must be done
-- before; `buries` what can't be reached any more afterwards.
confirm {
  id = "cover-on",
  say = "Faces clean and dry, gasket on, cover on, bolts run down by hand.",
  why = "What lies between the faces is a leak later.",
  after = "locked",
  buries = "the gears",
}

-- Readings, and what follows from them.  `plausible` catches a slip while it is typed.
measure {
  id = "gap",
  say = "Gap between the faces before the bolts are tightened.",
  gauge = "feeler gauges",
  after = "cover-on",
  readings = {
    reading {
      id = "gap", say = "gap", unit = "mm", decimals = 2,
      at = { "left", "right" }, plausible = { mm(0.20), mm(1.20) },
    },
  },
  derive = {
    value {
      id = "even", say = "left and right differ by", formula = "range", of = "gap",
      unit = "mm", decimals = 2, high = mm(0.10),
      when_high = "Take the cover off and look for what lies between.",
    },
  },
}

-- Each stage goes round the whole group before the next begins.
tighten {
  id = "cover-bolts",
  say = "Tighten the cover.",
  group = "cover",
  after = "gap",
  stages = {
    torque { Nm(10), within = percent(8) },
    torque { Nm(20), low = Nm(19), high = Nm(21) },
  },
}

confirm {
  id = "done",
  say = "No bolt or washer is left on the bench; paint marks on every bolt.",
  after = "cover-bolts",
}
