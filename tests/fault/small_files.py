"""small_files.py - the disk fails in the small files beside the record, and in those that are asked
for: the lock, the key, what the bench remembers, sheets, drawings, bundles.

Each command runs once under strace, which tells every call that touches such a file. Then it runs
once for each of these calls and each way in which it can fail, once and for good: the call does
not happen, and the program is given the error. Whatever fails: one line that says so, or all is as
it should be; no half file under its name; the record audited yes; the same command then does it.

A sample of some calls by the seed BW_SEED; all of them where BW_DISK is `all`.
"""

import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time

from bench import PROGRAM, ROOT, check

SEED = int(os.environ.get("BW_SEED", "20261125"))
ALL = os.environ.get("BW_DISK") == "all"
SAMPLE = 5  # of the points of each command

SEQUENCE = """sequence {
  title = "Flange of the slipway winch", engine = "Slipway winch gearbox", edition = "1",
  document = "Winch handbook of the harbour pilot service, invented, page 9", revision = "A",
  invented = true, torque_unit = "N.m" }
group { name = "flange", say = "flange bolts", thread = "M8x1.25", class = "8.8",
  lubricant = "engine oil", places = circle { n = 2, diameter = mm(90) }, order = "listed" }
tighten { id = "bolts", say = "Flange bolts.", group = "flange",
  stages = { torque { Nm(12), within = percent(6) } } }
"""
TRACE = "time_s,torque_Nm,angle_deg\n" + "".join(
    "%.2f,%.2f,%.2f\n" % (i * 0.01, max(0, min(i - 20, 60)) * 0.2 if i < 100 else 0,
                          max(0, min(i - 20, 60)) * 0.5) for i in range(160))
READINGS = "".join("%.2f\n" % (target * factor) for target in (8, 72, 120)
                   for factor in (1.002, 0.999, 1.001, 1.0, 1.003))

# The errors that a call can give on a disk that is full, read-only, broken or not ours.
WAYS = {
    "openat": ("EIO", "EACCES", "EMFILE"),
    "openat for writing": ("EIO", "ENOSPC", "EROFS", "EACCES", "EMFILE"),
    "read": ("EIO",), "pread64": ("EIO",), "getdents64": ("EIO",),
    "write": ("EIO", "ENOSPC"), "pwrite64": ("EIO", "ENOSPC"),
    "fsync": ("EIO", "ENOSPC"), "ftruncate": ("EIO",), "flock": ("ENOLCK",),
    "rename": ("EIO", "ENOSPC", "EROFS"), "link": ("EIO", "ENOSPC"), "unlink": ("EIO", "EROFS"),
    "mkdir": ("ENOSPC", "EROFS", "EACCES"), "access": ("EIO", "EACCES"),
    "newfstatat": ("EIO",), "close": ("EIO",),
}
CALL = re.compile(r"(\w+)\((.*)\) += (-?\d+)")


class Case:
    """One command in a folder of its own, made anew for every point."""

    def __init__(self, name, words, out=None, record=True, stdin="", before=None, stdout=None,
                 adds=True):
        self.name, self.words, self.out, self.record = name, words, out, record
        self.stdin, self.before, self.stdout, self.adds = stdin, before, stdout, adds


class Place:
    """The folder: home, state, out."""

    def __init__(self, origin, case):
        self.folder = tempfile.mkdtemp(prefix="bw-disk-", dir="/dev/shm" if os.access(
            "/dev/shm", os.W_OK) else None)
        self.case = case
        if case.record:
            shutil.copytree(origin, self.folder, dirs_exist_ok=True)
        os.makedirs(self.path("out"), exist_ok=True)
        self.env = dict(os.environ, XDG_STATE_HOME=self.path("state"), LOGNAME="A. Lund",
                        ASAN_OPTIONS="detect_leaks=0")  # which cannot be looked for under strace
        for name, text in (("flange.lua", SEQUENCE), ("trace.csv", TRACE)):
            with open(self.path(name), "w", encoding="utf-8") as file:
                file.write(text)
        if case.before is not None:
            case.before(self)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        shutil.rmtree(self.folder)

    def path(self, *names):
        return os.path.join(self.folder, *names)

    def program(self, *words, prefix=(), stdin="", stdout=None):
        done = subprocess.run([*prefix, PROGRAM, *words, "--home", "home"], cwd=self.folder,
                              env=self.env, input=stdin.encode(), stderr=subprocess.PIPE,
                              stdout=stdout or subprocess.PIPE, timeout=60, check=False)
        return done.returncode, (done.stdout or b"").decode(), done.stderr.decode()

    def run(self, prefix=()):
        """The case's own command; its standard output may be a file."""
        stdout = None
        if self.case.stdout is not None:
            stdout = open(self.path(self.case.stdout), "wb")  # pylint: disable=consider-using-with
        try:
            return self.program(*self.case.words, prefix=prefix, stdin=self.case.stdin,
                                stdout=stdout)
        finally:
            if stdout is not None:
                stdout.close()

    def made(self):
        """What lies under the name that was asked for; None where nothing does."""
        if self.case.out is None or not os.path.exists(self.path(self.case.out)):
            return None
        with open(self.path(self.case.out), "rb") as file:
            return file.read()

    def litter(self):
        return [name for folder, _, names in os.walk(self.folder) for name in names
                if ".new-" in name or name.endswith((".part", ".new"))]

    def entries(self):
        code, out, err = self.program("export", "--all")
        if code == 3 and "there is no record" in err:
            return []
        check(code == 0, "export afterwards: " + err)
        return [json.loads(line)["entry"] for line in out.splitlines()]


def points_of(place):
    """(call, n-th of its name, error) for every call on a small file, out of one run; what it
    says."""
    log = place.path("log")
    code, said, err = place.run(["strace", "-y", "-s", "512", "-o", log, "-e",
                              "trace=" + ",".join(name for name in WAYS if " " not in name)])
    check(code == 0, "%s: %s" % (place.case.name, err))
    count = {}
    points = []
    with open(log, encoding="utf-8", errors="replace") as lines:
        for line in lines:
            found = CALL.match(line)
            if found is None:
                continue
            name, words, result = found[1], found[2], int(found[3])
            count[name] = count.get(name, 0) + 1
            if not touches(place, name, words, result):
                continue
            kind = name
            if name == "openat" and ("O_WRONLY" in words or "O_RDWR" in words):
                kind = "openat for writing"
            points += [(name, count[name], error, words[:90]) for error in WAYS[kind]]
    return points, said


def touches(place, name, words, result):
    """Whether the call is about a file of the folder that is not the database."""
    if "record.db" in words and name != "openat":
        return False
    if name in ("newfstatat", "access", "mkdir", "unlink") and result != 0:
        return False # the answer was no: nothing is there, or all is there already
    if name == "newfstatat" and not re.search(r"/(seen|key|edge|lock|out)", words):
        return False # the way to the home folder
    if "trace.csv" in words or "flange.lua" in words or words.startswith(("1<pipe", "2<pipe")):
        return False # what was named by the user; what is said
    quoted = re.search(r'"([^"]*)"', words)
    relative = quoted is not None and quoted[1].startswith(("home", "out", "./home"))
    return "<" + place.folder + "/" in words.replace("AT_FDCWD<" + place.folder, "") or relative \
        or '"' + place.folder + "/" in words


def injected(place, call, nth, error, lasting):
    return place.run(["strace", "-o", "/dev/null", "-e", "trace=" + call, "-e",
                      "inject=%s:error=%s:when=%d%s" % (call, error, nth, "+" if lasting else "")])


def hold(place, good, old, before, answer, point):
    """What must be so after the point."""
    code, said, err = answer
    asked = err.rfind("or tool and reference? ")  # by a calibration
    lines = err[asked + 23 if asked >= 0 else 0:].splitlines()
    no_key = lines[:1] and "the sheet shows no public key: " in lines[0]
    made = place.made()
    mute = point == ("write", point[1], True)  # nothing at all could be written, no error either
    check(code in (0, 3) or (code == 2 and point[1] == "EACCES"), "exit code %d: %s" % (code, err))
    if code == 0:
        check(place.case.adds or no_key or (made, said) == good, "yes, and another answer")
        check(place.case.out is None or made is not None, "said yes, wrote nothing")
    else:
        lines = lines[1:] if no_key and len(lines) > 1 else lines
        told = len(lines) == 1 and lines[0].startswith("boltwright: ")
        check(told or (mute and lines == []), "not one line: %s" % err)
        check(place.case.stdout is not None or made == old, "a half file: %s" % str(made)[:80])
    there = place.entries()
    check(there[:len(before)] == before, "entries were lost")
    if place.case.name == "a build" and code == 0:
        check(there[-1]["kind"] == "build_closed", "said closed, and is not")
    if there:
        audited, out, err = place.program("audit")
        check(audited == 0, "audit: %s%s" % (out, err))
    again = place.run()
    check(again[0] == 0 or (code == 0 and "there already" in again[2]), "the next start: %s" %
          again[2])
    check(place.litter() == [], "left over: %s" % place.litter())


def cut_off_key(place):
    """A change of the key that ended before the new one was in its place."""
    place.program("key", "new", prefix=["strace", "-o", "/dev/null", "-e", "trace=rename", "-e",
                                        "inject=rename:signal=KILL:when=4"])
    check(os.path.exists(place.path("home", "key.next")), "the change was not cut off")


def keys_and_note(place):
    shutil.copy(place.path("home", "key.pub"), place.path("out", "key.txt"))
    shutil.copy(place.path("home", "seen"), place.path("out", "note.txt"))


def a_tool(place):
    code, _, err = place.program("tool", "add", "w9", "--range", "8..120 N.m",
                                 "--resolution", "0.01")
    check(code == 0, err)


CASES = [
    Case("the first entry", ["tool", "add", "w1", "--range", "8..120 N.m", "--resolution", "0.01"],
         record=False),
    Case("a build", ["rehearse", "flange.lua", "--speed", "0", "--build", "R7"]),
    Case("a key", ["key", "new"]),
    Case("a key again", ["key", "new"], before=cut_off_key),
    Case("the public key", ["key", "show"], adds=False),
    Case("an audit", ["audit", "--public-key", "out/key.txt", "--checkpoint", "out/note.txt"],
         before=keys_and_note, adds=False),
    Case("a bundle", ["export", "R1", "--format", "bundle", "--checkpoint", "out/note.txt"],
         out="out/bundle.jsonl", stdout="out/bundle.jsonl", before=keys_and_note, adds=False),
    Case("an export", ["export", "--all", "--format", "csv"], out="out/all.csv",
         stdout="out/all.csv", adds=False),
    Case("a sheet in text", ["sheet", "R1", "-o", "out/sheet.txt"], out="out/sheet.txt",
         adds=False),
    Case("a sheet in PDF", ["sheet", "R1", "-o", "out/sheet.pdf"], out="out/sheet.pdf",
         adds=False),
    Case("a calibration's sheet", ["tool", "calibrate", "w9", "-o", "out/w9.txt"],
         out="out/w9.txt", stdin=READINGS, before=a_tool),
    Case("a plan drawn", ["check", "flange.lua", "--plot", "out/plan.svg"], out="out/plan.svg",
         record=False, adds=False),
    Case("a pull drawn", ["judge", "trace.csv", "--sequence", "flange.lua", "--group", "flange",
                          "--stage", "1", "--plot", "out/pull.svg"], out="out/pull.svg",
         record=False, adds=False),
    Case("a new sequence", ["new", "out/fresh"], out="out/fresh/fresh.lua", record=False,
         adds=False),
]


def make_origin(folder):
    """A record with a build, a tool, a key."""
    with Place(folder, Case("", [], record=False)) as place:
        code, _, err = place.program("rehearse", "flange.lua", "--speed", "0", "--build", "R1")
        check(code == 0, err)
        shutil.rmtree(place.path("state"))  # it is named by the folder's path
        shutil.copytree(place.folder, folder)


def good_of(origin, case):
    with Place(origin, case) as place:
        points, said = points_of(place)
        return points, (place.made(), said)


def drawn(points, chance, loops):
    """All ways of the points, or some. loops: an event loop, whose own pipes no disk touches."""
    every = [(*point, lasting) for point in points for lasting in (False, True)
             if not (lasting and (point[0] in ("read", "write") and loops or
                                  point[0] in ("newfstatat", "access")))]  # other files then
    return every if ALL else chance.sample(every, min(SAMPLE, len(every)))


def main():
    chance = random.Random(SEED)
    failures = []
    total = 0
    folder = os.path.join(tempfile.mkdtemp(prefix="bw-origin-"), "origin")
    make_origin(folder)
    for case in CASES:
        began = time.monotonic()
        points, good = good_of(folder, case)
        check(points, case.name + ": no call found")
        some = drawn(points, chance, case.name == "a build")
        failed = 0
        for call, nth, error, words, lasting in some:
            with Place(folder, case) as place:
                old = place.made()
                before = place.entries() if case.record else []
                try:
                    hold(place, good, old, before, injected(place, call, nth, error, lasting),
                         (call, error, lasting))
                except AssertionError as why:
                    failed += 1
                    failures.append("%s: %s %d gives %s%s\n     (%s)\n     %s" % (
                        case.name, call, nth, error, " for good" if lasting else "", words, why))
        total += len(some)
        print("%s %-22s %4d of %4d points, %4.1f s" % ("FAIL" if failed else "ok  ", case.name,
                                                     len(some), 2 * len(points),
                                                     time.monotonic() - began), flush=True)
    shutil.rmtree(os.path.dirname(folder))
    for failure in failures[:2000 if ALL else 20]:
        print("FAILED " + failure)
    print("%d failing calls, %d answers wrong; seed %d" % (total, len(failures), SEED))
    return 1 if failures else 0


if __name__ == "__main__":
    if shutil.which("strace") is None:
        sys.exit("strace is not installed; sh .ci/setup test installs it")
    sys.exit(main())
