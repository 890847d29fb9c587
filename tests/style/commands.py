#!/usr/bin/python3
"""README's two commands are there to the letter, and .ci/run runs the one for tests."""
from pathlib import Path

import yard
from yard import Finding

REHEARSE = "sh .ci/setup build && cmake --workflow --preset rehearse"
TEST = "sh .ci/setup test && cmake --workflow --preset test"


def check(root):
    for name, command in (("README.md", REHEARSE), ("README.md", TEST), (".ci/run", TEST)):
        path = Path(root) / name
        text = path.read_text(encoding="utf-8") if path.exists() else ""
        lines = [line.strip() for line in text.splitlines()]
        if command not in lines:
            yield Finding(name, max(1, len(lines)), "lacks a command",
                          f"a line of its own that says: {command}")


if __name__ == "__main__":
    yard.main(check)
