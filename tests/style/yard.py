"""What the yard's checks share: which files there are, C without its comments, how to complain.

A check is a function that takes the project's folder and yields Findings; main() runs it, so that
each script is also a command: tests/style/layers.py [FOLDER].
"""
import os
import re
import sys
from pathlib import Path
from typing import NamedTuple

PROJECT = Path(__file__).resolve().parents[2]
SKIPPED = {"build", ".git", ".cache", "__pycache__", "node_modules"}
SKIP_CODE = 77  # what ctest takes for "not run here"

TOKEN = re.compile(r"""//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*'""", re.DOTALL)


class Finding(NamedTuple):
    file: str
    line: int
    wrong: str
    right: str

    def __str__(self):
        return f"{self.file}:{self.line}: {self.wrong}; right would be: {self.right}"


def files(root, *suffixes, under=(".",)):
    """Paths relative to root, sorted, of all files with one of these suffixes (none: all)."""
    found = []
    for top in under:
        for folder, inner, names in os.walk(Path(root) / top):
            inner[:] = [name for name in inner if name not in SKIPPED]
            found += [Path(folder, name).relative_to(root) for name in names
                      if name not in SKIPPED]
    return sorted(path for path in found if not suffixes or path.suffix in suffixes)


def c_files(root, *under):
    return files(root, ".c", ".h", under=under)


def read(root, path):
    return (Path(root) / path).read_text(encoding="utf-8")


def code(text, strings=False):
    """C with comments (and, unless asked for, the insides of strings) blanked, lines in place."""

    def blank(match):
        token = match[0]
        if token[0] in "\"'":
            return token if strings else token[0] + " " * (len(token) - 2) + token[0]
        return re.sub(r"[^\n]", " ", token)

    return TOKEN.sub(blank, text)


def numbered(text):
    return enumerate(text.split("\n"), start=1)


def skip(why):
    print(f"skipped: {why}")
    sys.exit(SKIP_CODE)


def main(check, *arguments):
    findings = list(check(Path(sys.argv[1] if len(sys.argv) > 1 else PROJECT), *arguments))
    for finding in findings:
        print(finding)
    sys.exit(1 if findings else 0)
