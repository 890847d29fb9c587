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

    def __init__(self, home, *extra, size=(24, 80), wrench="hand", **environment):
        self.master, slave = pty.openpty()
        self.resize(*size)
        env = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
        env.update({"TERM": "xterm"}, **environment)
        self.process = subprocess.Popen(
            [benches.PROGRAM, "run", SMALL, "--build", "x", "--home", home, "--wrench", wrench,
             "--by", "A. Lund", *extra], stdin=slave, stdout=slave, stderr=slave, env=env)
        os.close(slave)
        self.text = self.read("Read?")

    def read(self, *until):
        """What comes up to any of these."""
        got = ""
        while not any(end in got for end in until):
            ready = select.select([self.master], [], [], benches.PATIENCE_S)[0]
            check(ready, "no %r in %r" % (until, got[-300:]))
            try:
                got += os.read(self.master, 65536).decode()
            except OSError:
                break
        return got

    def resize(self, lines, columns):
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))

    def type(self, line, until):
        os.write(self.master, (line + "\n").encode())
        got = self.read(until)
        self.text += got
        return got

    def to_first_pull(self):
        for line, until in (("yes", "Write it down"), ("W-7", "Which?"), ("flat", "gap, left"),
                            ("0.20", "gap, right"), ("0.30", "Done?"), ("yes", "Pull.")):
            last = self.type(line, until)
        return last

    def to_pulls(self):
        self.to_first_pull()
        return self.type("20 Nm", "Pull.")

    def end(self):
        self.type("pause", "the record has")
        check(self.process.wait(benches.PATIENCE_S) == 0, "it did not pause well")
        os.close(self.master)


def at_terminal(*extra, **more):
    with benches.Bench(SMALL) as bench:
        terminal = Terminal(bench.home, *extra, **more)
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


def screen_of(text):
    return COLOUR.sub("", text.split(CLEARED)[-1]).replace("\r\n", "\n")


def widest(screen):
    return max(len(part) for line in screen.split("\n") for part in line.split("\r"))


def test_any_size():
    """What a pull needs is there, whatever the window: the same words, broken elsewhere."""
    for size in ((24, 40), (24, 80), (60, 200)):
        _, last = at_terminal(size=size)
        screen = screen_of(last)
        check(widest(screen) <= size[1], "%s: %d columns" % (size, widest(screen)))
        words = " ".join(screen.split())
        for wanted in ("stage 1: pass, 20.0", "=1=", ">2<", "Lubricant:", "2 of 4 in the order", "lbf"):
            check(wanted in words, "%s: the screen has no %r:\n%s" % (size, wanted, screen))


def half_pull(wrench, torques):
    for torque in torques:
        wrench.sample(torque, torque / benches.STIFFNESS_NM_PER_DEG)


def resized(**environment):
    """A pull in the middle of which the window becomes narrow; what came then, and the next prompt."""
    with benches.Bench(SMALL) as bench:
        terminal = Terminal(bench.home, wrench=bench.wrench.path, **environment)
        terminal.to_first_pull()
        half_pull(bench.wrench, [0.0] * 8 + [0.2 * i for i in range(50)])
        wide = terminal.read("N\u00b7m")
        terminal.resize(24, 40)
        half_pull(bench.wrench, [10 + 0.2 * i for i in range(50)] + [20.0 - i for i in range(20)] + [0.0] * 60)
        narrow = terminal.read("Pull.", "Which? ")
        terminal.end()
        return wide, narrow


def test_resized_in_mid_pull():
    wide, narrow = resized()
    check("#" in wide or "..." in wide, "no bar in %r" % wide)
    live = narrow.split(CLEARED)[0]
    late = COLOUR.sub("", live[len(live) // 2:])
    check("N\u00b7m" in late and widest(late) <= 40, "%d columns: %r" % (widest(late), late))
    check(widest(screen_of(narrow)) <= 40, "the next prompt is too wide:\n%s" % screen_of(narrow))


def test_a_live_line_on_a_dumb_terminal():
    wide, narrow = resized(TERM="dumb")
    check("\x1b" not in wide + narrow, "a dumb terminal got %r" % (wide + narrow))


def test_a_reader_who_leaves_is_told_nothing():
    with benches.Bench(SMALL) as bench:
        for words in (["check", benches.SHORT_BLOCK], ["rehearse", SMALL, "--speed", "0", "--build", "x"],
                      ["export", "x"], ["export", "x", "--format", "bundle"], ["sheet", "x"], ["--help"]):
            out, gone = os.pipe()
            os.close(out)
            home = [] if words == ["--help"] else ["--home", bench.home]
            done = subprocess.run([benches.PROGRAM] + words + home, stdout=gone, stderr=subprocess.PIPE,
                                  stdin=subprocess.DEVNULL, check=False, timeout=60)
            os.close(gone)
            check(done.stderr == b"", "%s: %r" % (words, done.stderr))
            check(done.returncode in (0, 3), "%s: exit code %d" % (words, done.returncode))


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
    sys.exit(benches.main([test_each_prompt_has_the_screen, test_plain, test_no_color, test_dumb,
                           test_any_size, test_resized_in_mid_pull, test_a_live_line_on_a_dumb_terminal,
                           test_a_reader_who_leaves_is_told_nothing]))
