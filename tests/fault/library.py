"""library.py - every shipped sequence gone through with a few faults: to its end, each fault told in
the record, the record as good when it is judged again.

That each is without mistakes and goes to its end where nothing is wrong: tests/golden/plans.py."""

import glob
import json
import os
import sys
import time
from concurrent.futures import ThreadPoolExecutor

from bench import ROOT, Bench, check, main

AT_ONCE = 2
REHEARSAL_LIMIT_S = 60.0  # it takes 2 to 4 on a machine that does nothing else
CHECK_LIMIT_S = 2.0       # it takes 0.03

# Sequence, and what goes wrong in it: fault, group, place, stage; then the verdict or decision that the
# record must hold of it, or a pull that is not complete.
LIBRARY = {
    "curlew4/short-block.lua": [
        ("dry:head:7", "head", 7, 1, "verdict", "suspect"),
        ("over:rod:2@2", "rod", 2, 2, "verdict", "high"),
    ],
    "curlew4/long-block.lua": [
        ("over:flywheel:2@2", "flywheel", 2, 2, "verdict", "high"),
        ("short:chain-cover:3@2", "chain-cover", 3, 2, "verdict", "low"),
        ("rehit:sump:5", "sump", 5, 1, "decision", "repeat"),
        ("unplug:rod:4@2", "rod", 4, 2, "pull", False),
        ("short:rocker-3:1", "rocker-3", 1, 1, "verdict", "low"),
    ],
    "curlew4/teardown.lua": [
        ("over:main:4", "main", 4, 1, "verdict", "high"),
        ("short:crank:1", "crank", 1, 1, "verdict", "low"),
    ],
    "plover2/bottom-end.lua": [
        ("over:rod:2", "rod", 2, 1, "verdict", "high"),
        ("over:rotor:1@3", "rotor", 1, 3, "verdict", "high"),
    ],
    "plover2/generator.lua": [
        ("over:through:2@3", "through", 2, 3, "verdict", "high"),
        ("over:rod:3", "rod", 3, 1, "verdict", "high"),
        ("over:governor:1", "governor", 1, 1, "verdict", "high"),
        ("peak:crank:1", "crank", 1, 1, "verdict", "suspect"),
    ],
    "final-drive/final-drive.lua": [
        ("overcrept:pinion:1", "pinion", 1, 1, "verdict", "high"),
        ("short:drive:1", "drive", 1, 1, "verdict", "low"),
        ("over:side-cap:2@2", "side-cap", 2, 2, "verdict", "high"),
        ("over:ring:4@2", "ring", 4, 2, "verdict", "high"),
    ],
    "winch-flange/winch-flange.lua": [
        ("over:flange:6@3", "flange", 6, 3, "verdict", "high"),
        ("short:flange:9@2", "flange", 9, 2, "verdict", "low"),
        ("unplug:flange:3", "flange", 3, 1, "pull", False),
        ("rehit:flange:12@2", "flange", 12, 2, "decision", "repeat"),
    ],
    "wheel-hub/wheel-hub.lua": [
        ("over:hub-left:1@3", "hub-left", 1, 3, "verdict", "high"),
        ("over:wheel-right:2@2", "wheel-right", 2, 2, "verdict", "high"),
        ("short:wheel-left:4", "wheel-left", 4, 1, "verdict", "low"),
    ],
}


def told(entry, group, place, stage, kind, word):
    member = "complete" if kind == "pull" else kind
    return (entry["kind"] == kind and entry.get("group") == group and
            entry.get("fastener") == place and entry.get("stage", stage) == stage and
            entry.get(member) == word)


def gone_through(name):
    path = os.path.join(ROOT, "sequences", name)
    rows = LIBRARY[name]
    with Bench(build="rehearsed") as bench:
        begin_s = time.monotonic()
        code, out, err = bench.program("check", path)
        checked_s = time.monotonic() - begin_s
        check(code == 0, "%s: %s" % (name, err))
        check(checked_s < CHECK_LIMIT_S, "%s took %.2f s to check" % (name, checked_s))
        begin_s = time.monotonic()
        code, out, err = bench.program("rehearse", path, "--speed", "0", "--seed", "2", "--fault",
                                       ",".join(row[0] for row in rows), "--build", bench.build,
                                       "--json")
        took_s = time.monotonic() - begin_s
        check(code == 0, "%s: exit code %d: %s" % (name, code, err or out[-300:]))
        end = json.loads(out.splitlines()[-1])
        check(end["outcome"] == "complete", "%s: %s" % (name, end))
        check(end["accepted"] + end["overridden"] == end["fasteners"], "%s: %s" % (name, end))
        check(took_s < REHEARSAL_LIMIT_S, "%s took %.1f s" % (name, took_s))
        bench.audit()
        entries = bench.entries()
        for row in rows:
            check(any(told(e, *row[1:]) for e in entries), "%s: %s left no %s %s" %
                  (name, row[0], row[4], row[5]))
        return "%-30s check %.3f s, rehearsed in %.1f s, %d fasteners, %d entries" % (
            name, checked_s, took_s, end["fasteners"], end["entries"])


def test_each_with_faults():
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for line in pool.map(gone_through, LIBRARY):
            print(line)


def test_each_step_goes_its_own_way():
    """The flange is drawn down crosswise and then gone round as a clock goes."""
    with Bench(build="rehearsed") as bench:
        path = os.path.join(ROOT, "sequences", "winch-flange", "winch-flange.lua")
        code, _, err = bench.program("rehearse", path, "--speed", "0", "--build", bench.build)
        check(code == 0, err)
        entries = [e for e in bench.entries() if e["kind"] == "verdict" and e["stage"] == 1 and
                   e["verdict"] == "pass"]
        ways = {step: [e["fastener"] for e in entries if e["step"] == step]
                for step in ("flange-cross", "flange-round")}
        check(ways["flange-round"] == list(range(1, 17)), "round: %s" % ways["flange-round"])
        cross = ways["flange-cross"]
        check(sorted(cross) == list(range(1, 17)) and
              all((b - a) % 16 >= 3 and (a - b) % 16 >= 3 for a, b in zip(cross, cross[1:])),
              "cross: %s" % cross)


def test_none_is_left_out():
    folder = os.path.join(ROOT, "sequences")
    shipped = {os.path.relpath(path, folder) for path in glob.glob(os.path.join(folder, "*", "*.lua"))}
    shipped = {name for name in shipped if not name.startswith("lib/")}
    check(shipped == set(LIBRARY), "not rehearsed with faults: %s" % (shipped ^ set(LIBRARY)))


if __name__ == "__main__":
    sys.exit(main([test_none_is_left_out, test_each_step_goes_its_own_way, test_each_with_faults]))
