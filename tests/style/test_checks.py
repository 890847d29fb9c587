#!/usr/bin/python3
"""The checks themselves: each planted fault is found at its line, and what is right is let through."""
import json
import shutil
import subprocess
import tempfile
import unittest
from pathlib import Path

import banned
import commands
import form
import headers
import layers
import lint
import objects
import size
import yard


class Tree(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.root = Path(folder.name)

    def plant(self, name, text):
        path = self.root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def found(self, check, *arguments):
        return [f"{finding.file}:{finding.line}" for finding in check(self.root, *arguments)]

    def faults(self, check, name, cases, before=""):
        """Each case alone in the file at its last line is exactly one finding, there."""
        for case in cases:
            with self.subTest(case):
                self.plant(name, before + case + "\n")
                line = before.count("\n") + 1
                self.assertEqual(self.found(check), [f"{name}:{line}"])
        (self.root / name).unlink()

    def clean(self, check, name, cases):
        for case in cases:
            with self.subTest(case):
                self.plant(name, case + "\n")
                self.assertEqual(self.found(check), [])
        (self.root / name).unlink()


class Layers(Tree):
    def test_every_room_pair(self):
        for room, doors in layers.ROOMS.items():
            for other in layers.ROOMS:
                allowed = other == room or other in doors
                include = f'#include "{other}/x.h"'
                name = f"src/{room}/a.c"
                (self.clean if allowed else self.faults)(layers.check, name, [include])

    def test_single_door(self):
        self.clean(layers.check, "src/rehearsal/a.c", ['#include "device/wire.h"'])
        self.faults(layers.check, "src/rehearsal/a.c", ['#include "device/device.h"'])

    def test_libraries(self):
        of = {"sqlite3.h": "record", "openssl/evp.h": "record", "libserialport.h": "device",
              "lua.h": "sequence", "lauxlib.h": "sequence", "lualib.h": "sequence",
              "seccomp.h": "wall", "uv.h": "session command face",
              "jansson.h": "record sequence command face", "boltwright/driver.h": "device sequence"}
        for header, owners in of.items():
            for room in layers.ROOMS:
                test = self.clean if room in owners.split() else self.faults
                test(layers.check, f"src/{room}/a.c", [f"#include <{header}>"])

    def test_other_includes(self):
        self.faults(layers.check, "src/base/a.c",
                    ["#include <curl/curl.h>", '#include "text.h"', '#include "attic/a.h"',
                     '  #  include "command/main.h" // why'])
        self.clean(layers.check, "src/base/a.c",
                   ["#include <sys/stat.h>", '/* #include "command/a.h" */',
                    'static const char t[] = "#include <uv.h>";'])
        self.faults(layers.check, "src/attic/a.h", [""])

    def test_pure_rooms(self):
        bad = ["#include <time.h>", "#include <unistd.h>", "#include <sys/stat.h>",
               "#include <locale.h>", "x = time(NULL);", "clock_gettime(0, &t);", "p = malloc(3);",
               "p = realloc (p, 3);", 'printf("");', 'fprintf(f, "");', "f = fopen(a, b);",
               "localeconv();", "setlocale(LC_ALL, s);", "bw_clock_mono_ns();",
               "a = bw_arena_new(0);", "g(s, stderr);"]
        good = ["#include <stdio.h>", "snprintf(a, 1, s);", "/* malloc(3) */", 's = "time(NULL)";',
                "x = lifetime(3);", "h->open(3);", "bw_time_text(1, out);", "x.time = (3);"]
        for name in ("src/trade/a.c", "src/judge/a.h", "src/session/session_fold.c"):
            self.faults(layers.check, name, bad, before='/* one\n * two */\n')
            self.clean(layers.check, name, good)
        self.clean(layers.check, "src/session/turn.c", ["#include <time.h>", "p = malloc(3);"])

    def test_faces_read(self):
        self.faults(layers.check, "src/face/a.c", ["bw_store_append(s);", "m = BW_STORE_WRITE;"])
        self.clean(layers.check, "src/face/a.c", ["bw_store_each(s);"])

    def test_drivers(self):
        self.faults(layers.check, "plugins/line/a.c",
                    ["#include <stdio.h>", "#include <stdlib.h>", '#include "base/text.h"',
                     '#include "../../src/base/text.h"', "#include <unistd.h>", "p = malloc(3);"])
        self.clean(layers.check, "plugins/line/a.c",
                   ["#include <boltwright/driver.h>", "#include <string.h>", '#include "frame.h"'])

    def test_links(self):
        self.faults(layers.check, "src/judge/CMakeLists.txt",
                    ["bw_room(judge SOURCES a.c LINKS bw_record)",
                     "bw_room(judge SOURCES a.c LINKS bw_base PkgConfig::LUA)"])
        self.clean(layers.check, "src/judge/CMakeLists.txt",
                   ["bw_room(judge SOURCES a.c LINKS bw_base bw_trade) # not bw_record"])
        self.clean(layers.check, "src/record/CMakeLists.txt",
                   ["bw_room(record SOURCES a.c LINKS bw_base PkgConfig::SQLITE)"])

    def test_firmware(self):
        self.faults(layers.check, "hardware/firmware/a.c", ['#include "base/text.h"'])
        self.faults(layers.check, "hardware/sim/a.c", ['#include "record/store.h"'])
        self.clean(layers.check, "hardware/sim/a.c", ['#include "rehearsal/chance.h"'])


class Banned(Tree):
    def test_c(self):
        bad = ["float x;", "x = (float)y;", "p = alloca(3);", "strcpy(a, b);", "strcat(a, b);",
               "sprintf(a, b);", "vsprintf(a, b, c);", "x = atof(a);", "x = atoi(a);", "gets(a);",
               "setlocale(LC_ALL, s);"]
        for name in ("src/base/a.c", "plugins/line/a.h", "tests/unit/base/a.c", "hardware/a.c"):
            self.faults(banned.check, name, bad)
        self.clean(banned.check, "src/base/a.c",
                   ["snprintf(a, 1, b);", "/* a float; sprintf() */", 's = "float";', "fgets(a);",
                    "floating = 1;"])

    def test_numbers_are_read_in_one_place(self):
        self.faults(banned.check, "src/base/a.c", ["x = strtod(a, NULL);"])
        self.clean(banned.check, "src/base/decimal.c", ["x = strtod(a, NULL);"])
        self.clean(banned.check, "tests/outside/a.c", ["x = strtod(a, NULL);"])

    def test_text(self):
        home = "/" + "home/someone/a"
        bad = ["/* TO" + "DO later */", "FIX" + "ME", "XX" + "X", home, f'"{home}"', ".." + "/shared/x",
               "the tran" + "script", "see" + "d document", "see https://" + "registry.example/x",
               "/* NO" + "LINT */", "// NO" + "LINT(a-b)", "// NO" + "LINT(a-b):",
               "/* cppcheck-" + "suppress unusedStructMember */"]
        for name in ("docs/a.md", ".ci/a", "sequences/a.lua"):
            self.faults(banned.check, name, bad, before="first\n")
        self.clean(banned.check, "docs/a.md",
                   ["/usr/share/doc", "src/home/x", "~/home/x", "/dev/ttyUSB0",
                    "// NO" + "LINT(a-b): the library wants it so",
                    "// cppcheck-" + "suppress nullPointer ; tested above"])

    def test_top_level(self):
        self.clean(banned.check, "README.md", [""])
        self.plant("notes.txt", "")
        self.plant("vendor/a.txt", "")
        self.assertEqual(self.found(banned.check), ["notes.txt:0", "vendor:0"])


class Sizes(Tree):
    @staticmethod
    def function(name, lines, inside="    x++;\n"):
        return f"int {name}(int x) {{\n" + inside * (lines - 2) + "}\n"

    def test_function_length(self):
        self.plant("src/base/a.c", self.function("short_one", 80) + self.function("long_one", 81)
                   + self.function("small", 3) * 20)
        self.assertEqual(self.found(size.check), ["src/base/a.c:81"])

    def test_what_is_no_function(self):
        rows = "    {1, f(2)},\n" * 90
        for text in (f"static const t a[] = {{\n{rows}}};\n",
                     "#define ROWS(X) \\\n" + "    X(1, { f(2); }) \\\n" * 90 + "    X(2)\n",
                     "enum e {\n" + "    A,\n" * 90 + "};\n",
                     f"int f(void) {{\n    static const t a[] = {{\n{rows}    }};\n    return 0;\n}}\n"):
            self.plant("src/base/a.c", text)
            self.assertEqual(self.found(size.check), [], text[:40])

    def test_names_lines_and_lengths(self):
        text = ('/* f() { */\nstatic const char *s = "{";\nint g(int a,\n      int b) {\n'
                "    if (a) {\n        b++;\n    }\n    return b;\n}\n\nvoid h(void) {\n}\n")
        self.assertEqual(list(size.functions(text)), [("g", 4, 6), ("h", 11, 2)])

    def test_file_length(self):
        self.plant("tests/a.lua", "--\n" * 1001)
        self.plant("tests/b.lua", "--\n" * 1000)
        self.assertEqual(self.found(size.check), ["tests/a.lua:1000"])

    def test_shape(self):
        self.assertEqual(size.shape([1, 2, 3, 4, 5, 6, 7, 8, 9, 100]), (5.5, 9))
        self.plant("src/base/a.c", self.function("f", 16) * 3)
        self.assertEqual(self.found(size.check), ["src:0"])
        self.plant("src/base/a.c", self.function("f", 5) * 5 + self.function("g", 51))
        self.assertEqual(self.found(size.check), ["src:0"])


class Headers(Tree):
    GOOD = "#ifndef BW_BASE_A_H\n#define BW_BASE_A_H\n#include <stddef.h>\nsize_t f(void);\n#endif\n"

    def test_alone(self):
        self.plant("src/base/a.h", "/* a */\n" + self.GOOD)
        self.assertEqual(self.found(headers.check), [])
        self.plant("src/base/a.h", self.GOOD.replace("#include <stddef.h>\n", ""))
        self.assertEqual(self.found(headers.check), ["src/base/a.h:3"] * len(headers.COMPILERS))

    def test_guard(self):
        self.plant("src/base/a.h", self.GOOD.replace("BASE_A", "BASE_B"))
        self.assertEqual(self.found(headers.check), ["src/base/a.h:1"])

    def test_the_driver_header_sees_nothing_of_src(self):
        self.plant("src/base/a.h", self.GOOD)
        guard = "BOLTWRIGHT_DRIVER_H"
        self.plant("plugins/include/boltwright/driver.h",
                   f'#ifndef {guard}\n#define {guard}\n#include "base/a.h"\n#endif\n')
        self.assertEqual(len(self.found(headers.check)), len(headers.COMPILERS))


class Commands(Tree):
    def test_to_the_letter(self):
        self.assertEqual(len(self.found(commands.check)), 3)
        self.plant(".ci/run", commands.TEST + "\n")
        self.plant("README.md", f"```sh\n{commands.REHEARSE}\n```\n{commands.TEST} # runs all\n")
        self.assertEqual(self.found(commands.check), ["README.md:4"])
        self.plant("README.md", f"```\n{commands.REHEARSE}\n{commands.TEST}\n```\n")
        self.assertEqual(self.found(commands.check), [])


class BuiltTree(Tree):
    """For checks that look at a build: the compile commands are made up, the compiler is real."""

    def build(self, name, text):
        self.plant(name, text)
        command = f"gcc -O2 -fPIC -c {self.root / name} -o {self.root / 'a.o'}"
        subprocess.run(command.split(), check=True)
        self.plant("compile_commands.json", json.dumps(
            [{"file": str(self.root.resolve() / name), "directory": str(self.root),
              "command": command}]))


class Objects(BuiltTree):
    def test_writable_globals(self):
        for text in ("int count;", "static int last = 3; int *f(void) { return &last; }",
                     "int *f(void) { static int seen; return &seen; }"):
            self.build("src/device/a.c", "\n" + text + "\n")
            self.assertEqual(self.found(objects.check, self.root), ["src/device/a.c:2"], text)
        self.build("src/device/a.c", 'const char *const name[] = {"a"}; const int x = 3;\n'
                                     "int f(void) { static const int y[] = {1}; return y[0]; }\n")
        self.assertEqual(self.found(objects.check, self.root), [])

    def test_calls_of_the_pure_core(self):
        text = "#include <time.h>\nlong f(void) {\n    return (long)(time)(0);\n}\n"
        self.build("src/device/a.c", text)
        self.assertEqual(self.found(objects.check, self.root), [])
        for name in ("src/judge/a.c", "src/session/session.c", "plugins/line/a.c"):
            self.build(name, text)
            self.assertEqual(self.found(objects.check, self.root), [f"{name}:3"])
        self.build("src/judge/a.c", "#include <math.h>\ndouble bw_f(double);\n"
                                    "double f(double x) { return bw_f(sqrt(x)); }\n")
        self.assertEqual(self.found(objects.check, self.root), [])


@unittest.skipUnless(form.formatter(), "no clang-format of the yard's major version")
class Form(Tree):
    def test_form(self):
        self.plant(".clang-format", yard.read(yard.PROJECT, ".clang-format"))
        self.plant("src/base/a.c", "int x;\nint f(void) {\n    return x;\n}\n")
        self.assertEqual(self.found(form.check, form.formatter()), [])
        self.plant("src/base/a.c", "int x;\nint f(void) {\n  return x;\n}\n")
        self.assertEqual(self.found(form.check, form.formatter()), ["src/base/a.c:2"])


class Lint(BuiltTree):
    @unittest.skipUnless(shutil.which("cppcheck"), "no cppcheck")
    def test_cppcheck(self):
        self.plant("plugins/include/x.h", "")
        self.plant("src/base/a.c", "int f(void);\n\nint f(void) {\n    int a[2] = {1, 2};\n"
                                   "    return a[2];\n}\n")
        self.assertEqual(self.found(lint.check, "cppcheck", self.root / "build"),
                         ["src/base/a.c:5"])

    @unittest.skipUnless(shutil.which("clang-tidy"), "no clang-tidy")
    def test_clang_tidy(self):
        self.plant(".clang-tidy", yard.read(yard.PROJECT, ".clang-tidy"))
        self.build("src/base/a.c", "int f(int x);\n\nint f(int x) {\n    int *p = 0;\n"
                                   "    if (x > 3) {\n        return *p;\n    }\n    return 0;\n}\n")
        self.assertEqual(self.found(lint.check, "clang-tidy", self.root), ["src/base/a.c:6"])

    def test_gcc_analyzer(self):
        self.build("src/base/a.c", "#include <stdlib.h>\nvoid f(void *p);\n"
                                   "void f(void *p) {\n    free(p);\n    free(p);\n}\n")
        self.assertEqual(self.found(lint.check, "gcc", self.root), ["src/base/a.c:5"])


if __name__ == "__main__":
    unittest.main(buffer=True)
