#!/usr/bin/python3
"""What three analysers say of what ships.  lint.py FOLDER cppcheck|clang-tidy|gcc BUILD"""
import json
import re
import shlex
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
                          "mended, or suppressed with a reason")
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
                     "--inline-suppr", "--error-exitcode=1", "--template=gcc",
                     "--suppress=missingIncludeSystem", "--suppress=normalCheckLevelMaxBranches",
                     "-Isrc", "-Iplugins/include", "-Ihardware", "-Ihardware/firmware", "src", "plugins",
                     "hardware")
    yield from findings(root, "cppcheck", code, text)


def shipped(root, build):
    """(source, compile command) of each source file that ships, of those in the build."""
    entries = json.loads((Path(build) / "compile_commands.json").read_text(encoding="utf-8"))
    for entry in entries:
        source = Path(entry["file"])
        if any(source.is_relative_to(root / folder) for folder in ("src", "plugins", "hardware")):
            yield entry["file"], shlex.split(entry["command"])


def each(root, tool, commands):
    """Findings of many runs, two at a time; what a header brings up in each is told once."""
    with ThreadPoolExecutor(JOBS) as pool:
        runs = list(pool.map(lambda command: run(root, *command), commands))
    told = set()
    for code, text in runs:
        for finding in findings(root, tool, code, text):
            if finding not in told:
                told.add(finding)
                yield finding


def clang_tidy(root, build):
    sources = sorted({source for source, _ in shipped(root, build)})
    yield from each(root, "clang-tidy",
                    [["clang-tidy", "--quiet", "-p", build, source] for source in sources])


def gcc_analyzer(root, build):
    commands = []
    for _, command in shipped(root, build):
        command[command.index("-o") + 1] = "/dev/null"
        commands.append([*command, "-fanalyzer"])
    yield from each(root, "gcc -fanalyzer", commands)


TOOLS = {"cppcheck": cppcheck, "clang-tidy": clang_tidy, "gcc": gcc_analyzer}


def check(root, tool, build):
    return TOOLS[tool](root.resolve(), build)


if __name__ == "__main__":
    if shutil.which(sys.argv[2]) is None:
        yard.skip(f"{sys.argv[2]} is not here")
    yard.main(check, sys.argv[2], sys.argv[3])
