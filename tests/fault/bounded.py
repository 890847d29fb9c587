"""bounded.py - judging again takes the memory of one pull, however many there are."""

import os
import subprocess
import sys

from bench import PROGRAM, Bench, check, main

GROWTH_KB = 4096  # judging again, beside the audit alone; the traces have ten times it
LIMIT_KB = 400 << 10  # of the longest line that there can be, and its room as it grows

SEQUENCE = """sequence {
  title = "Flange of many", engine = "Slipway winch gearbox", edition = "1",
  document = "Winch handbook of the harbour pilot service, invented, page 9", revision = "A",
  invented = true, torque_unit = "N.m" }
group { name = "flange", say = "flange bolts", thread = "M8x1.25", class = "8.8",
  lubricant = "engine oil", places = circle { n = 175, diameter = mm(1900) }, order = "listed" }
tighten { id = "bolts", say = "Flange bolts.", group = "flange",
  stages = { torque { Nm(6), within = percent(8) }, torque { Nm(12), within = percent(6) },
             torque { Nm(18), within = percent(6) }, torque { Nm(24), within = percent(5) } } }
"""


def peak_kB(bench, *words, code=0):
    """Most memory that the audit had; no less than this process, of which it was forked."""
    env = dict(os.environ)
    env["ASAN_OPTIONS"] = env.get("ASAN_OPTIONS", "") + ":quarantine_size_mb=1"
    process = subprocess.Popen([PROGRAM, "audit", *words, "--home", bench.home], env=env,
                               stdout=subprocess.DEVNULL,
                               stderr=None if code == 0 else subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    check(process.returncode == code, "%s: %d" % (words, process.returncode))
    return used.ru_maxrss


def test_of_a_record_and_of_a_bundle():
    with Bench() as bench:
        bundle = os.path.join(bench.folder, "bundle.jsonl")
        key = os.path.join(bench.folder, "key.txt")
        bench.sequence = os.path.join(bench.folder, "many.lua")
        with open(bench.sequence, "w", encoding="utf-8") as out:
            out.write(SEQUENCE)
        code, _, err = bench.program("rehearse", bench.sequence, "--speed", "0", "--build", "R1")
        check(code == 0, err)
        for path, words in ((bundle, ("export", "R1", "--format", "bundle")),
                            (key, ("key", "export"))):
            with open(path, "wb") as out:  # what this process reads would count
                subprocess.run([PROGRAM, *words, "--home", bench.home], stdout=out, check=True)
        size_kB = os.stat(bundle).st_size // 1024
        check(size_kB > 8 * GROWTH_KB, "the traces are too short: %d kB" % size_kB)
        plain_kB = peak_kB(bench)
        for words in (("--rejudge",), (bundle, "--public-key", key),
                      (bundle, "--public-key", key, "--rejudge")):
            again_kB = peak_kB(bench, *words)
            print("     %d kB, %d kB plain, bundle of %d kB" % (again_kB, plain_kB, size_kB))
            check(again_kB < plain_kB + GROWTH_KB, "%s: %d kB, not %d" % (words, again_kB,
                                                                         plain_kB))


def test_of_a_bundle_that_is_one_endless_line():
    with Bench() as bench:
        path = os.path.join(bench.folder, "bundle.jsonl")
        with open(path, "wb") as out:
            out.truncate(1 << 30)  # sparse: it takes no room
        code, _, err = bench.program("audit", path)
        check(code == 3 and err.count("\n") == 1 and "too long" in err, "%d %s" % (code, err))
        peak = peak_kB(bench, path, code=3)
        check(peak < LIMIT_KB, "%d kB" % peak)


if __name__ == "__main__":
    sys.exit(main([test_of_a_record_and_of_a_bundle, test_of_a_bundle_that_is_one_endless_line]))
