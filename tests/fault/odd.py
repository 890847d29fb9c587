"""odd.py - a builder who changes his mind, a power cut, a wrench that is not the one of before, a
clock that is set: what stands on screen and sheet, and that all of it is judged again alike."""

import os
import sys
import time

from bench import Bench, check, main, pull

TEXT = """
sequence { title = "Lid", engine = "Plover 2", document = "Harbour pilot service, manual 7",
           invented = true }
group { name = "lid", say = "lid bolts", lubricant = "engine oil", cycles = 4,
        places = labels { "a", "b", "c", "d" } }
confirm { id = "clean", say = "Threads clean?" }
measure { id = "gap", say = "Gap.", after = "clean", readings = {
    reading { id = "r", say = "gap", unit = "mm", decimals = 2, at = { "left", "right" },
              plausible = { mm(0.1), mm(1) } } },
  derive = { value { id = "mean", say = "mean gap", formula = "mean", of = "r", unit = "mm",
                     decimals = 2, high = mm(0.5) } } }
tighten { id = "trial", say = "Lid on trial.", group = "lid", trial = true, after = "gap",
          stages = { torque { Nm(15), within = percent(8) } } }
tighten { id = "final", say = "Lid on.", group = "lid", after = "trial", due = "after the first heat",
          stages = { torque { Nm(10), within = percent(8) }, torque { Nm(20), within = percent(6) },
                     torque { Nm(25), within = percent(5) } } }
confirm { id = "oil", say = "Oil in?", after = "final" }
"""


class Lid(Bench):
    def __enter__(self):
        super().__enter__()
        self.sequence = os.path.join(self.folder, "lid.lua")
        with open(self.sequence, "w", encoding="utf-8") as file:
            file.write(TEXT)
        return self

    def lines(self, run, *lines):
        """Each is answered; the prompt behind the last."""
        for line in lines:
            run.answer(line)
            prompt = run.prompt()
        return prompt

    def at_trial(self):
        run = self.run()
        run.prompt()
        return run, self.lines(run, "yes", "0.40", "0.41")

    def step(self, run, prompt, step):
        """Does what is asked while this step is."""
        while prompt.get("step") == step:
            self.do(run, prompt)
            prompt = run.prompt()
        return prompt

    def apart(self):
        for joint in self.joints.values():
            joint.loosen()

    def sheet(self):
        code, out, err = self.program("sheet", self.build)
        check(code == 0, err)
        return " ".join(out.split())

    def closed(self, run, prompt):
        prompt = self.step(run, prompt, "oil")
        check(prompt["state"] == "close", "%s" % prompt)
        run.answer("close")
        check(run.finish() == 0 and run.end["outcome"] == "complete", "%s" % run.end)
        check(self.audit()["findings"] == [], "audit")


FITTED = """
sequence { title = "Lid", engine = "Plover 2", document = "Harbour pilot service, manual 7" }
fit { id = "plate", say = "Plate on.", part = "plate", to = { "left", "right" } }
ask { id = "paint", say = "Paint?", answers = { "red", "blue" }, after = "plate" }
note { id = "number", say = "Number", after = "paint" }
"""


def test_what_stands_is_told_from_what_fell():
    with Lid() as bench:
        with open(bench.sequence, "w", encoding="utf-8") as file:
            file.write(FITTED)
        run = bench.run()
        run.prompt()
        prompt = bench.lines(run, "L1", "R1", "back", "R2", "red", "redo paint the wrong one")
        check(prompt["state"] == "close" and "Written down as it stands" in run.said[-1], run.said)
        prompt = bench.lines(run, "back")
        check(prompt["state"] == "note", "%s" % prompt)
        bench.lines(run, "CUR 7", "redo paint the wrong one", "redo paint the wrong one", "blue",
                    "CUR 7")
        run.answer("close")
        check(run.finish() == 0, run.errors)
        sheet = bench.sheet()
        for part in ("R1 taken back: to be read again", "Paint? red taken back: the wrong one",
                     "Number: redo paint the wrong one taken back: confirmed by mistake",
                     "Number: CUR 7 taken back: the wrong one"):
            check(part in sheet, "%s is not in %s" % (part, sheet))
        check("Plate on. R1 R2 to be read again" in sheet, sheet)
        check(sheet.count("taken back") == 4, sheet)
        check(bench.audit()["findings"] == [], "audit")


def test_back_right_after_a_kill():
    with Lid() as bench:
        run, prompt = bench.at_trial()
        check(prompt["step"] == "trial", "%s" % prompt)
        run.kill()
        run = bench.run()
        run.prompt()
        prompt = bench.lines(run, "back")
        check((prompt["step"], prompt["at"]) == ("gap", "right"), "%s" % prompt)
        check("0.41 mm, stays in the record" in run.said[-1], run.said[-1])
        prompt = bench.lines(run, "back", "back")
        check(prompt["at"] == "left" and "redo STEP WHY" in run.said[-1], "%s" % run.said)
        check(bench.lines(run, "0.42", "0.43")["step"] == "trial", "not measured anew")
        run.kill()
        sheet = bench.sheet()
        check(sheet.count("taken back: to be read again") == 3, sheet) # the value falls, too
        check(bench.audit()["rejudged"] == 2, "values")


def test_trial_cut_off_then_done_anew():
    with Lid() as bench:
        run, prompt = bench.at_trial()
        bench.do(run, prompt)
        prompt = run.prompt()
        pull(bench.wrench, bench.joint(prompt), until_Nm=14, release=False)
        time.sleep(0.3)
        run.kill()
        run = bench.run()
        prompt = run.prompt()
        check(prompt["label"] == "b" and "may carry some torque already" in run.said[-1],
              "%s %s" % (prompt, run.said))
        prompt = bench.step(run, prompt, "trial")
        check(prompt["step"] == "final", "%s" % prompt)
        prompt = bench.lines(run, "redo gap feeler gauge was bent")
        check("3 (trial)" in run.said[-1] and "once more" in run.said[-1], run.said[-1])
        check(prompt["step"] == "final", "done unasked")
        prompt = bench.lines(run, "redo gap feeler gauge was bent", "0.30", "0.31")
        check((prompt["step"], prompt["attempt"]) == ("trial", 2), "%s" % prompt)
        bench.apart()
        prompt = bench.step(run, prompt, "trial")
        bench.apart()
        prompt = bench.step(run, prompt, "final")
        bench.closed(run, prompt)
        cycles = [e["cycle"] for e in bench.entries() if e["kind"] == "verdict" and
                  e["label"] == "a" and e["stage"] == 1]
        check(cycles == [1, 2, 3], cycles)
        sheet = bench.sheet()
        check(sheet.count("TAKEN BACK: done anew, feeler gauge was bent") == 4, sheet)
        check("attempt 2" in sheet and "step: Gap." in sheet, sheet)


def test_another_wrench_and_another_person_in_mid_group():
    with Lid() as bench:
        run, prompt = bench.at_trial()
        bench.do(run, prompt)
        bench.do(run, run.prompt())
        run.prompt()
        bench.wrench.unplug()
        bench.until(run, lambda p: p["state"] == "no_tool")
        bench.lines(run, "later")
        check("Nothing else can be done" in run.said[-1], run.said[-1])
        run.answer("pause")
        check(run.finish() == 0, run.errors)
        bench.wrench.plug()
        link = bench.wrench.path
        bench.wrench.path, bench.person = link + ",tool=red one", "B. Roth"
        run = bench.run()
        bench.wrench.path = link
        prompt = run.prompt()
        check(prompt["label"] == "c", "%s" % prompt)
        pull(bench.wrench, bench.joint(prompt), until_Nm=20)
        check(run.prompt()["state"] == "verdict", "not to be decided")
        bench.lines(run, "override", "b.roth")
        check("That is you" in run.said[-1], run.said[-1])
        prompt = bench.lines(run, "A. Lund", "measured with the dial, within the maker's range")
        check(prompt["label"] == "d", "%s" % prompt)
        prompt = bench.step(run, prompt, "trial")
        run.kill()
        who = [(e["label"], e["tool"], e["by"]) for e in bench.entries() if e["kind"] == "verdict"]
        check([w[2] for w in who] == ["A. Lund", "A. Lund", "B. Roth", "B. Roth"], who)
        check([w[1] == "red one" for w in who] == [False, False, True, True], who)
        check("decided: override, by B. Roth with A. Lund" in bench.sheet(), bench.sheet())
        check(bench.audit()["findings"] == [], "audit")


def test_replaced_in_the_third_stage():
    with Lid() as bench:
        run, prompt = bench.at_trial()
        prompt = bench.step(run, prompt, "trial")
        bench.apart()
        while prompt["stage"] != 3:
            bench.do(run, prompt)
            prompt = run.prompt()
        pull(bench.wrench, bench.joint(prompt), until_Nm=prompt["high_Nm"] * 1.1)
        run.prompt()
        bench.joint(prompt).loosen()
        prompt = bench.lines(run, "replace")
        seen = []
        while prompt.get("step") == "final":
            seen.append((prompt["label"], prompt["stage"]))
            bench.do(run, prompt)
            prompt = run.prompt()
        check(seen == [("a", 1), ("a", 2), ("a", 3), ("b", 3), ("c", 3), ("d", 3)], seen)
        bench.closed(run, prompt)
        last = {e["label"]: e["cycle"] for e in bench.entries() if e["kind"] == "verdict"}
        check(last == {"a": 1, "b": 2, "c": 2, "d": 2}, last)
        check("decided: replace, by A. Lund" in bench.sheet(), bench.sheet())


def test_opened_again_while_something_is_due():
    with Lid() as bench:
        run, prompt = bench.at_trial()
        prompt = bench.step(run, prompt, "trial")
        bench.apart()
        bench.closed(run, bench.step(run, prompt, "final"))
        run = bench.run("--reopen", "--with", "B. Roth", "--why", "it seeps")
        run.prompt()
        prompt = bench.lines(run, "redo final gasket torn", "redo final gasket torn")
        check((prompt["step"], prompt["attempt"]) == ("final", 2), "%s" % prompt)
        bench.apart()
        bench.closed(run, bench.step(run, prompt, "final"))
        due = [e for e in bench.entries() if e["kind"] == "retorque_due"]
        check(len(due) == 1, "%s" % due)
        sheet = bench.sheet()
        check("Due after closing" in sheet and "done anew, gasket torn" in sheet, sheet)
        code, out, err = bench.program("run", bench.sequence, "--build", bench.build, "--retorque",
                                       "lid", "--why", "none moved")
        check(code == 0, out + err)
        check("done on" in bench.sheet(), bench.sheet())


def set_clock(bench, seconds):
    with open(bench.clock + ".new", "w", encoding="utf-8") as file:
        file.write("%d" % seconds)
    os.rename(bench.clock + ".new", bench.clock)


def test_the_clock_put_back():
    """By an hour in mid-work, and once more while nothing runs: times do not go back, and it is told."""
    with Lid() as bench:
        bench.clock = os.path.join(bench.folder, "clock")
        set_clock(bench, 0)
        prefix = ("env", "ASAN_OPTIONS=verify_asan_link_order=0", "LD_PRELOAD=" + os.environ["BW_CLOCK_SHIM"], "BW_CLOCK_FILE=" + bench.clock)
        run = bench.run(prefix=prefix)
        run.prompt()
        bench.lines(run, "yes")
        set_clock(bench, -3600)
        bench.lines(run, "0.40", "0.41")
        run.answer("pause")
        check(run.finish() == 0, run.errors)
        set_clock(bench, -7200)
        run = bench.run(prefix=prefix)
        prompt = run.prompt()
        bench.do(run, prompt)
        run.prompt()
        run.answer("pause")
        check(run.finish() == 0, run.errors)
        entries = bench.entries()
        steps = [e["by_s"] for e in entries if e["kind"] == "clock_step"]
        check(len(steps) == 2 and all(abs(s + 3600) < 60 for s in steps), steps)
        times = [e["time"] for e in entries]
        sheet = bench.sheet()
        check(sheet.count("the wall clock was set") == 2, sheet)
        check(bench.audit()["findings"] == [], "%s" % times)


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
