"""completion.py - bash offers every command and option that the help lists, and the man page has them."""

import os
import re
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.environ["BOLTWRIGHT"]


def run(*words, **more):
    return subprocess.run(words, capture_output=True, text=True, check=True, timeout=60, **more).stdout


def offered(script, *words):
    """What bash offers for the last of these words."""
    line = ["boltwright"] + list(words)
    call = 'source /dev/stdin; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _boltwright; '
    call += 'printf "%s\\n" "${COMPREPLY[@]}"'
    return run("bash", "--norc", "-c", call, "bash", *line, input=script, cwd="/").split("\n")


def main():
    script = run(PROGRAM, "--completion")
    commands = re.findall(r"^  (\w+) +\S", run(PROGRAM, "--help"), re.M)
    failed = []
    if len(commands) < 12 or set(commands) - set(offered(script, "")):
        failed.append("commands: %s" % (set(commands) - set(offered(script, ""))))
    if offered(script, "she") != ["sheet", ""]:
        failed.append("she: %s" % offered(script, "she"))
    with open(os.path.join(ROOT, "docs", "boltwright.1"), encoding="utf-8") as page:
        man = page.read().replace("\\-", "-")
    for command in commands:
        options = re.findall(r"^  (--?[\w-]+)", run(PROGRAM, command, "--help"), re.M)
        missing = set(options) - set(offered(script, command, "-"))
        if missing or len(options) < 3:
            failed.append("%s: %s" % (command, missing))
        if "boltwright %s" % command not in man:
            failed.append("the man page lacks %s" % command)
    words = set(offered(script, "tool", ""))
    if not {"add", "list", "show", "calibrate", "check", "retire"} <= words:
        failed.append("tool: %s" % words)
    if "tmp" not in offered(script, "sheet", "x", "-o", "t"):
        failed.append("no files are offered where an option takes one")
    print("\n".join(failed + [""]) + "%d commands, %d faults" % (len(commands), len(failed)))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
