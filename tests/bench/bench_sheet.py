#!/usr/bin/python3
"""What a start and a sheet take, in processor time of the program.  bench_sheet.py BOLTWRIGHT

Prints figures and checks none; not run by ctest.
"""

import os
import shutil
import statistics
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
TIMES = 15

MANY = """sequence { title = "Slipway", engine = "Winch flange", edition = "1", document = "invented",
  revision = "A", invented = true, torque_unit = "N.m" }
group { name = "flange", say = "flange bolts", lubricant = "oil",
  places = grid { rows = 20, columns = 25, dx = mm(60), dy = mm(60) }, order = "rows" }
tighten { id = "flange", say = "Tighten the flange.", group = "flange",
  stages = { torque { Nm(30), within = percent(6) }, torque { Nm(65), within = percent(5) } } }
"""


def used_ms(words):
    """Processor time of a run and of the children that it waited for."""
    pid = os.posix_spawn(words[0], words, os.environ, file_actions=[
        (os.POSIX_SPAWN_OPEN, 1, "/dev/null", os.O_WRONLY, 0)])
    _, status, usage = os.wait4(pid, 0)
    if status != 0:
        sys.exit("%s failed" % " ".join(words))
    return (usage.ru_utime + usage.ru_stime) * 1000


def tell(what, words):
    taken = [used_ms(words) for _ in range(TIMES)]
    print("%-52s median %7.1f ms, least %7.1f ms" % (what, statistics.median(taken), min(taken)))


def main(program):
    folder = tempfile.mkdtemp(prefix="bench-sheet-")
    try:
        home = os.path.join(folder, "home")
        many = os.path.join(folder, "many.lua")
        empty = os.path.join(folder, "empty")
        with open(many, "w", encoding="utf-8") as out:
            out.write(MANY)
        subprocess.run(["cc", "-O2", "-x", "c", "-", "-o", empty], input=b"int main(void){return 0;}",
                       check=True)
        short = os.path.join(ROOT, "sequences", "curlew4", "short-block.lua")
        for build, sequence in (("short", short), ("many", many)):
            subprocess.run([program, "rehearse", sequence, "--speed", "0", "--build", build, "--home",
                            home + build], check=True, stdout=subprocess.DEVNULL)
        tell("an empty C program", [empty])
        tell("boltwright --version", [program, "--version"])
        for build, says in (("short", "short block"), ("many", "500 fasteners, 1000 pulls and more")):
            for end in ("txt", "pdf", "svg"):
                sheet = os.path.join(folder, "sheet." + end)
                tell("%s: sheet as .%s" % (says, end),
                     [program, "sheet", build, "--home", home + build, "-o", sheet])
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main(os.path.abspath(sys.argv[1]))
