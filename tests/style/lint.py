#!/usr/bin/python3
"""cppcheck over src and plugins, clang-tidy over src.  lint.py FOLDER cppcheck|clang-tidy BUILD"""
import json
import re
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import yard
from yard import Finding

JOBS = 2
LINE = re.compile(r"^(?P<file>[^:\s][^:]*):(?P<line>\d+):\d+: (?:error|warning|performance|"
                  r"portability|style): (?P<text>.*)$")


def run(root, *command):
    done = subprocess.run(command, cwd=root, text=True, capture_output=True, check=False)
    return done.returncode, done.stdout + done.stderr


def findings(root, tool, code, text):
    seen = set()
    for match in filter(None, map(LINE.match, text.splitlines())):
        path = Path(match["file"])
        if path.is_absolute() and path.is_relative_to(root):
            path = path.relative_to(root)
        finding = Finding(path, int(match["line"]), f"{tool}: {match['text']}",
                          "code that it has nothing to say about, or a suppression with its reason")
        if finding not in seen:
            seen.add(finding)
            yield finding
    if code != 0 and not seen:
        yield Finding(tool, 0, f"failed: {text.strip()[-2000:]}", "a run to the end")


def cppcheck(root, build):
    folder = Path(build) / "cppcheck"
    folder.mkdir(parents=True, exist_ok=True)
    code, text = run(root, "cppcheck", "--quiet", f"-j{JOBS}", f"--cppcheck-build-dir={folder}",
                     "--std=c11", "--library=posix", "--enable=warning,performance,portability",
                     "--inline-suppr", "--error-exitcode=1",
                     "--suppress=missingIncludeSystem", "--template=gcc",
                     "-Isrc", "-Iplugins/include", "src", "plugins")
    yield from findings(root, "cppcheck", code, text)


def clang_tidy(root, build):
    entries = json.loads((Path(build) / "compile_commands.json").read_text(encoding="utf-8"))
    sources = sorted({entry["file"] for entry in entries
                      if Path(entry["file"]).is_relative_to(root / "src")})
    with ThreadPoolExecutor(JOBS) as pool:
        jobs = pool.map(lambda source: run(root, "clang-tidy", "--quiet", "-p", build, source),
                        sources)
    seen = set()
    for code, text in jobs:
        for finding in findings(root, "clang-tidy", code, text):
            if finding not in seen:
                seen.add(finding)
                yield finding


TOOLS = {"cppcheck": cppcheck, "clang-tidy": clang_tidy}


def check(root, tool, build):
    return TOOLS[tool](root.resolve(), build)


if __name__ == "__main__":
    if shutil.which(sys.argv[2]) is None:
        yard.skip(f"{sys.argv[2]} is not here")
    yard.main(check, sys.argv[2], sys.argv[3])
