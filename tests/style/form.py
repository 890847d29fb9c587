#!/usr/bin/python3
"""All C has the form that clang-format 14 (Debian 12) gives it; other majors break lines elsewhere."""
import re
import subprocess

import yard
from yard import Finding

MAJOR = 14
WARNING = re.compile(r"^(.*?):(\d+):\d+: (?:error|warning): ")


def formatter():
    """The command, or None."""
    for command in (f"clang-format-{MAJOR}", "clang-format"):
        try:
            version = subprocess.run([command, "--version"], text=True, capture_output=True,
                                     check=True).stdout
        except (OSError, subprocess.CalledProcessError):
            continue
        if f"version {MAJOR}." in version:
            return command
    return None


def check(root, command):
    paths = [str(path) for path in yard.c_files(root, "src", "plugins", "tests", "hardware")]
    if not paths:
        return
    run = subprocess.run([command, "--dry-run", "--style=file", *paths], cwd=root, text=True,
                         capture_output=True, check=False)
    seen = set()
    for line in run.stderr.splitlines():
        match = WARNING.match(line)
        if match and match[1] not in seen:
            seen.add(match[1])
            yield Finding(match[1], int(match[2]), "from here on not in the yard's form",
                          f"{command} -i {match[1]}")
    if run.returncode != 0 and not seen:
        yield Finding(".clang-format", 1, run.stderr.strip(), "a file that clang-format can read")


if __name__ == "__main__":
    found = formatter()
    if found is None:
        yard.skip(f"no clang-format {MAJOR} here, and another major version gives another form")
    yard.main(check, found)
