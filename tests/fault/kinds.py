"""kinds.py - kinds of stage that are measured or looked at, and what is known of the wrench: by a
wrench, joints, a gauge and an eye that are not the program's own."""

import os
import sys

from bench import Bench, Gone, check, main, pull
from kill import Watcher, key_of

SEQUENCE = '''sequence { title = "Odd jobs", engine = "Plover 2", edition = "1",
  document = "invented", revision = "A", invented = true%s }
group { name = "nut", say = "locking nuts", thread = "M10", lubricant = "engine oil",
  places = labels { "left", "right" }, order = "listed" }
group { name = "rod", say = "rod bolts", thread = "M8", lubricant = "engine oil",
  places = labels { "inner", "outer" }, order = "listed" }
group { name = "axle", say = "castle nut", thread = "M16", lubricant = "engine oil",
  places = labels { "axle" }, order = "listed" }
tighten { id = "nuts", say = "Run down, then tighten.", group = "nut", stages = {
  prevailing { low = Nm(1), high = Nm(7), least_turn = deg(360) },
  torque { Nm(30), within = percent(8), above_prevailing = true } } }
tighten { id = "rods", say = "Stretch.", group = "rod", stages = {
  stretch { mm(0.160), within = mm(0.020), about = Nm(40), ceiling = Nm(90) } } }
tighten { id = "castle", say = "To the slot.", group = "axle", stages = {
  slot { low = Nm(60), high = Nm(110), slots = 8 } } }
'''


def with_sequence(bench, rule=""):
    bench.sequence = os.path.join(bench.folder, "odd-jobs.lua")
    with open(bench.sequence, "w", encoding="utf-8") as out:
        out.write(SEQUENCE % rule)
    return bench


def through(bench, run):
    try:
        while True:
            bench.do(run, run.prompt())
    except Gone:
        pass
    return run.finish()


def of_kind(bench, kind, **members):
    return [e for e in bench.entries() if e["kind"] == kind and
            all(e.get(name) == value for name, value in members.items())]


def test_whole_build():
    with Bench() as bench:
        run = with_sequence(bench).run()
        check(through(bench, run) == 0, run.errors)
        check(run.end["outcome"] == "complete" and run.end["accepted"] == 7, "%s" % run.end)
        nuts = of_kind(bench, "verdict", step="nuts", stage=2)
        check(all(abs(v["low_Nm"] - 27.6 - 4.0) < 0.1 for v in nuts), "%s" % nuts)
        check(all(v["low_Nm"] <= v["judged_torque_Nm"] <= v["high_Nm"] for v in nuts), "%s" % nuts)
        rods = of_kind(bench, "verdict", step="rods")
        check([v["verdict"] for v in rods] == ["low", "pass"] * 2, "%s" % rods)
        check(rods[0]["reasons"] == ["stretch_short"] and rods[0]["low_mm"] == 0.14, "%s" % rods[0])
        lengths = of_kind(bench, "fastener_length")
        check([e["at"] for e in lengths] == ["free", "tightened", "tightened"] * 2, "%s" % lengths)
        castle = of_kind(bench, "verdict", step="castle")
        check([v["slot_meets"] for v in castle] == [False, True], "%s" % castle)
        check(bench.audit()["findings"] == [], "audit")
        _, sheet, _ = bench.program("sheet", bench.build)
        sheet = " ".join(sheet.split())  # a line is broken where it is longer than the page
        for part in ("length free: 65.000 mm", "grown by 0.1", "a slot meets the hole",
                     "on top of the prevailing torque"):
            check(part in sheet, "the sheet does not tell %r" % part)


def test_killed_at_each_prompt():
    with Bench() as bench:
        with_sequence(bench)
        watcher = Watcher()
        asked = None
        states = set()
        kills = 0
        while True:
            run = bench.run()
            try:
                prompt = run.settled(0.05)
                check(asked is None or key_of(prompt) == key_of(asked),
                      "after the kill %s is asked, not %s" % (prompt, asked))
                watcher.see(prompt)
                states.add((prompt["state"], prompt.get("at")))
                bench.do(run, prompt)
                asked = run.prompt()
                run.kill()
                kills += 1
            except Gone:
                break
        run.kill()
        check({("length", "free"), ("length", "tightened"), ("slot", None)} <= states,
              "not killed at %s" % states)
        check(kills > 16, "only %d kills" % kills)
        check(bench.audit()["findings"] == [], "audit")


def test_slip_in_a_length():
    with Bench() as bench:
        run = with_sequence(bench).run()
        tightened = bench.until(run, lambda p: p["state"] == "length" and p["at"] == "tightened" and
                                p["pulls"] == 1)
        for slip, told in (("6.516", "plausible"), ("66.160", "plausible"), ("65", "finely")):
            run.answer(slip)
            again = run.prompt()
            check(key_of(again) == key_of(tightened) and told in run.said[-1], run.said[-1])
        run.answer("65.250")
        check(run.prompt()["state"] == "verdict", "grown by a quarter of a millimetre")
        run.answer("back I misread the drum")
        check(run.prompt()["state"] == "length", "not asked again")
        run.answer("65,160")
        check(run.prompt()["state"] != "verdict", run.said[-1])
        run.kill()
        check(of_kind(bench, "correction")[0]["reason"] == "I misread the drum", "not recorded")
        check(bench.audit()["findings"] == [], "audit")
        _, sheet, _ = bench.program("sheet", bench.build)
        check("TAKEN BACK" in sheet, "the sheet does not tell")


def test_second_click():
    """The wrench is pulled again as soon as it has clicked; nobody gets to the next bolt so fast."""
    with Bench() as bench:
        run = with_sequence(bench).run()
        one = bench.until(run, lambda p: p["stage_kind"] == "torque")
        bench.do(run, one)
        two = run.prompt()
        check(two["fastener"] != one["fastener"], run.said[-1])
        for torque_Nm in [0, 8, 16, 24, 32, 34, 24, 12] + [0] * 40:
            bench.wrench.sample(torque_Nm, 0)
        again = run.prompt()
        check(key_of(again) == key_of(two) and "within a second" in run.said[-1], run.said[-1])
        bench.do(run, again)
        check(key_of(run.prompt()) != key_of(two), run.said[-1])
        run.kill()
        aside = of_kind(bench, "pull", asked=False)
        check(len(aside) == 1 and "within a second" in aside[0]["question"], "%s" % aside)
        check(bench.audit()["findings"] == [], "audit")


def test_guarded_rule():
    with Bench() as bench:
        with_sequence(bench, ', rule = "guarded"')
        path = bench.wrench.path
        run = bench.run()
        first = bench.until(run, lambda p: p["state"] == "pull")
        check("not known" in run.said[0] and "uncertainty" in run.said[0], "%s" % run.said)
        bench.do(run, first)
        check(run.prompt()["state"] == "verdict", "accepted by a rule that needs what is not known")
        run.kill()
        bench.wrench.path = path + ",range=1..200,uncertainty=3,angle_uncertainty=1"
        run = bench.run()
        check(run.prompt()["state"] == "verdict", "%s" % run.said)
        check(not any("not known" in said for said in run.said), "%s" % run.said)
        run.answer("repeat")
        asked = bench.until(run, lambda p: p["state"] == "pull" and p["stage_kind"] == "torque")
        pull(bench.wrench, bench.joint(asked), until_Nm=asked["low_Nm"] * 1.01)
        nearer = run.prompt()
        check(key_of(nearer) == key_of(asked) and "nearer to one" in run.said[-1], run.said[-1])
        bench.do(run, nearer)
        check(key_of(run.prompt()) != key_of(asked), run.said[-1])
        run.kill()
        bench.wrench.path = path
        verdict = of_kind(bench, "verdict", step="nuts", stage=2)[0]
        check(verdict["rule"] == "guarded" and verdict["reasons"] == ["inside_guard"] and
              abs(verdict["uncertainty_Nm"] / verdict["judged_torque_Nm"] - 0.03) < 1e-9 and
              verdict["uncertainty_deg"] == 1, "%s" % verdict)
        tool = of_kind(bench, "tool_on")[-1]
        check(tool["range_high_Nm"] == 200 and tool["uncertainty_share"] == 0.03, "%s" % tool)
        check(bench.audit()["findings"] == [], "audit")


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
