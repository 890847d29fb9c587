#!/usr/bin/env python3
"""Changes one comparison or constant of src/judge at a time, and sees whether a test notices.

    judge.py SOURCE_DIR [FILE.c ...]

Each change that no test notices must stand in tests/mutation/judge.txt with the reason why nothing
can tell the two apart; ends with 1 where one does not, or where a line there names a change that is
noticed or gone.  Takes half an hour on two cores, so no test run calls it:
`cmake --build --preset test --target mutate_judge`.
"""
import collections
import concurrent.futures
import os
import re
import shutil
import subprocess
import sys
import tempfile

# An index beyond its table ends the test: what lies behind one is nobody's.
CC = ["gcc", "-std=c17", "-O1", "-fPIC", "-ffp-contract=off", "-D_POSIX_C_SOURCE=200809L",
      "-fsanitize=bounds-strict", "-fsanitize-undefined-trap-on-error"]
SWAPS = {"<": "<=", "<=": "<", ">": ">=", ">=": ">", "==": "!=", "!=": "==", "&&": "||",
         "||": "&&"}
COMPARISON = re.compile(r"(?<![-<>=!&|])(<=|>=|==|!=|<|>|&&|\|\|)(?![<>=&|])")
NUMBER = re.compile(r"(?<![\w.\"])(\d+\.\d*(?:e[-+]?\d+)?|\d+e[-+]?\d+|\d+)(?![\w.])")
SECONDS = 180


def code_only(text):
    """The text with comments, strings and preprocessor lines blanked, the same length."""
    blank = lambda m: re.sub(r"[^\n]", " ", m.group(0))
    text = re.sub(r"/\*.*?\*/", blank, text, flags=re.S)
    text = re.sub(r'"(?:[^"\\\n]|\\.)*"', blank, text)
    return re.sub(r"^[ \t]*#.*$", blank, text, flags=re.M)


def other_numbers(word):
    if re.fullmatch(r"\d+", word):
        return [str(int(word) + 1)]
    if float(word) == 0:
        return ["1.0"]
    return [repr(float(word) * 1.25), repr(float(word) * 0.8)]


def changes(text):
    """(offset, old, new) of every change that is tried."""
    code = code_only(text)
    out = []
    for m in COMPARISON.finditer(code):
        line = code[code.rfind("\n", 0, m.start()) + 1:code.find("\n", m.start())]
        if re.match(r"\s*(typedef|case)", line):
            continue
        out.append((m.start(1), m.group(1), SWAPS[m.group(1)]))
    for m in NUMBER.finditer(code):
        line = code[code.rfind("\n", 0, m.start()) + 1:code.find("\n", m.start())]
        if "{0}" in line or re.search(r"(?<![!<>=])=\s*0;|= \{0|memset|1u <<|>> ", line):
            continue
        for new in other_numbers(m.group(1)):
            out.append((m.start(1), m.group(1), new))
    return sorted(out)


def line_at(text, offset):
    begin = text.rfind("\n", 0, offset) + 1
    return text[begin:text.find("\n", offset)].strip(), text.count("\n", 0, offset) + 1, offset - begin


def run(args, **more):
    return subprocess.run(args, capture_output=True, check=False, **more)


class Bench:
    """Everything compiled once but the file that is changed."""

    def __init__(self, source, folder):
        self.source, self.folder = source, folder
        self.includes = ["-I", source + "/src", "-I", source + "/tests"]
        self.judge = sorted(os.listdir(source + "/src/judge"))
        self.judge = [f for f in self.judge if f.endswith(".c")]
        self.defines = ['-DBW_SOURCE_DIR="%s"' % source, '-DBW_BINARY_DIR="%s"' % folder,
                        '-DBW_LIBRARY_DIR="lib"']
        for room in ("base", "trade", "rehearsal"):
            self.archive(room)
        for name in self.judge:
            self.compile(source + "/src/judge/" + name, self.object(name))
        self.link_judge(folder, None)
        self.tests = self.link_tests()

    def object(self, name):
        return os.path.join(self.folder, "judge_" + name + ".o")

    def compile(self, path, out):
        done = run(CC + self.includes + self.defines + ["-c", path, "-o", out])
        return done.returncode == 0, done.stderr.decode()

    def archive(self, room):
        objects = []
        for name in sorted(os.listdir(self.source + "/src/" + room)):
            if name.endswith(".c"):
                out = os.path.join(self.folder, room + "_" + name + ".o")
                good, err = self.compile(self.source + "/src/" + room + "/" + name, out)
                if not good:
                    sys.exit(err)
                objects.append(out)
        run(["ar", "rcs", os.path.join(self.folder, "lib%s.a" % room)] + objects)

    def link_judge(self, folder, changed):
        """libjudge.so in folder, with changed = (name, object) in place of its own."""
        objects = [changed[1] if changed and changed[0] == n else self.object(n)
                   for n in self.judge]
        done = run(["gcc", "-shared", "-o", folder + "/libjudge.so"] + objects)
        if done.returncode != 0:
            sys.exit(done.stderr.decode())

    def link_tests(self):
        tests = []
        text = open(self.source + "/tests/unit/judge/CMakeLists.txt", encoding="utf-8").read()
        for name, files in re.findall(r"bw_unit_test\((\w+)\s+SOURCES\s+(.*?)\s+LINKS", text, re.S):
            out = os.path.join(self.folder, "test_" + name)
            paths = [self.source + "/tests/unit/judge/" + f for f in files.split()]
            archives = [self.folder + "/lib%s.a" % r for r in ("rehearsal", "trade", "base")]
            done = run(CC + self.includes + self.defines + paths + ["-o", out, "-L", self.folder,
                       "-ljudge"] + archives + ["-Wl,-E", "-lcmocka", "-lm"])
            if done.returncode != 0:
                sys.exit(done.stderr.decode())
            tests.append(out)
        times = {}
        for test in tests:
            begin = os.times().elapsed
            if not self.passes(test, self.folder):
                sys.exit("%s fails without any change" % test)
            times[test] = os.times().elapsed - begin
        return sorted(tests, key=times.get)

    @staticmethod
    def passes(test, folder):
        try:
            return run([test], env=dict(os.environ, LD_LIBRARY_PATH=folder), cwd=folder,
                       timeout=SECONDS).returncode == 0
        except subprocess.TimeoutExpired:
            return False

    def noticed(self, name, text, change):
        """True, or False; None where the change does not compile."""
        offset, old, new = change
        folder = tempfile.mkdtemp(dir=self.folder)
        path = os.path.join(folder, name)
        with open(path, "w", encoding="utf-8") as out:
            out.write(text[:offset] + new + text[offset + len(old):])
        good, _ = self.compile(path, path + ".o")
        answer = None
        if good:
            self.link_judge(folder, (name, path + ".o"))
            answer = not all(self.passes(t, folder) for t in self.tests)
        shutil.rmtree(folder)
        return answer


def read_excused(path):
    """`file: line of code: old -> new: reason`, parted by tabs."""
    excused = {}
    if os.path.exists(path):
        for line in open(path, encoding="utf-8"):
            if line.strip() and not line.startswith("#"):
                name, code, change, reason = line.rstrip("\n").split("\t")
                excused[(name, code, change)] = reason
    return excused


def key_of(same, name, code, change):
    """The same change to the same code once more in a file is marked #2, and so on."""
    same[name, code, change] += 1
    times = same[name, code, change]
    return name, code, change + (" #%d" % times if times > 1 else "")


class Count:
    """Of the changes to one file, or to all."""

    def __init__(self):
        self.tried = self.noticed = self.listed = self.new = self.failed = 0

    def add(self, other):
        for name, value in vars(other).items():
            setattr(self, name, getattr(self, name) + value)

    def __str__(self):
        return ("%d changes tried, %d noticed, %d listed with a reason, %d not noticed; %d did not "
                "compile" % (self.tried, self.noticed, self.listed, self.new, self.failed))


def main():
    source = os.path.abspath(sys.argv[1])
    excused = read_excused(source + "/tests/mutation/judge.txt")
    names = sys.argv[2:] or [f for f in sorted(os.listdir(source + "/src/judge"))
                             if f.endswith(".c")]
    same, seen, counts = collections.Counter(), set(), {name: Count() for name in names}
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(source, folder)
        jobs = []
        for name in names:
            text = open(source + "/src/judge/" + name, encoding="utf-8").read()
            jobs += [(name, text, c) for c in changes(text)]
        with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
            answers = pool.map(lambda j: bench.noticed(*j), jobs)
            for (name, text, (offset, old, other)), noticed in zip(jobs, answers):
                count = counts[name]
                code, number, _ = line_at(text, offset)
                key = key_of(same, name, code, "%s -> %s" % (old, other))
                if noticed is None:
                    count.failed += 1
                    continue
                count.tried += 1
                if noticed:
                    count.noticed += 1
                    continue
                seen.add(key)
                if key in excused:
                    count.listed += 1
                    continue
                count.new += 1
                print("not noticed: %s:%d: %s: %s" % (name, number, key[2], code), flush=True)
    gone = [k for k in excused if k not in seen and (not sys.argv[2:] or k[0] in names)]
    for key in gone:
        print("listed, but noticed or gone: %s: %s: %s" % key)
    total = Count()
    for name, count in counts.items():
        print("%s: %s" % (name, count))
        total.add(count)
    print(total)
    return 1 if total.new or gone else 0


if __name__ == "__main__":
    sys.exit(main())
