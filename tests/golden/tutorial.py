"""tutorial.py - docs/write-a-sequence.md followed to the letter, from an empty folder.

A lua block is put into, or added to, the file that the sentence before it names; `Change X to Y` is
done; the lines of an sh block are typed.  Each line of a text block has to be in what the commands
before it said; where such a line tells of a mistake, `check` has to have said no."""

import os
import re
import shlex
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.environ.get("BOLTWRIGHT", os.path.join(ROOT, "build", "test", "boltwright"))
PAGE = os.path.join(ROOT, "docs", "write-a-sequence.md")

FENCED = re.compile(r"^```(\w+)\n(.*?)^```$", re.M | re.S)
CHANGE = re.compile(r"^Change `([^`]+)` to `([^`]+)` in `([\w.]+)`\.$", re.M)


class Reader:
    def __init__(self, folder):
        self.folder = folder
        self.commands = 0
        self.ended = None  # exit code and what was said, until a block has looked at it
        self.env = {"PATH": os.path.dirname(PROGRAM) + ":" + os.environ["PATH"], "HOME": folder}

    def path(self, name):
        return os.path.join(self.folder, name)

    def look(self, wanted):
        """Once for each sh block: its text block, or none."""
        if self.ended is None:
            return
        code, said = self.ended
        mistakes = any(re.match(r"[\w.]+:\d+: ", line) for line in wanted)
        if code != (1 if mistakes else 0):
            sys.exit("exit code %d:\n%s" % (code, said))
        for line in wanted:
            if line not in said:
                sys.exit("not said: %s\nbut:\n%s" % (line, said))
        self.ended = None

    def type(self, text):
        said = ""
        code = 0
        for line in text.splitlines():
            done = subprocess.run(shlex.split(line), cwd=self.folder, env=self.env,
                                  capture_output=True, text=True, timeout=60, check=False)
            said += done.stdout + done.stderr
            code = max(code, done.returncode)
            self.commands += 1
        self.ended = (code, said)

    def write(self, text, sentence):
        found = re.findall(r"(Put|Add) this (?:in)?to `([\w.]+)`:\s*$", sentence)
        if not found:
            sys.exit("no file is named for:\n" + text)
        with open(self.path(found[0][1]), "w" if found[0][0] == "Put" else "a", encoding="utf-8") as out:
            out.write(text)

    def change(self, old, new, name):
        with open(self.path(name), encoding="utf-8") as kept:
            text = kept.read()
        if text.count(old) != 1:
            sys.exit("%s stands %d times in %s" % (old, text.count(old), name))
        with open(self.path(name), "w", encoding="utf-8") as out:
            out.write(text.replace(old, new))

    def follow(self, page):
        at = 0
        for block in FENCED.finditer(page):
            kind, text = block.groups()
            before = page[at:block.start()]
            if kind != "text":
                self.look([])
            for found in CHANGE.finditer(before):
                self.change(*found.groups())
            if kind == "lua":
                self.write(text, before)
            elif kind == "sh":
                self.type(text)
            elif kind == "text":
                self.look(text.splitlines())
            else:
                sys.exit("what is %s?" % kind)
            at = block.end()
        self.look([])


def main():
    with open(PAGE, encoding="utf-8") as page:
        page = page.read()
    with tempfile.TemporaryDirectory() as folder:
        reader = Reader(folder)
        reader.follow(page)
        if reader.commands < 5 or "rehearse" not in page:
            sys.exit("only %d commands" % reader.commands)
    print("%d commands typed, 1 passed, 0 failed" % reader.commands)


if __name__ == "__main__":
    main()
