#!/usr/bin/python3
"""The program on a real terminal of 80 by 24: each prompt has the screen to itself, unless --plain."""
import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios

import bench as benches
from bench import check

SMALL = os.path.join(benches.ROOT, "tests", "browser", "small.lua")
CLEARED = "\x1b[H\x1b[J"
COLOUR = re.compile(r"\x1b\[[0-9;]*m")


class Terminal:
    """A build at a terminal, with a wrench whose torque is typed."""

    def __init__(self, home, *extra, **environment):
        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        env = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
        env.update({"TERM": "xterm"}, **environment)
        self.process = subprocess.Popen(
            [benches.PROGRAM, "run", SMALL, "--build", "x", "--home", home, "--wrench", "hand",
             "--by", "A. Lund", *extra], stdin=slave, stdout=slave, stderr=slave, env=env)
        os.close(slave)
        self.text = self.read("Read?")

    def read(self, until):
        got = ""
        while until not in got:
            ready = select.select([self.master], [], [], benches.PATIENCE_S)[0]
            check(ready, "no %r in %r" % (until, got[-300:]))
            try:
                got += os.read(self.master, 65536).decode()
            except OSError:
                break
        return got

    def type(self, line, until):
        os.write(self.master, (line + "\n").encode())
        got = self.read(until)
        self.text += got
        return got

    def to_pulls(self):
        for line, until in (("yes", "Write it down"), ("W-7", "Which?"), ("flat", "gap, left"),
                            ("0.20", "gap, right"), ("0.30", "Done?"), ("yes", "Pull.")):
            self.type(line, until)
        return self.type("20 Nm", "Pull.")

    def end(self):
        self.type("pause", "the record has")
        check(self.process.wait(benches.PATIENCE_S) == 0, "it did not pause well")
        os.close(self.master)


def at_terminal(*extra, **environment):
    with benches.Bench(SMALL) as bench:
        terminal = Terminal(bench.home, *extra, **environment)
        last = terminal.to_pulls()
        terminal.end()
        return terminal.text, last


def test_each_prompt_has_the_screen():
    text, last = at_terminal()
    check(text.count(CLEARED) == 7, "cleared %d times, not 7" % text.count(CLEARED))
    screen = COLOUR.sub("", last.split(CLEARED)[-1]).replace("\r", "")
    lines = screen.split("\n")
    check(len(lines) <= 24, "%d lines on a screen of 24:\n%s" % (len(lines), screen))
    check(max(map(len, lines)) <= 80, "a line is longer than 80")
    for wanted in ("stage 1: pass, 20.0", "=1=", ">2<", "Lubricant:", "Washers:", "limits",
                   "lbf", "MUST NOT HAPPEN NOW", "Figures:", "2 of 4 in the order"):
        check(wanted in screen, "the screen has no %r:\n%s" % (wanted, screen))


def test_plain():
    text, _ = at_terminal("--plain")
    check("\x1b" not in text, "--plain moves or colours: %r" % text[text.find("\x1b"):][:40])


def test_no_color():
    text, _ = at_terminal(NO_COLOR="1")
    check(CLEARED in text, "NO_COLOR keeps the screen from being redrawn")
    check(not COLOUR.search(text), "NO_COLOR is not obeyed")


def test_dumb():
    text, _ = at_terminal(TERM="dumb")
    check(CLEARED not in text and not COLOUR.search(text), "a dumb terminal got tricks")


if __name__ == "__main__":
    sys.exit(benches.main([test_each_prompt_has_the_screen, test_plain, test_no_color, test_dumb]))
