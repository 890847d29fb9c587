#!/usr/bin/python3
"""Each header stands alone: compiles by itself, twice over, with each compiler, and is guarded.

The driver header is compiled as a driver's author has it: without a path to src/.
headers.py FOLDER [FLAG...]: the flags are those of CMake's bw_flags.
"""
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import yard
from yard import Finding

COMPILERS = ("gcc", "clang")
PLAIN_FLAGS = ["-Wall", "-Wextra", "-Wpedantic", "-Wstrict-prototypes"]


def headers(root):
    for path in yard.files(root, ".h", under=("src", "plugins/include")):
        base = "src" if path.parts[0] == "src" else "plugins/include"
        yield path, base, path.relative_to(base)


def library_flags():
    """Where Debian keeps headers in a folder of their own."""
    run = subprocess.run(["pkg-config", "--cflags", "lua5.4"], text=True, capture_output=True,
                         check=False)
    return run.stdout.split()


def compile_alone(root, compiler, path, base, name, flags):
    unit = f'#include "{name}"\n#include "{name}"\ntypedef int bw_alone;\n'
    paths = [f"-I{root / base}"]
    if base == "src":
        paths.append(f"-I{root / 'plugins/include'}")
        paths += library_flags()
    command = [compiler, "-std=c17", "-D_POSIX_C_SOURCE=200809L", "-Werror", *flags, *paths,
               "-fsyntax-only", "-x", "c", "-"]
    run = subprocess.run(command, input=unit, text=True, capture_output=True, check=False)
    if run.returncode != 0:
        errors = [line for line in run.stderr.splitlines() if "error" in line] or [run.stderr]
        place = re.search(re.escape(str(path)) + r":(\d+):", run.stderr)
        return Finding(path, int(place[1]) if place else 1,
                       f"does not compile alone with {compiler}: {errors[0].strip()}",
                       "a header that includes what it uses")
    return None


def check_guard(root, path, name):
    guard = re.sub(r"\W", "_", str(name)).upper()
    guard = guard if guard.startswith("BOLTWRIGHT_") else "BW_" + guard
    text = yard.code(yard.read(root, path))
    if not re.match(rf"\s*#ifndef {guard}\n#define {guard}\n", text):
        yield Finding(path, 1, "is not guarded by its own name",
                      f"#ifndef {guard}, #define {guard} as its first lines")


def check(root, flags=PLAIN_FLAGS):
    # FORTIFY needs optimisation, prefix maps and PIE change nothing in a header.
    flags = [flag for flag in flags if flag.startswith("-W") and not flag.startswith("-Wl,")]
    todo = list(headers(root))
    with ThreadPoolExecutor(2) as pool:
        jobs = [pool.submit(compile_alone, root, compiler, *header, flags)
                for header in todo for compiler in COMPILERS]
    for path, _, name in todo:
        yield from check_guard(root, path, name)
    yield from (job.result() for job in jobs if job.result())


if __name__ == "__main__":
    yard.main(check, sys.argv[2:] or PLAIN_FLAGS)
