#!/usr/bin/python3
"""What the compiled objects show: no writable globals, and what the pure core calls.

objects.py FOLDER BUILD: reads the objects that BUILD/compile_commands.json names.
"""
import json
import re
import shlex
import subprocess
import sys
from pathlib import Path

import layers
import yard
from yard import Finding

WRITABLE = re.compile(r"^(\.data(?!\.rel\.ro)|\.bss|\.tdata|\.tbss|\*COM\*)")
SYMBOL = re.compile(r"^[0-9a-f]+ (.{7}) (\S+)\t[0-9a-f]+ (?:\.\w+ )?(\S+)$")

# Beside the project's own: what a function of the C library computes from its arguments alone,
# and what the compiler itself calls.
PURE_CALL = re.compile(
    r"bw_(?!arena_new|clock_)\w+|_GLOBAL_OFFSET_TABLE_|__stack_chk_fail|__(v?snprintf|mem\w+)_chk|"
    r"mem(cpy|move|set|cmp|chr)|str(len|nlen|cmp|ncmp|chr|rchr|str|spn|cspn|pbrk)|v?snprintf|"
    r"qsort|bsearch|l?labs|__assert_fail|"
    r"(sqrt|cbrt|hypot|fabs|floor|ceil|round|trunc|l?lround|l?lrint|rint|nearbyint|fmod|fmin|fmax|"
    r"a?(sin|cos|tan)h?|atan2|exp|exp2|expm1|log|log10|log1p|log2|pow|fma|ldexp|frexp|modf|scalbn|"
    r"copysign|erfc?|[lt]gamma|nextafter|remainder|__(isnan|isinf|isfinite|finite|signbit))")


def objects(root, build):
    """(source path, object path) of the shipped code that has been built."""
    for entry in json.loads((Path(build) / "compile_commands.json").read_text(encoding="utf-8")):
        source = Path(entry["file"])
        if source.is_relative_to(root):
            source = source.relative_to(root)
            if source.parts[0] in ("src", "plugins"):
                words = shlex.split(entry["command"])
                yield source, Path(entry["directory"], words[words.index("-o") + 1])


def symbols(path):
    """(flags, section, name) of each symbol of an object."""
    run = subprocess.run(["objdump", "-t", path], text=True, capture_output=True, check=True)
    for line in run.stdout.splitlines():
        match = SYMBOL.match(line)
        if match:
            yield match.groups()


def place(root, source, name):
    for line, content in yard.numbered(yard.code(yard.read(root, source))):
        if re.search(rf"^(?!\s*#).*\b{re.escape(name)}\b", content):
            return line
    return 1


def defined(path):
    """What other objects can call of this one."""
    return {name for flags, section, name in symbols(path)
            if flags[0] in "gw" and section.startswith(".text")}


def check_object(root, source, path, shared):
    """shared: functions of the plugins' own objects, which are held to the same."""
    pure = layers.is_pure(source) or source.parts[0] == "plugins"
    for flags, section, full in symbols(path):
        name = full.split(".")[0]
        if "O" in flags and WRITABLE.match(section):
            yield Finding(source, place(root, source, name), f"{name} is a writable global",
                          "const, or a member of a structure that the caller owns")
        elif pure and section == "*UND*" and full not in shared and not PURE_CALL.fullmatch(full):
            yield Finding(source, place(root, source, name), f"the pure core calls {name}",
                          "functions of their arguments only (PURE_CALL of tests/style/objects.py)")


def check(root, build):
    built = [(source, path) for source, path in objects(root.resolve(), build) if path.exists()]
    shared = set().union(*(defined(path) for source, path in built if source.parts[0] == "plugins"))
    for source, path in built:
        own = shared if source.parts[0] == "plugins" else ()
        yield from check_object(root, source, path, own)


if __name__ == "__main__":
    yard.main(check, sys.argv[2])
