"""mistakes.py - one mistake a file, in mistakes/: found, with its line and a sentence that helps.

The last line of a file says where and what: `-- mistake in line 30: the sentence's beginning`.  What
follows from that mistake alone is not told as well, but for two files.
Files that are merely unusual end by saying so, and nothing is found in them."""

import glob
import os
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.environ.get("BOLTWRIGHT", os.path.join(ROOT, "build", "test", "boltwright"))
FOLDER = os.path.join(ROOT, "tests", "golden", "mistakes")
LEAST_MISTAKES, LEAST_UNUSUAL = 80, 5
# What follows from the mistake is told here too, or it is made twice in its line.
TWO_LINES = {"id-missing.lua", "plausible-bare.lua"}


def wanted(path):
    with open(path, encoding="utf-8") as text:
        last = text.read().splitlines()[-1]
    if last == "-- unusual, and no mistake":
        return None
    found = re.match(r"-- mistake in line (\d+): (.+)$", last)
    if found is None:
        sys.exit("%s does not say what is wrong with it" % path)
    return "%s:%s: %s" % (path, found.group(1), found.group(2))


def look_at(path):
    """What is wrong with the answer; None where it is right."""
    done = subprocess.run([PROGRAM, "check", path], capture_output=True, text=True, timeout=60,
                          check=False)
    want = wanted(path)
    told = done.stderr.splitlines()
    if want is None:
        return "%s: %s" % (path, done.stderr) if done.returncode != 0 else None
    right = done.returncode == 1 and len(told) == 1 + (os.path.basename(path) in TWO_LINES)
    if right and any(line.startswith(want) for line in told):
        return None
    return "want: %s\n got: %s" % (want, done.stderr or done.returncode)


def main():
    paths = sorted(glob.glob(os.path.join(FOLDER, "*.lua")))
    unusual = sum(wanted(path) is None for path in paths)
    if len(paths) - unusual < LEAST_MISTAKES or unusual < LEAST_UNUSUAL:
        sys.exit("%d mistakes, %d unusual" % (len(paths) - unusual, unusual))
    with ThreadPoolExecutor(2) as pool:
        wrong = [w for w in pool.map(look_at, paths) if w is not None]
    if wrong:
        sys.exit("\n".join(wrong))
    print("%d mistakes, %d unusual, %d passed, 0 failed" % (len(paths) - unusual, unusual, len(paths)))


if __name__ == "__main__":
    main()
