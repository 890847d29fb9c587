"""stories.py - what goes wrong at a bench, told in a sentence and recorded."""

import sys
import time

from bench import Bench, Gone, Joint, STIFFNESS_NM_PER_DEG, check, main, pull


def last(bench, kind):
    return [entry for entry in bench.entries() if entry["kind"] == kind][-1]


def first_pull(bench, run):
    return bench.until(run, lambda p: p["state"] == "pull")


def test_low_pull_then_on():
    with Bench() as bench:
        run = bench.run()
        prompt = first_pull(bench, run)
        pull(bench.wrench, bench.joint(prompt), until_Nm=prompt["low_Nm"] * 0.8)
        again = run.prompt()
        check(again["state"] == "pull" and again["fastener"] == prompt["fastener"], "%s" % again)
        check("too low" in run.said[-1] and "pull again" in run.said[-1], run.said[-1])
        bench.do(run, again)
        check(run.prompt()["fastener"] != prompt["fastener"], "it does not go on")
        run.kill()
        verdicts = [e for e in bench.entries() if e["kind"] == "verdict"]
        check(verdicts[0]["verdict"] == "low" and verdicts[0]["reasons"] == ["below_limit"],
              "%s" % verdicts[0])
        check(verdicts[1]["verdict"] == "pass" and verdicts[1]["pulls"] == 2, "%s" % verdicts[1])
        check(bench.audit()["findings"] == [], "audit")


def go_over(bench, run, prompt):
    pull(bench.wrench, bench.joint(prompt), until_Nm=prompt["high_Nm"] * 1.1)
    decide = run.prompt()
    check(decide["state"] == "verdict", "a high pull led to %s" % decide["state"])
    check("too high" in run.said[-1], run.said[-1])
    return decide


def test_over_is_warned_at_the_sample():
    with Bench() as bench:
        run = bench.run()
        prompt = first_pull(bench, run)
        go_over(bench, run, prompt)
        words = [thing["word"] for thing in run.live]
        check(words[-1] == "over" and "stop" in words, "%s" % words)
        over = [thing for thing in run.live if thing["word"] == "over"][0]
        step_Nm = prompt["high_Nm"] * 1.1 / 60
        check(prompt["high_Nm"] < over["torque_Nm"] <= prompt["high_Nm"] + step_Nm + 0.02,
              "warned at %s" % over)
        run.kill()


def test_high_pull_loosen_and_redo():
    with Bench() as bench:
        run = bench.run()
        prompt = first_pull(bench, run)
        decide = go_over(bench, run, prompt)
        check("loosen" in decide["options"] and "override" in decide["options"], "%s" % decide)
        bench.joint(prompt).loosen()
        run.answer("loosen")
        again = run.prompt()
        check((again["fastener"], again["stage"], again["attempt"]) == (prompt["fastener"], 1, 2),
              "%s" % again)
        bench.do(run, again)
        check(run.prompt()["fastener"] != prompt["fastener"], "it does not go on")
        run.kill()
        check(last(bench, "decision")["decision"] == "loosen", "not recorded")
        check(bench.audit()["findings"] == [], "audit")


def test_high_pull_overridden():
    with Bench() as bench:
        run = bench.run()
        prompt = first_pull(bench, run)
        go_over(bench, run, prompt)
        run.answer("override")
        check(run.prompt()["state"] == "second_person", "no second person is asked for")
        run.answer(bench.person)
        check(run.prompt()["state"] == "second_person", "one person stood for both")
        run.answer("B. Roth")
        check(run.prompt()["state"] == "reason", "no reason is asked for")
        run.answer("stretch measured, within the maker's limit")
        check(run.prompt()["fastener"] != prompt["fastener"], "it does not go on")
        run.kill()
        decision = last(bench, "decision")
        check(decision["second_person"] == "B. Roth" and decision["by"] == bench.person,
              "%s" % decision)
        check("stretch" in decision["reason"], "%s" % decision)
        check(bench.audit()["findings"] == [], "audit")


def test_one_bolt_twice():
    """The builder pulls the bolt before once more instead of the one that is asked for."""
    with Bench() as bench:
        run = bench.run()
        one = first_pull(bench, run)
        bench.do(run, one)
        two = run.prompt()
        pull(bench.wrench, bench.joint(one), until_Nm=(two["low_Nm"] + two["high_Nm"]) / 2)
        decide = run.prompt()
        check(decide["state"] == "verdict" and "repeat" in decide["options"], "%s" % decide)
        check("tight already" in run.said[-1] and "wrong fastener" in run.said[-1], run.said[-1])
        run.answer("repeat")
        again = run.prompt()
        check((again["fastener"], again["attempt"]) == (two["fastener"], 1), "%s" % again)
        bench.do(run, again)
        check(run.prompt()["fastener"] not in (one["fastener"], two["fastener"]), "not gone on")
        run.kill()
        verdicts = [e for e in bench.entries() if e["kind"] == "verdict"]
        check(verdicts[1]["reasons"] == ["no_turn"], "%s" % verdicts[1])
        check(bench.audit()["findings"] == [], "audit")


def test_out_of_order():
    """The builder notices that he pulled another, fresh bolt than the one that was asked for."""
    with Bench() as bench:
        run = bench.run()
        asked = first_pull(bench, run)
        other = dict(asked, fastener=asked["fastener"] + 1)
        bench.do(run, other)
        run.prompt()
        run.answer("wrong %d" % other["fastener"])
        again = run.prompt()
        check(again["fastener"] == asked["fastener"], "%s" % again)
        check("out of order" in run.said[-1], run.said[-1])
        bench.do(run, again)
        seen = set()
        while True:
            prompt = run.prompt()
            if prompt["state"] != "pull" or prompt["stage"] != 1:
                break
            seen.add(prompt["fastener"])
            bench.do(run, prompt)
        check(other["fastener"] not in seen, "the one pulled out of order is asked for again")
        run.kill()
        check(last(bench, "correction")["label"], "not recorded")
        check(bench.audit()["findings"] == [], "audit")


def test_pull_that_nobody_asked_for():
    with Bench() as bench:
        run = bench.run()
        asked = run.prompt()
        check(asked["state"] in ("confirm", "note"), "%s" % asked)
        pull(bench.wrench, Joint(), until_Nm=30.0)
        again = run.prompt()
        check(again["state"] == asked["state"] and again["step"] == asked["step"], "%s" % again)
        check("none was asked for" in run.said[-1], run.said[-1])
        run.kill()
        entry = last(bench, "pull")
        check(entry["asked"] is False and "step" not in entry, "%s" % entry)
        check(bench.audit()["findings"] == [], "audit")


def test_unplugged_in_mid_pull():
    with Bench() as bench:
        run = bench.run()
        prompt = first_pull(bench, run)
        # Half a pull, still loaded, then the plug comes out.
        pull(bench.wrench, bench.joint(prompt), until_Nm=prompt["low_Nm"] * 1.05, release=False,
             stop_at=0.8)
        time.sleep(0.3)  # what is still in the terminal is dropped with it
        bench.wrench.unplug()
        waits = bench.until(run, lambda p: p["state"] == "no_tool")
        check(any("wrench" in said for said in run.said), "%s" % run.said)
        verdict = last(bench, "verdict")
        check(verdict["verdict"] != "pass" and "gap" in verdict["reasons"], "%s" % verdict)
        partial = last(bench, "pull")
        check(partial["complete"] is False and partial["samples"] > 20, "%s" % partial)
        bench.wrench.plug()
        again = run.prompt()
        check(again["state"] == "pull" and again["fastener"] == prompt["fastener"], "%s" % again)
        check(waits["fastener"] == prompt["fastener"], "%s" % waits)
        bench.do(run, again)
        check(run.prompt()["fastener"] != prompt["fastener"], "it does not go on")
        run.kill()
        kinds = [e["kind"] for e in bench.entries()]
        check("tool_lost" in kinds and "tool_back" in kinds, "not recorded")
        check(bench.audit()["findings"] == [], "audit")


def test_pause_typed_under_load():
    """What the pull had reached when the pause was typed is kept: an over-torque can't be wiped."""
    with Bench() as bench:
        run = bench.run()
        prompt = first_pull(bench, run)
        pull(bench.wrench, bench.joint(prompt), until_Nm=prompt["high_Nm"] * 1.1, release=False)
        while not run.live or run.live[-1]["word"] != "over":
            thing = run.object()
            check(thing is not None, "no warning came")
            run.live += [thing] if thing["kind"] == "live" else []
        run.answer("pause")
        check(run.finish() == 0 and run.end["outcome"] == "paused", "%s" % run.end)
        check(last(bench, "verdict")["reasons"][0] == "above_limit", "%s" % last(bench, "verdict"))
        again = bench.run()
        check(again.prompt()["state"] == "verdict", "nothing is to be decided")
        again.kill()
        check(bench.audit()["findings"] == [], "audit")


def test_angle_turned_too_far():
    with Bench() as bench:
        run = bench.run()
        prompt = bench.until(run, lambda p: p["state"] == "pull" and "high_deg" in p)
        pull(bench.wrench, bench.joint(prompt), by_deg=prompt["high_deg"] + 6)
        decide = run.prompt()
        check(decide["state"] == "verdict", "%s" % decide)
        check("turned too far" in run.said[-1], run.said[-1])
        bench.joint(prompt).loosen()
        run.answer("replace")
        again = run.prompt()
        check((again["fastener"], again["stage"], again["attempt"]) == (prompt["fastener"], 1, 2),
              "%s" % again)
        run.kill()
        check(last(bench, "verdict")["reasons"] == ["angle_over"], "not recorded")
        check(bench.audit()["findings"] == [], "audit")


def test_angle_in_three_reaches():
    with Bench() as bench:
        run = bench.run()
        prompt = bench.until(run, lambda p: p["state"] == "pull" and "high_deg" in p)
        whole = (prompt["low_deg"] + prompt["high_deg"]) / 2
        for share in (0.4, 0.35):
            pull(bench.wrench, bench.joint(prompt), by_deg=whole * share)
            again = run.prompt()
            check(again["fastener"] == prompt["fastener"], "%s" % again)
            check("to go" in run.said[-1], run.said[-1])
        pull(bench.wrench, bench.joint(prompt), by_deg=whole - again["turned_deg"])
        check(run.prompt()["fastener"] != prompt["fastener"], "%s" % run.said[-1])
        run.kill()
        verdict = last(bench, "verdict")
        check(verdict["verdict"] == "pass" and verdict["pulls"] == 3, "%s" % verdict)
        check(abs(verdict["final_angle_deg"] - whole) < 1.0,
              "turn %s of %s" % (verdict["final_angle_deg"], whole))
        check(abs(bench.joint(prompt).stands_Nm - verdict["peak_torque_Nm"]) <
              0.1 * STIFFNESS_NM_PER_DEG * whole, "%s" % verdict)


def test_slip_of_the_finger_in_a_reading():
    with Bench() as bench:
        run = bench.run()
        prompt = bench.until(run, lambda p: p["state"] == "reading")
        run.answer("%.3f" % (prompt["least"] / 10))
        again = run.prompt()
        check(again["at"] == prompt["at"], "%s" % again)
        check("plausible" in run.said[-1], run.said[-1])
        run.answer("1O.5")
        run.prompt()
        comma = ("%.3f" % ((prompt["least"] + prompt["most"]) / 2)).replace(".", ",")
        run.answer(comma)
        after = run.prompt()
        check((after["set"], after["at"]) != (prompt["set"], prompt["at"]), "%s" % after)
        run.answer("back")
        check(run.prompt()["at"] == prompt["at"], "back does not go back")
        run.kill()
        notes = [e["text"] for e in bench.entries() if e["kind"] == "note"]
        reading = [e for e in bench.entries() if e["kind"] == "reading"][0]
        check(reading["typed"] == comma and prompt["least"] < reading["value"] < prompt["most"],
              "a decimal comma was not understood: %s" % reading)
        check(any("plausible" in note for note in notes), "the refused reading is not kept")
        check(bench.audit()["findings"] == [], "audit")


def test_put_off_does_not_open_what_comes_after():
    with Bench() as bench:
        run = bench.run()
        prompt = bench.until(run, lambda p: p["step"] == "oil-jets")
        run.answer("later a jet is missing")
        seen = []
        while True:
            prompt = run.prompt()
            if prompt["step"] == "oil-jets":
                break
            seen.append(prompt["step"])
            bench.do(run, prompt)
        check("crank-in" not in seen, "the crank was laid in over missing jets: %s" % seen)
        run.kill()


def test_garbage_from_the_wrench():
    with Bench() as bench:
        run = bench.run()
        prompt = first_pull(bench, run)
        bench.wrench.send("\x00\xff\xfe###\r\nE07 SENSOR\r\n+99999999999.9 N.m\r\n1e99 N.m\r\n")
        bench.do(run, prompt)
        after = run.prompt()
        check(after["fastener"] != prompt["fastener"], "%s" % run.said[-3:])
        run.kill()
        check(last(bench, "verdict")["peak_torque_Nm"] < prompt["high_Nm"], "garbage was believed")


def test_changed_sequence_is_told():
    import shutil
    import os
    with Bench() as bench:
        folder = os.path.join(bench.folder, "sequences")
        shutil.copytree(os.path.dirname(os.path.dirname(bench.sequence)), folder)
        bench.sequence = os.path.join(folder, "curlew4", "short-block.lua")
        run = bench.run()
        bench.do(run, run.prompt())
        run.prompt()
        run.kill()
        with open(bench.sequence, "a", encoding="utf-8") as text:
            text.write("\n-- another edition\n")
        run = bench.run()
        run.prompt()
        run.process.stdin.close()
        run.finish()
        check("differs from what build" in run.errors, run.errors)


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
