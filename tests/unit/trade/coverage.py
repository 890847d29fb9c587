#!/usr/bin/python3
"""Branches of a room that its tests have taken, from gcov's counters; exit 1 where one is missing.

coverage.py FOLDER BUILD ROOM: after a build with BW_COVERAGE and a run of the tests.
"""
import json
import subprocess
import sys
from pathlib import Path


def counters(root, build, room):
    """(source, list of lines as gcov tells them) of each object that has been run."""
    for data in sorted(Path(build).glob(f"src/{room}/**/*.gcda")):
        run = subprocess.run(["gcov", "--branch-probabilities", "--stdout", "--json-format", data],
                             cwd=root, text=True, capture_output=True, check=True)
        for file in json.loads(run.stdout)["files"]:
            if file["file"].startswith(f"src/{room}/") and file["file"].endswith(".c"):
                yield file["file"], file["lines"]


def missing(lines):
    """(line, what) of each line never run and each branch never taken."""
    for line in lines:
        if line["count"] == 0:
            yield line["line_number"], "never run"
        untaken = [n for n, branch in enumerate(line["branches"])
                   if branch["count"] == 0 and not branch["throw"]]
        if line["count"] > 0 and untaken:
            yield line["line_number"], f"branch {', '.join(map(str, untaken))} never taken"


def main(root, build, room):
    files = branches = taken = 0
    complete = True
    for source, lines in counters(root, build, room):
        counts = [branch["count"] for line in lines for branch in line["branches"]]
        files += 1
        branches += len(counts)
        taken += sum(count > 0 for count in counts)
        for number, what in missing(lines):
            complete = False
            print(f"{source}:{number}: {what}")
    share = 100 * taken / branches if branches else 0
    print(f"src/{room}: {files} files, {taken} of {branches} branches taken ({share:.2f} %)")
    return 0 if complete and branches else 1


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:4]))
