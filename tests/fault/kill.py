"""kill.py - the power goes at any moment: nothing confirmed is lost, nothing is asked again.

The builder, the wrench and the joints go on living when the program is killed, as they do at a
bench. What the program showed as recorded (the prompt moved on) must be in the record afterwards,
and is never asked again; the prompt after the restart is the one that was open, or the next one
where the kill came between the commit and the prompt.
"""

import os
import random
import shutil
import signal
import sys
import threading
import time

from bench import Bench, Gone, check, main

SEED = int(os.environ.get("BW_SEED", "20261125"))


def key_of(prompt):
    """What is asked: a step, a reading, or a fastener's stage in one attempt."""
    return tuple(prompt.get(name) for name in
                 ("step", "state", "set", "at", "group", "fastener", "stage", "attempt"))


class Watcher:
    """Remembers what was confirmed, and objects when it is asked again."""

    def __init__(self):
        self.open = None
        self.confirmed = set()

    def see(self, prompt):
        if prompt["state"] in ("pull", "reading", "confirm", "note"):
            key = key_of(prompt)
            check(key not in self.confirmed, "asked again: %s" % (key,))
            if self.open is not None and self.open != key:
                self.confirmed.add(self.open)
            self.open = key
        else:
            self.open = None


def entries_of(bench):
    return {entry["kind"] for entry in bench.entries()}


def go_on(bench, watcher, run, killer):
    """Builds until the program is gone; True where the build is closed."""
    try:
        while True:
            prompt = run.prompt()
            watcher.see(prompt)
            killer(prompt)
            bench.do(run, prompt)
    except (Gone, BrokenPipeError):
        pass
    return run.end is not None


def start_s():
    """How long the program takes to its first prompt on this machine and in this build."""
    with Bench() as bench:
        began = time.monotonic()
        run = bench.run()
        run.prompt()
        run.kill()
        return time.monotonic() - began


def killed_builds(bench, chance, wanted, slow):
    """One build, killed up to `wanted` times by a timer; how often it was, and how often when it
    had asked something already."""
    watcher = Watcher()
    kills = 0
    asked = 0
    closed = False
    while not closed:
        run = bench.run()
        killer = None
        if kills < wanted:
            # From while it starts to well into the build, which takes some ten starts.
            killer = threading.Timer(slow * chance.uniform(0.4, 4.0), run.process.kill)
            killer.start()
        prompts = []
        closed = go_on(bench, watcher, run, prompts.append)
        if killer is not None:
            killer.cancel()
            killer.join()
        kills += 0 if closed else 1
        asked += 1 if prompts and not closed else 0
        run.kill()
    return kills, asked


def test_forty_random_moments():
    """A timer kills the program at 40 random moments, wherever it is then."""
    chance = random.Random(SEED)
    slow = start_s()
    kills = 0
    builds = 0
    while kills < 40:
        with Bench() as bench:
            here, asked = killed_builds(bench, chance, 40 - kills, slow)
            kills += here
            builds += 1
            check(bench.audit()["findings"] == [], "audit")
            # A kill before the first entry or after the last one interrupts nothing.
            check(asked <= 1 or "interrupted" in entries_of(bench),
                  "an interruption is not recorded")
            check(builds < 40, "the kills come too late: only %d in %d builds" % (kills, builds))
    print("     %d kills in %d builds" % (kills, builds))


def test_at_each_prompt():
    """Killed at every single prompt of a build: the same thing is asked after each restart."""
    with Bench() as bench:
        kills = 0
        done = False
        asked = None
        while not done:
            run = bench.run()
            try:
                prompt = run.settled(0.05)
                if asked is not None:
                    check(key_of(prompt) == key_of(asked), "after the kill %s is asked, not %s" % (
                        key_of(prompt), key_of(asked)))
                bench.do(run, prompt)
                asked = run.prompt()
                run.kill()
                kills += 1
            except Gone:
                done = True
                run.kill()
        check(kills > 60, "only %d kills" % kills)
        check(bench.audit()["findings"] == [], "audit")
        print("     %d kills" % kills)


def workers(process):
    """Pid and command line of the processes that the program has started."""
    with open("/proc/%d/task/%d/children" % (process.pid, process.pid), encoding="ascii") as file:
        pids = [int(pid) for pid in file.read().split()]
    found = {}
    for pid in pids:
        with open("/proc/%d/cmdline" % pid, "rb") as file:
            found[pid] = file.read().decode().replace("\0", " ")
    return found


def test_workers_are_killed():
    """A sequence is over once its plan is read: no worker of it is left to be killed.  The driver's
    is, and is started again; a pull that it did not live to decode would be made anew."""
    with Bench() as bench:
        run = bench.run()
        killed = prompts = 0
        try:
            while True:
                prompt = run.prompt()
                prompts += 1
                there = workers(run.process)
                check(not any("--worker sequence" in line for line in there.values()), there)
                if killed < 3 and prompts > 3 * killed and prompt["state"] == "reading":
                    for pid in (p for p, line in there.items() if "--worker driver" in line):
                        os.kill(pid, signal.SIGKILL)
                        killed += 1
                bench.do(run, prompt)
        except Gone:
            pass
        code = run.finish()
        check(killed == 3, "%d killed" % killed)
        check(code == 0 and run.end["outcome"] == "complete", "%s" % run.end)
        check(run.end["overridden"] == 0, "%s" % run.end)
        check(bench.audit()["findings"] == [], "audit")


def strace_prefix(bench, when):
    """The N-th flush never returns: the program is killed inside it."""
    if shutil.which("strace") is None:
        raise AssertionError("strace is not installed; sh .ci/setup test installs it")
    return ["strace", "-f", "-o", os.path.join(bench.folder, "strace.log"), "-e",
            "trace=fdatasync,fsync", "-e", "inject=fdatasync,fsync:signal=KILL:when=%d" % when]


def no_litter(bench):
    """A start clears away what a kill inside the writing of a small file leaves behind."""
    litter = [name for name in os.listdir(bench.home) if ".new" in name]
    check(litter == [], "left over: %s" % litter)


def test_while_the_record_is_made():
    """Killed inside each of the first flushes in turn, on a bench that has no record yet."""
    for when in range(1, 16):
        with Bench() as bench:
            run = bench.run(prefix=strace_prefix(bench, when))
            go_on(bench, Watcher(), run, lambda prompt: None)
            run.kill()
            run = bench.run()
            run.prompt()
            run.kill()
            check(bench.audit()["findings"] == [], "audit after a kill in flush %d" % when)
            no_litter(bench)


def killed_in_flushes(shift):
    """One build; the fifth to eighth flush after each restart in turn kills (two belong to opening,
    two to the entries of a restart), so that every restart gets one to three commits further."""
    with Bench() as bench:
        first = bench.run()
        first.prompt()
        first.kill()
        watcher = Watcher()
        kills = 0
        closed = False
        while not closed:
            run = bench.run(prefix=strace_prefix(bench, 5 + (kills + shift) % 4))
            closed = go_on(bench, watcher, run, lambda prompt: None)
            run.kill()
            kills += 0 if closed else 1
            check(kills < 2000, "the build does not come to its end")
            if kills % 25 == 0:
                check(bench.audit()["findings"] == [], "audit after %d kills" % kills)
        check(kills > 40, "only %d kills" % kills)
        check(bench.audit()["findings"] == [], "audit")
        no_litter(bench)
        return kills


def test_at_each_commit():
    """Two builds, so that a commit that one of them let pass is killed in the other."""
    print("     %d kills inside a flush" % (killed_in_flushes(0) + killed_in_flushes(2)))


def test_second_start_is_told_who_holds_it():
    with Bench() as bench:
        first = bench.run()
        first.prompt()
        code, _, err = bench.program("rehearse", bench.sequence, "--speed", "0")
        check(code == 3, "exit code %d" % code)
        check(str(first.process.pid) in err, "not told who holds it: " + err)
        first.kill()
        second = bench.run()
        second.prompt()
        second.kill()


def test_ctrl_c_is_a_pause():
    import signal
    with Bench() as bench:
        run = bench.run()
        prompt = bench.until(run, lambda p: p["state"] == "pull")
        run.process.send_signal(signal.SIGINT)
        check(run.finish() == 0, "a pause is no failure: " + run.errors)
        check(run.end["outcome"] == "paused", "%s" % run.end)
        audit = bench.audit()
        check(audit["checkpoints"] == 1 and audit["signatures"] == "good", "%s" % audit)
        again = bench.run()
        check(key_of(again.settled()) == key_of(prompt), "another thing is asked")
        again.kill()


if __name__ == "__main__":
    began = time.monotonic()
    code = main([
        test_forty_random_moments,
        test_at_each_prompt,
        test_while_the_record_is_made,
        test_at_each_commit,
        test_second_start_is_told_who_holds_it,
        test_ctrl_c_is_a_pause,
    ])
    print("seed %d, %.0f s" % (SEED, time.monotonic() - began))
    sys.exit(code)
