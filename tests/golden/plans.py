"""plans.py - what `check` prints of sequences, held against files that were read and found right.

golden/sequences/NAME.lua is printed as NAME.plan and, with --json, as NAME.jsonl; where it holds
mistakes, they are NAME.txt, a line each.  Every sequence that is shipped is without mistakes, is
rehearsed to its end where nothing goes wrong, and leaves a record that stands up to being judged
again.  (tests/fault/library.py does the same with faults, and with a seed that answers the questions
differently.)"""

import glob
import json
import math
import os
import subprocess
import sys
import tempfile
import xml.dom.minidom
from concurrent.futures import ThreadPoolExecutor

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
PROGRAM = os.environ.get("BOLTWRIGHT", os.path.join(ROOT, "build", "test", "boltwright"))


def check(path, code, *words):
    done = subprocess.run([PROGRAM, "check"] + list(words) + [path], capture_output=True, text=True,
                          timeout=60, check=False)
    if done.returncode != code:
        sys.exit("check %s: %d\n%s%s" % (path, done.returncode, done.stdout[-800:], done.stderr))
    return done.stdout if code == 0 else done.stderr


def rehearse(path, seed=1):
    with tempfile.TemporaryDirectory() as home:
        for words in (["rehearse", path, "--speed", "0", "--seed", str(seed), "--build", "b", "--json"],
                      ["audit", "--rejudge", "--json"]):
            done = subprocess.run([PROGRAM] + words + ["--home", home], capture_output=True, text=True,
                                  timeout=60, check=False)
            if done.returncode != 0:
                sys.exit("%s: %d\n%s%s" % (" ".join(words), done.returncode, done.stdout[-800:],
                                           done.stderr))
            last = json.loads(done.stdout.splitlines()[-1])
            if words[0] == "rehearse" and last["outcome"] != "complete":
                sys.exit("%s, seed %d: %s" % (path, seed, last))
            if words[0] == "audit" and (last["findings"] or last["rejudged"] == 0):
                sys.exit("%s, seed %d: %s" % (path, seed, last))


def drawn(path):
    """The drawing holds each place of each tightening step, with its number in the order, and an
    arrow from each to the next."""
    with tempfile.TemporaryDirectory() as folder:
        svg = os.path.join(folder, "map.svg")
        lines = [json.loads(line) for line in check(path, 0, "--json", "--plot", svg).splitlines()]
        text = xml.dom.minidom.parse(svg)
    places = sum(1 for o in lines if o["kind"] == "pull" and o["stage"] == 1)
    steps = sum(1 for o in lines if o["kind"] == "step" and o["what"] == "tighten")
    circles = len(text.getElementsByTagName("circle"))
    arrows = len(text.getElementsByTagName("line"))
    turns = [int(t.firstChild.data) for t in text.getElementsByTagName("text")
             if t.getAttribute("class") == "turn"]
    if circles != places or len(turns) != places or turns.count(1) != steps:
        sys.exit("%s: %d places drawn, not %d" % (path, circles, places))
    if arrows != places - steps:
        sys.exit("%s: %d arrows, not %d" % (path, arrows, places - steps))


def wrench_of(path):
    """What `check --json` says of wrench and strokes, worked out again from the pulls that it lists."""
    lines = [json.loads(line) for line in check(path, 0, "--json").splitlines()]
    steps, shown = [], []
    for o in lines[:-1]:
        if o["kind"] == "step" and o["what"] == "tighten":
            steps.append((o, []))
        elif o["kind"] == "pull":
            steps[-1][1].append(o)
    for step, pulls in steps + [(lines[-1], [p for _, pulls in steps for p in pulls])]:
        torques = [t for p in pulls for t in map(p.get, ("snug_Nm", "target_Nm", "low_Nm", "high_Nm"))
                   if t is not None and t > 0]
        want = {"shows_from_Nm": min(torques, default=None), "shows_to_Nm": max(torques, default=None),
                "pulls": len(pulls), "strokes": sum(max(1, math.ceil(p.get("target_deg", 0) / 60))
                                                    for p in pulls)}
        got = {name: step[name] for name in want}
        if got != want:
            sys.exit("%s: %s says %s, its pulls %s" % (path, step.get("id", "all"), got, want))
        shown += torques
    if lines[-1]["kind"] != "wrench" or bool(shown) != (lines[-1]["shows_to_Nm"] is not None):
        sys.exit("%s: no line for the wrench comes last" % path)


def same(got, path):
    with open(path, encoding="utf-8") as kept:
        want = kept.read()
    if got != want:
        for number, (a, b) in enumerate(zip(got.splitlines(), want.splitlines()), 1):
            if a != b:
                sys.exit("%s:%d\n got: %s\nwant: %s" % (path, number, a, b))
        sys.exit("%s: %d lines, not %d" % (path, got.count("\n"), want.count("\n")))


def main():
    count = 0
    for sequence in sorted(glob.glob(os.path.join(HERE, "sequences", "*.lua"))):
        base = sequence[:-len(".lua")]
        if os.path.exists(base + ".txt"):
            found = check(sequence, 1).replace(sequence + ":", "")
            same(found, base + ".txt")
        else:
            same(check(sequence, 0), base + ".plan")
            same(check(sequence, 0, "--json"), base + ".jsonl")
        count += 1
    whole = []
    shipped = glob.glob(os.path.join(ROOT, "sequences", "*", "*.lua"))
    for sequence in [path for path in shipped if os.path.basename(os.path.dirname(path)) != "lib"]:
        check(sequence, 0)
        lines = [json.loads(line) for line in check(sequence, 0, "--json").splitlines()]
        if lines[0]["kind"] != "plan" or not lines[0]["invented"]:
            sys.exit("%s does not say that its figures are invented" % sequence)
        drawn(sequence)
        wrench_of(sequence)
        whole.append(sequence)
    with ThreadPoolExecutor(2) as pool:
        count += len(list(pool.map(rehearse, whole)))
    print("%d passed, 0 failed" % count)


if __name__ == "__main__":
    main()
