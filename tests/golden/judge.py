"""judge.py - what `judge` answers on drawn traces: the words of each new reason and kind, the JSON
beside them, refusals of options, and a drawing that is XML.

Traces are straight lines (torque, turn of the joint) with 0.05 degree/N.m of wind-up on top."""

import json
import os
import subprocess
import sys
import tempfile
import xml.etree.ElementTree

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
PROGRAM = os.environ.get("BOLTWRIGHT", os.path.join(ROOT, "build", "test", "boltwright"))

SEQUENCE = """
sequence { title = "Answers", engine = "Plover 2", edition = "1", document = "invented",
           revision = "A", invented = true, torque_unit = "N.m", rule = "%s" }
group { name = "caps", say = "caps", lubricant = "engine oil", places = labels { "1" },
        order = "listed" }
group { name = "rods", say = "rods", lubricant = "engine oil", places = labels { "1" },
        order = "listed" }
group { name = "nuts", say = "nuts", lubricant = "engine oil", places = labels { "1" },
        order = "listed" }
tighten { id = "caps", say = "Tighten.", group = "caps", stages = {
  torque { Nm(30), within = percent(6) },
  torque { Nm(60), within = percent(5) },
  angle { deg(60), within = deg(5) },
} }
tighten { id = "rods", say = "Tighten.", group = "rods", stages = {
  stretch { mm(0.15), low = mm(0.13), high = mm(0.17), about = Nm(55), ceiling = Nm(70) },
} }
tighten { id = "nuts", say = "Tighten.", group = "nuts", stages = {
  slot { low = Nm(55), high = Nm(70), slots = 6 },
} }
"""


def trace(path, points, angle=True):
    """points: (torque, turn) reached in half a second each."""
    with open(path, "w", encoding="ascii") as out:
        out.write("time_s,torque_Nm,angle_deg\n")
        at, torque, turn = 0.0, 0.0, 0.0
        for to_Nm, to_deg in points:
            for i in range(1, 51):
                now_Nm = torque + (to_Nm - torque) * i / 50
                now_deg = turn + (to_deg - turn) * i / 50 + 0.05 * now_Nm
                at += 0.01
                out.write("%.3f,%.3f,%s\n" % (at, now_Nm, "%.3f" % now_deg if angle else ""))
            torque, turn = to_Nm, to_deg


def run(folder, rule, points, *words, angle=True):
    sequence = os.path.join(folder, rule + ".lua")
    with open(sequence, "w", encoding="ascii") as out:
        out.write(SEQUENCE % rule)
    path = os.path.join(folder, "trace.csv")
    trace(path, points, angle)
    return subprocess.run([PROGRAM, "judge", path, "--sequence", sequence] + list(words),
                          capture_output=True, text=True, timeout=60, check=False)


def pull(peak_Nm):
    return [(0, 0), (0, 10), (15, 20), (peak_Nm, 20 + (peak_Nm - 15) / 1.5), (0, 20 + (peak_Nm -
            15) / 1.5), (0, 20 + (peak_Nm - 15) / 1.5)]


CAPS = ("--group", "caps", "--stage", "2", "--standing", "0")
RODS = ("--group", "rods", "--stage", "1")
NUTS = ("--group", "nuts", "--stage", "1")
SURE = ("--uncertainty", "1.5")

# rule, peak, words, exit code, what the text says, what JSON holds
ROWS = [
    ("simple", 60, CAPS, 0, ["Verdict: pass", "Slope of the joint: 1.5 N·m per degree"],
     {"verdict": "pass", "rule": "simple", "uncertainty_Nm": None, "judged_torque_Nm": 60.0,
      "not_judged": "", "question": ""}),
    ("guarded", 60, CAPS + SURE, 0,
     ["Decision rule: guarded; uncertainty of the wrench: 1.5 % of the torque", "Verdict: pass"],
     {"rule": "guarded", "uncertainty_Nm": 0.9}),
    ("guarded", 57.5, CAPS + SURE, 1,
     ["inside_guard:", "sure of the torque: 57.86 to 62.14 N·m"],
     {"verdict": "suspect", "reasons": ["inside_guard"]}),
    ("guarded_95", 57.8, CAPS + SURE, 0, ["guarded_95"], {"verdict": "pass"}),
    ("guarded", 60, CAPS, 1, ["not known (--uncertainty)", "nowhere, its uncertainty is not known"],
     {"reasons": ["inside_guard"], "uncertainty_Nm": None}),
    ("simple", 60, CAPS + ("--range", "70..200"), 1, ["out_of_range:", "calibrated: 70 to 200 N·m"],
     {"verdict": "suspect", "reasons": ["out_of_range"]}),
    ("simple", 81.3, CAPS, 1, ["Question: 81.3 N·m", "is the wrench set to lbf·ft?"],
     {"verdict": "high",
      "question": "81.3 N·m is the figure asked for, in another unit: is the wrench set to lbf·ft?"}),
    ("simple", 30.2, CAPS, 1, ["is the torque of another stage"], {"verdict": "low"}),
    ("simple", 56, RODS, 0,
     ["Still to be measured: its length now", "grown by 0.13 to 0.17 mm"], {"verdict": "pass"}),
    ("simple", 56, NUTS, 0, ["Still to be seen: whether a slot meets the hole."],
     {"verdict": "pass"}),
    ("simple", 50, NUTS, 1, ["below_limit:", "allowed: at least 55 N·m"], {"verdict": "low"}),
]

REFUSED = [(("--range", "200..20"), "--range is"), (("--range", "20"), "--range is"),
           (("--range", "..20"), "--range is"), (("--uncertainty", "-1"), "--uncertainty is"),
           (("--uncertainty", "101"), "--uncertainty is"),
           (("--angle-uncertainty", "x"), "--angle-uncertainty is"),
           (("--standing", "-1"), "--standing is"), (("--prevailing", "x"), "--prevailing is")]


def fail(row, done):
    sys.exit("%r: %d\n%s%s" % (row, done.returncode, done.stdout, done.stderr))


def check_row(folder, row):
    rule, peak, words, code, says, holds = row
    done = run(folder, rule, pull(peak), *words)
    if done.returncode != code or any(part not in done.stdout for part in says):
        fail(row, done)
    done = run(folder, rule, pull(peak), *words, "--json")
    got = json.loads(done.stdout)
    for name, value in holds.items():
        near = isinstance(value, float) and got[name] is not None and abs(got[name] - value) < 0.01
        if got[name] != value and not near:
            fail(row, done)


def main():
    with tempfile.TemporaryDirectory() as folder:
        for row in ROWS:
            check_row(folder, row)
        done = run(folder, "simple", pull(60), *CAPS, angle=False)
        if "Not judged: turn, early rise, yielding, torque drop" not in done.stdout:
            fail("no angle", done)
        for words, says in REFUSED:
            done = run(folder, "simple", pull(60), *CAPS[:4], *words)
            if done.returncode != 2 or says not in done.stderr or done.stdout != "":
                fail(words, done)
        drawing = os.path.join(folder, "drawing.svg")
        done = run(folder, "simple", pull(60), *CAPS, "--plot", drawing)
        if done.returncode != 0:
            fail("plot", done)
        text = xml.etree.ElementTree.parse(drawing).getroot().itertext()
        if "at least 57 N·m" not in "\n".join(text):
            sys.exit("the drawing names no limit")
    print("%d answers, %d refusals" % (len(ROWS), len(REFUSED)))


if __name__ == "__main__":
    main()
