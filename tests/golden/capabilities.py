"""capabilities.py - what docs/capabilities.md names is there: each file, each test in it, each word."""

import os
import re
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
LEAST_ROWS = 50


def missing(shown):
    """What of `path` or `path: test` is not there."""
    path, _, name = shown.partition(": ")
    full = os.path.join(ROOT, path)
    if not os.path.isfile(full):
        return "no file " + path
    if not name:
        return None
    with open(full, encoding="utf-8") as text:
        text = text.read()
    run = r"cmocka_unit_test\(%s\)" if path.endswith(".c") else r"^def %s\("
    return None if re.search(run % re.escape(name), text, re.M) else "no %s in %s" % (name, path)


def main():
    with open(os.path.join(ROOT, "docs", "capabilities.md"), encoding="utf-8") as page:
        page = page.read().split("\n## What can't be said")[0]
    rows = [line.split("|")[1:-1] for line in page.splitlines()
            if line.startswith("| ") and not line.startswith("| what |")]
    wrong = []
    for row in rows:
        if len(row) != 3 or "`" not in row[2]:
            wrong.append("not shown by anything: %s" % row[0].strip())
            continue
        wrong += [m for m in map(missing, re.findall(r"`([^`]+)`", row[2])) if m]
    if wrong or len(rows) < LEAST_ROWS:
        sys.exit("docs/capabilities.md, %d rows:\n%s" % (len(rows), "\n".join(wrong)))
    print("%d rows, 1 passed, 0 failed" % len(rows))


if __name__ == "__main__":
    main()
