"""docs.py - the examples of docs/sequences.md and docs/how-to.md are run as they stand there; each word
of the language has one."""

import os
import re
import shlex
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

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


def check_part(folder, text):
    """Without mistakes, and gone through to its end."""
    path = os.path.join(folder, "cover.lua")
    with open(path, "w", encoding="utf-8") as out:
        out.write(text)
    run("check", path)
    with tempfile.TemporaryDirectory() as home:
        out = run("rehearse", path, "--speed", "0", "--home", home, "--json")
    if '"outcome":"complete"' not in out:
        sys.exit("the rehearsal did not come to its end:\n" + out[-500:])


def check_lines(page):
    """Commands of a page, and what they are said to answer."""
    blocks = re.findall(r"```(sh|text)\n(.*?)```", page, re.S)
    with tempfile.TemporaryDirectory() as home:
        env = dict(os.environ, BOLTWRIGHT_HOME=home)
        for (kind, lines), (after, answer) in zip(blocks, blocks[1:] + [("sh", "")]):
            if kind != "sh":
                continue
            said = ""
            for line in lines.splitlines():
                done = subprocess.run([PROGRAM] + shlex.split(line)[1:], env=env, capture_output=True,
                                      text=True, timeout=60, check=False)
                said += done.stdout + done.stderr
            if after != "text" or answer.strip() not in said:
                sys.exit("docs/how-to.md: %sanswers\n%s" % (lines, said))
    return len(blocks) // 2


def main():
    with open(os.path.join(ROOT, "docs", "sequences.md"), encoding="utf-8") as page:
        page = page.read()
    with open(os.path.join(ROOT, "docs", "how-to.md"), encoding="utf-8") as how_to:
        how_to = how_to.read()
    examples = re.findall(r"```lua\n(.*?)```", page, re.S)
    words_are_shown(page, "\n".join(examples))
    whole = [text for text in examples if text.startswith("sequence {")]
    parts = [text for text in examples if not text.startswith("sequence {")]
    answers = re.findall(r"```lua\n(.*?)```", how_to, re.S)
    if len(whole) != 1 or not parts or not answers:
        sys.exit("%d whole examples, %d parts, %d answers" % (len(whole), len(parts), len(answers)))
    # A part stands behind the whole example, as a reader would put it there.
    with tempfile.TemporaryDirectory() as one, tempfile.TemporaryDirectory() as other:
        texts = whole + [whole[0] + part for part in parts + answers]
        with ThreadPoolExecutor(2) as pool:
            list(pool.map(lambda pair: [check_part(pair[0], text) for text in pair[1]],
                          ((one, texts[::2]), (other, texts[1::2]))))
    lines = check_lines(how_to)
    print("%d passed, 0 failed" % (len(texts) + lines))


if __name__ == "__main__":
    main()
