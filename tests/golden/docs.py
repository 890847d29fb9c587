"""docs.py - the examples of docs/sequences.md are run as they stand there; each word has one."""

import os
import re
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.environ.get("BOLTWRIGHT", os.path.join(ROOT, "build", "test", "boltwright"))


def run(*words):
    done = subprocess.run([PROGRAM] + list(words), capture_output=True, text=True, timeout=120,
                          check=False)
    if done.returncode != 0:
        sys.exit("%s\n%s%s" % (" ".join(words), done.stdout[-500:], done.stderr))
    return done.stdout


def stage_words(folder):
    """All kinds of stage, as the program itself lists them where it is given none of them."""
    path = os.path.join(folder, "none.lua")
    with open(path, "w", encoding="utf-8") as out:
        out.write("tighten { stages = { 5 } }")
    done = subprocess.run([PROGRAM, "check", path], capture_output=True, text=True, timeout=60,
                          check=False)
    return re.search(r"a list in braces of: ([a-z_ ]+), not", done.stderr).group(1).split()


def words_are_shown(page, examples):
    rows = re.findall(r"^\| `(\w+)` \|", page, re.M)
    with tempfile.TemporaryDirectory() as folder:
        words = stage_words(folder)
    for word in words:
        if word not in rows:
            sys.exit("docs/sequences.md has no row for %s" % word)
    for word in rows:
        if not re.search(r"\b%s \{" % word, examples):
            sys.exit("docs/sequences.md has no example for %s" % word)


def main():
    with open(os.path.join(ROOT, "docs", "sequences.md"), encoding="utf-8") as page:
        page = page.read()
    examples = re.findall(r"```lua\n(.*?)```", page, re.S)
    words_are_shown(page, "\n".join(examples))
    whole = [text for text in examples if text.startswith("sequence {")]
    parts = [text for text in examples if not text.startswith("sequence {")]
    if len(whole) != 1 or not parts:
        sys.exit("docs/sequences.md has %d whole examples and %d parts" % (len(whole), len(parts)))
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "cover.lua")
        # A part stands behind the whole example, as a reader would put it there.
        for text in whole + [whole[0] + part for part in parts]:
            with open(path, "w", encoding="utf-8") as out:
                out.write(text)
            run("check", path)
            out = run("rehearse", path, "--speed", "0", "--home", os.path.join(folder, "home"),
                      "--json")
            if '"outcome":"complete"' not in out:
                sys.exit("the rehearsal did not come to its end:\n" + out[-500:])
            os.rename(os.path.join(folder, "home"), os.path.join(folder, "home%d" % len(text)))
    print("%d passed, 0 failed" % len(examples))


if __name__ == "__main__":
    main()
