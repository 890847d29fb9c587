"""hostile.py - sequences from strangers who mean harm: what each file of hostile/ comes to.

The first line of a file says it: `-- rejected`, `-- stopped` or `-- harmless`, perhaps with a part of
what its author is told.  Rejected: the mistakes are named, nothing had to be stopped.  Stopped: a limit
on time, memory or output ended it; where it grows slowly, the machine decides which of them comes
first.  Harmless: it is a plan like any other.  Each ends in time, the program's own memory hardly
grows, and whatever came before, the next one is checked as if it had come first."""

import glob
import json
import os
import re
import subprocess
import sys
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor

from bench import PROGRAM, ROOT, check, main

HOSTILE = os.path.join(ROOT, "tests", "fault", "hostile")
SHORT_BLOCK = os.path.join(ROOT, "sequences", "curlew4", "short-block.lua")
LEAST_FILES = 60
AT_ONCE = 50            # files that one `check` takes
LIMIT_S = 1.25        # limit and 250 ms; told, since other work of the machine counts in it
WIDE_LIMIT_S = 10.0   # what a loaded machine keeps too
GROWTH_KIB = 64 << 10 # what a sequence may need: the program itself stays below it

CLASSES = {"memory", "loop", "swallow", "coroutines", "finalizer", "call", "depth", "parser", "loader",
           "bytecode", "reach", "poison", "address", "error", "number", "count", "shape", "changing",
           "name", "flood", "host"}


DRAWER = """
sequence { title = "T", engine = "E", document = "D", invented = true }
measure { id = "lash", say = "Lash.", readings = { reading { id = "r", say = "r", unit = "mm",
          decimals = 2, plausible = { mm(2), mm(3) } } },
          derive = { value { id = "v", say = "v", formula = "mean", of = "r", unit = "mm", decimals = 2 } } }
choose { id = "shim", say = "Shim.", after = "lash", of = { step = "lash", value = "v" },
         within = mm(0.01), stock = { mm(9.00) } }
"""


def files():
    return sorted(glob.glob(os.path.join(HOSTILE, "*-*.*")))


def wanted(path):
    """Outcome and part of the message; compiled code (.bin) carries no comment, and is rejected."""
    with open(path, "rb") as text:
        line = text.readline().decode("utf-8", "replace").rstrip("\n")
    found = re.match(r"-- (rejected|stopped|harmless)(?:: (.*))?$", line)
    if found is None:
        check(path.endswith(".bin"), "%s names no outcome" % path)
        return "rejected", ""
    return found.group(1), found.group(2) or ""


class Memory(threading.Thread):
    """The most that a process has used, in KiB; asked until it is gone."""

    def __init__(self, pid):
        super().__init__()
        self.path = "/proc/%d/status" % pid
        self.most_KiB = 0
        self.start()

    def run(self):
        while True:
            try:
                with open(self.path, encoding="ascii") as status:
                    found = re.search(r"VmHWM:\s+(\d+) kB", status.read())
            except OSError:
                return
            if found is None:
                return
            self.most_KiB = max(self.most_KiB, int(found.group(1)))
            time.sleep(0.01)


def outcome_of(paths):
    """What `check` makes of them: outcome of the last, what it says, seconds, KiB."""
    begin_s = time.monotonic()
    process = subprocess.Popen([PROGRAM, "check"] + paths, stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE, stdin=subprocess.DEVNULL)
    memory = Memory(process.pid)
    _, err = process.communicate(timeout=120)
    took_s = time.monotonic() - begin_s
    memory.join()
    said = err.decode("utf-8", "strict")
    no_text = process.returncode == 3 and re.search("is not a text|that nobody would see", said)
    check(process.returncode in (0, 1) or no_text, "%s: %d: %s" % (paths, process.returncode, said[:300]))
    ill = [c for c in said if (ord(c) < 0x20 and c != "\n") or 0x7F <= ord(c) <= 0x9F or
           0x202A <= ord(c) <= 0x202E]
    check(not ill, "it shows %r" % ill[:3])
    outcome = "harmless"
    if process.returncode != 0:
        outcome = "stopped" if re.search(r" was stopped| and was stopped", said) else "rejected"
    return outcome, said, took_s, memory.most_KiB


def test_each_file():
    usual_KiB = max(outcome_of([SHORT_BLOCK])[3] for _ in range(5))
    slowest = (0.0, "")
    largest = (0, "")
    wrong = []
    with ThreadPoolExecutor(2) as pool:
        ended = list(pool.map(lambda path: outcome_of([path]), files()))
    for path, (outcome, said, took_s, KiB) in zip(files(), ended):
        name = os.path.basename(path)
        want, part = wanted(path)
        if outcome != want or part not in said:
            wrong.append("%s: %s, not %s %s: %s" % (name, outcome, want, part, said[:160]))
        slowest = max(slowest, (took_s, name))
        largest = max(largest, (KiB, name))
    check(not wrong, "\n".join(wrong))
    print("%d files; slowest %.2f s (%s), %s %.2f s; most memory %d KiB (%s), usual %d KiB" % (
        len(files()), *slowest, "within" if slowest[0] <= LIMIT_S else "over", LIMIT_S, *largest,
        usual_KiB))
    check(slowest[0] < WIDE_LIMIT_S, "%s took %.1f s" % (slowest[1], slowest[0]))
    check(largest[0] < usual_KiB + GROWTH_KIB, "%s took %d KiB" % (largest[1], largest[0]))


def test_nothing_carries_over():
    """All that end by themselves, one after the other in one run, and a plain one behind them."""
    quick = [path for path in files() if wanted(path)[0] != "stopped"]
    for i in range(0, len(quick), AT_ONCE):
        _, said, _, _ = outcome_of(quick[i:i + AT_ONCE] + [SHORT_BLOCK])
        check("short-block.lua" not in said, "the last one was told of: %s" % said[-300:])


def lie_in_wait(folder):
    """Paths that are no sequence: (name, exit code, part of the line)."""
    path = lambda name: os.path.join(folder, name)
    os.mkfifo(path("pipe.lua"))
    os.mkdir(path("folder.lua"))
    for name, target in (("zero", "/dev/zero"), ("random", "/dev/random"), ("loop", "loop.lua"),
                         ("nowhere", "/nowhere/x"), ("memory", "/proc/self/mem")):
        os.symlink(target, path(name + ".lua"))
    with open(path("sparse.lua"), "wb") as out:
        out.truncate(1 << 40)
    with open(path("long.lua"), "wb") as out:
        out.write(b"-- " + b"x" * 10_000_000)
    with open(path("utf16.lua"), "wb") as out:
        out.write("note{id = 'n', say = 's'}".encode("utf-16"))
    return [("pipe", 3, "is not a plain file"), ("folder", 3, "is a folder, where a file is meant"),
            ("zero", 3, "is not a plain file"), ("random", 3, "is not a plain file"),
            ("loop", 3, "symbolic links"), ("nowhere", 2, "there is no such file"),
            ("memory", 3, "cannot be read"), ("sparse", 3, "is longer than 1048576 bytes"),
            ("long", 3, "is longer than 1048576 bytes"), ("utf16", 3, "is not a text")]


def test_odd_paths():
    with tempfile.TemporaryDirectory() as folder:
        for name, code, part in lie_in_wait(folder):
            begin_s = time.monotonic()
            done = subprocess.run([PROGRAM, "check", os.path.join(folder, name + ".lua")], timeout=60,
                                  capture_output=True, text=True, check=False)
            lines = done.stderr.splitlines()
            check(done.returncode == code and len(lines) == 1 and part in lines[0],
                  "%s: %d: %s" % (name, done.returncode, done.stderr[:300]))
            check(time.monotonic() - begin_s < WIDE_LIMIT_S, "%s took too long" % name)


def lay_modules(folder):
    """Modules that are none, and sequences that want them: (text, outcome, part)."""
    def put(name, text):
        os.makedirs(os.path.dirname(os.path.join(folder, name)), exist_ok=True)
        with open(os.path.join(folder, name), "wb") as out:
            out.write(text if isinstance(text, bytes) else text.encode())

    for i in range(200):
        put("job/m%d.lua" % i, "return %d" % i)
    for i in range(31):
        put("job/big%d.lua" % i, "return '%s'" % ("x" * 1_000_000))
    for name, text in (("c1", "return require 'c2'"), ("c2", "return require 'c1'"),
                       ("loop", "while true do end"), ("fails", "error({})"),
                       ("half", "note{id = 'd', say = 's'} error 'x'"), ("code", b"\x1bLuaT")):
        put("job/%s.lua" % name, text)
    put("above.lua", "return 1")
    os.mkfifo(os.path.join(folder, "job/pipe.lua"))
    os.mkdir(os.path.join(folder, "job/folder.lua"))
    os.mkdir(os.path.join(folder, "job/lib"))
    os.symlink("/etc/passwd", os.path.join(folder, "job/passwd.lua"))
    os.symlink("/etc", os.path.join(folder, "job/lib/etc"))
    return [
        ("for i = 0, 199 do require('m' .. i) end", "rejected", "more than 32 modules"),
        ("local t = {} for i = 0, 30 do t[i] = require('big' .. i) end for i = 0, 99 do t[-i] = t[1] .. i end",
         "stopped", ""),
        ("require 'c1'", "rejected", "`c1` requires itself"),
        ("require 'main'", "rejected", "main.lua is the sequence itself"),
        ("require '../above'", "rejected", "require takes the name of a module"),
        ("require 'lib/../../above'", "rejected", "require takes the name of a module"),
        ("require '/etc/passwd'", "rejected", "require takes the name of a module"),
        ("require 'passwd'", "rejected", "is a link"),
        ("require 'etc/passwd'", "rejected", "is neither beside the sequence"),
        ("require 'pipe'", "rejected", "is not a plain file"),
        ("require 'folder'", "rejected", "is a folder, where a file is meant"),
        ("require 'code'", "rejected", "this is compiled Lua"),
        ("require 'loop'", "stopped", "loop.lua:1"),
        ("for i = 1, 100 do pcall(require, 'fails') end", "harmless", ""),
        ("pcall(require, 'half') pcall(require, 'half')", "harmless", "")]


def test_modules():
    head = "sequence{title = 'T', engine = 'E', document = 'D'} note{id = 'n', say = 's'}\n"
    with tempfile.TemporaryDirectory() as folder:
        for text, outcome, part in lay_modules(folder):
            path = os.path.join(folder, "job", "main.lua")
            with open(path, "w", encoding="utf-8") as out:
                out.write(head + text)
            got, said, took_s, KiB = outcome_of([path])
            check(got == outcome and part in said, "%s: %s: %s" % (text, got, said[:300]))
            check(outcome == "harmless" or said.count("\n") == 1, "%s: %s" % (text, said[:600]))
            check(took_s < WIDE_LIMIT_S, "%s took %.1f s" % (text, took_s))
            check(KiB < 2 * GROWTH_KIB, "%s took %d KiB" % (text, KiB))


def rehearsed(path):
    """Outcome and what it says; it ends by itself."""
    with tempfile.TemporaryDirectory() as home:
        done = subprocess.run([PROGRAM, "rehearse", path, "--speed", "0", "--seed", "1", "--build", "b",
                               "--home", home, "--json"], stdin=subprocess.DEVNULL, timeout=60,
                              capture_output=True, text=True, check=False)
    check(done.stdout != "", "%s: %s" % (path, done.stderr[:300]))
    return json.loads(done.stdout.splitlines()[-1])["outcome"], done.stderr


def test_harmless_ones_are_rehearsed():
    """But for those that are only long."""
    paths = [path for path in files() if wanted(path)[0] == "harmless" and "/count-" not in path]
    for path in paths:
        outcome, said = rehearsed(path)
        check(outcome == "complete", "%s: %s: %s" % (path, outcome, said[:300]))
    print("%d rehearsed" % len(paths))


def test_rehearsal_that_does_not_get_on():
    """No size in the drawer is near enough, whatever the builder answers."""
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "drawer.lua")
        with open(path, "w", encoding="utf-8") as out:
            out.write(DRAWER)
        outcome, said = rehearsed(path)
        check(outcome == "paused" and "shim does not get on" in said, "%s: %s" % (outcome, said))


def test_corpus_is_whole():
    names = [os.path.basename(path) for path in files()]
    check(len(names) >= LEAST_FILES, "%d files" % len(names))
    classes = {name.split("-")[0] for name in names}
    check(classes == CLASSES, "classes: %s" % (classes ^ CLASSES))
    outcomes = {wanted(path)[0] for path in files()}
    check(outcomes == {"rejected", "stopped", "harmless"}, "%s" % outcomes)


if __name__ == "__main__":
    sys.exit(main([test_corpus_is_whole, test_each_file, test_nothing_carries_over, test_odd_paths,
                   test_modules, test_harmless_ones_are_rehearsed,
                   test_rehearsal_that_does_not_get_on]))
