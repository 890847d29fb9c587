-- Planted mistakes of stages.  Each line that holds one says so; what `check` must say of them
-- stands in stage-mistakes.txt beside this file, LINE: TEXT, in order.

sequence {                                               -- 1: no such rule
  title = "Mistakes of stages", engine = "Plover 2", document = "invented", invented = true,
  rule = "strict",
}

group { name = "nut", say = "nuts", lubricant = "engine oil", places = labels { "1", "2" } }

local last
local function step(id, stages)
  last = tighten { id = id, say = "Tighten.", group = "nut", stages = stages, after = last }
end

step("again", {
  torque { Nm(50), within = percent(5) },
  torque { Nm(60), within = percent(5), again = true },  -- 2: nothing stands there yet
})

step("lock-nut", {
  torque { Nm(20), within = percent(5), above_prevailing = true }, -- 3: of what?
  prevailing { low = Nm(1), high = Nm(8), least_turn = deg(360) }, -- 4: too late
})

step("loose", {
  back_off { deg(90), within = deg(15) },                -- (tightened by the step before: right)
  back_off { until_loose = true },
  check { low = Nm(50), high = Nm(70), most_turn = deg(5) }, -- 5: nothing to check
  torque { Nm(60), within = percent(5) },
  check { low = Nm(40), high = Nm(55), most_turn = deg(5) }, -- 6: below what it was tightened to
  torque { Nm(40), within = percent(5) },                -- 7: down without backing off
  angle { deg(90), within = deg(5), from = Nm(30) },     -- 8: 40 stand already
  stretch { mm(0.15), within = mm(0.02) },               -- 9: its free length is gone
})

step("figures", {
  yield { share = percent(95), snug = Nm(40), low = Nm(70), high = Nm(110), most_turn = deg(90) }, -- 10
})

step("slots", { slot { low = Nm(60), high = Nm(90), slots = 60 } }) -- 11: no such nut

step("sleeve", { creep { low = Nm(2), high = Nm(2.6), least_turn = deg(360) } }) -- 12: two places

step("word", { back_off { deg(90), until_loose = true } }) -- 13: one or the other

step("ends", { rotating { low = Nm(6), high = Nm(2), least_turn = deg(360) } }) -- 14
