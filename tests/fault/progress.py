"""progress.py - what takes over a second says on a terminal how far it has come, and takes the line
away; on no terminal it says nothing. By leap.c's clock each look is two seconds after the one before
it, or at the same time, however busy the machine is."""

import os
import pty
import re
import subprocess
import sys
import threading
import tty

from bench import Bench, check, main

LEAP = os.environ["BW_LEAP"]
HERE = os.path.dirname(os.path.abspath(__file__))
SEQUENCE = os.path.join(HERE, "sheets.lua")
WINCH = os.path.join(HERE, "..", "..", "sequences", "winch-flange", "winch-flange.lua")


END = b"\x04"


def read_all(master, told):
    """What comes to a terminal, up to what stands for its end."""
    while not told or not told[-1].endswith(END):
        told.append(os.read(master, 65536))


def watched(bench, *words, late=True, out_is_terminal=False, terminal=True):
    """What a command writes on standard error, a terminal; (code, told)."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    env = dict(os.environ, LD_PRELOAD=LEAP,
               ASAN_OPTIONS="verify_asan_link_order=0:" + os.environ.get("ASAN_OPTIONS", ""))
    if late:
        env["BW_LEAPS"] = "1"
    told = []
    reader = threading.Thread(target=read_all, args=(master, told))
    reader.start()
    done = subprocess.run([os.environ["BOLTWRIGHT"], *words, "--home", bench.home], env=env, check=False,
                          stdin=subprocess.DEVNULL, timeout=120,
                          stdout=slave if out_is_terminal else subprocess.PIPE,
                          stderr=slave if terminal else subprocess.PIPE)
    os.write(slave, END)
    reader.join()
    os.close(master)
    os.close(slave)
    return done.returncode, (b"".join(told) if terminal else done.stderr).decode().replace(END.decode(), "")


def on_the_screen(told):
    """What is left to be seen when the carriage has returned as often as it did."""
    line = ""
    for part in told.split("\r"):
        line = part + line[len(part):]
    return line.strip()


def bench_with_builds():
    bench = Bench(build="mock")
    for build in ("mock", "other"):
        code, _, err = bench.program("rehearse", SEQUENCE, "--speed", "0", "--build", build)
        check(code == 0, err)
    return bench


def commands(bench):
    bundle = os.path.join(bench.folder, "mock.bundle")
    with open(bundle, "w", encoding="utf-8") as out:
        out.write(bench.program("export", "mock", "--format", "bundle")[1])
    pdf = os.path.join(bench.folder, "mock.pdf")
    return (
        (["audit"], r"\d+ of \d+ entries checked"),
        (["audit", "--rejudge"], r"\d+ of \d+ entries judged again"),
        (["audit", "--build", "other"], r"\d+ of \d+ entries read"),
        (["audit", bundle, "--rejudge"], r"\d+ entries judged again"),
        (["export", "--all"], r"\d+ of \d+ entries read"),
        (["export", "mock", "--format", "csv"], r"\d+ of \d+ entries read"),
        (["export", "mock", "--format", "bundle"], r"\d+ of \d+ entries read"),
        (["sheet", "mock", "-o", pdf], r"\d+ of \d+ pages drawn"),
        (["sheet", "mock", "-o", pdf], r"\d+ curves drawn"),
        (["sheet", "mock"], r"\d+ of \d+ entries read"),
        (["check", SEQUENCE, WINCH], r"1 of 2 sequences checked"),
        (["rehearse", SEQUENCE, "--speed", "0", "--json"], r"\d+ of 8 steps rehearsed"),
    )


def test_each_long_command_tells_and_cleans_up():
    with bench_with_builds() as bench:
        for words, line in commands(bench):
            code, told = watched(bench, *words)
            check(code == 0 or words[0] == "audit", "%s: exit code %d: %s" % (words, code, told))
            check(re.search("\r" + line, told), "%s tells nothing: %r" % (words, told[-300:]))
            check("\n" not in told and on_the_screen(told) == "", "%s leaves %r" % (words, told[-300:]))
            check(max(len(part) for part in told.split("\r")) < 79, "%s: too long a line" % words)


def test_silence_where_it_is_due():
    """Within a second, where nobody sees it, and where the answer itself fills the screen."""
    with bench_with_builds() as bench:
        for words, _ in commands(bench):
            check(watched(bench, *words, late=False)[1] == "", "%s within a second" % words)
            check(watched(bench, *words, terminal=False)[1] == "", "%s on a pipe" % words)
        for words in (["export", "--all"], ["check", SEQUENCE, WINCH],
                      ["rehearse", SEQUENCE, "--speed", "0", "--json"]):
            told = watched(bench, *words, out_is_terminal=True)[1]
            check(not re.search(r"entries read|sequences checked|steps rehearsed", told), "%s" % words)


def test_a_complaint_stands_on_a_line_of_its_own():
    with bench_with_builds() as bench:
        for words in (["sheet", "nobody"], ["export", "nobody"], ["audit", "--build", "nobody"]):
            code, told = watched(bench, *words)
            check(code == 2 and re.search(r"\rboltwright: [^\r]*nobody[^\r]*\n$", told), "%r" % told)


if __name__ == "__main__":
    sys.exit(main([
        test_each_long_command_tells_and_cleans_up,
        test_silence_where_it_is_due,
        test_a_complaint_stands_on_a_line_of_its_own,
    ]))
