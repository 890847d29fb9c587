"""words.py - command lines that are written wrongly, files that are not what they should be."""

import os
import shutil
import sqlite3
import subprocess
import sys

import bench as harness
from bench import PROGRAM, SHORT_BLOCK, Bench, check, main


def refused(bench, words, code, part, **more):
    """The command ends with this code and one line that has part in it; nothing is written."""
    before = sorted(os.listdir(bench.home)) if os.path.isdir(bench.home) else None
    got, out, err = bench.program(*words, **more)
    check(got == code, "%s: exit code %d, not %d: %s" % (words, got, code, err))
    check(out == "", "%s: printed %r" % (words, out))
    lines = err.strip().splitlines()
    check(len(lines) == 1, "%s: not one line: %r" % (words, err))
    check(part in lines[0], "%s: %r does not tell %r" % (words, lines[0], part))
    check(lines[0].startswith("boltwright: "), lines[0])
    after = sorted(os.listdir(bench.home)) if os.path.isdir(bench.home) else None
    check(before == after, "%s wrote %s" % (words, after))


def test_wrong_command_lines():
    with Bench() as bench:
        run = ["run", SHORT_BLOCK, "--build", "x"]
        for words, part in [
                (["brew"], "no command brew"),
                (["run"], "--build"),
                (["run", SHORT_BLOCK], "--build"),
                (["run", SHORT_BLOCK, "--build"], "--build needs a value"),
                (["run", SHORT_BLOCK, "--build", "a b"], "id"),
                (["run", SHORT_BLOCK, "--build", "../x"], "id"),
                (["run", SHORT_BLOCK, "--build", "-x"], "id"),
                (run + ["--by", "   "], "--by"),
                (run + ["--by", "n" * 64], "--by"),
                (run + ["--build", "y"], "twice"),
                (run + ["--warp", "9"], "--warp"),
                (run + ["two", "three"], "write it so"),
                (["rehearse", SHORT_BLOCK, "--speed", "fast"], "--speed"),
                (["rehearse", SHORT_BLOCK, "--seed", "-1"], "--seed"),
                (["rehearse", SHORT_BLOCK, "--fault", "melted:main:1"], "melted"),
                (["rehearse", SHORT_BLOCK, "--fault", "over:mast:1"], "mast"),
                (["rehearse", SHORT_BLOCK, "--fault", "over:main:99"], "99"),
                (["export", "nothing", "--format", "xls"], "jsonl, csv or bundle"),
                (["sheet", "nothing", "-o", "sheet.docx"], ".pdf"),
                (["calc"], "write it so"),
                (["calc", "Nm(60) + mm(1)"], ""),
                (["calc", "os.exit(0)"], ""),
                (["key", "melt"], "key show"),
                (["audit", "--public-key", "/nowhere"], "/nowhere"),
        ]:
            refused(bench, words, 2, part)


def test_missing_and_unreadable_files():
    with Bench() as bench:
        refused(bench, ["run", "/nowhere/engine.lua", "--build", "x"], 2, "/nowhere/engine.lua")
        refused(bench, ["check", "/nowhere/engine.lua"], 2, "/nowhere/engine.lua")
        refused(bench, ["check", bench.folder], 3, bench.folder)
        binary = os.path.join(bench.folder, "binary.lua")
        with open(binary, "wb") as out:
            out.write(b"\x1bLua\x54\x00\xff\xfe")
        refused(bench, ["check", binary], 3, "binary.lua")
        refused(bench, ["audit"], 3, bench.home)
        refused(bench, ["sheet", "x"], 3, bench.home)


def test_unknown_ports():
    with Bench() as bench:
        run = ["run", SHORT_BLOCK, "--build", "x", "--wrench"]
        refused(bench, run + ["/dev/nowhere"], 3, "/dev/nowhere")
        refused(bench, run + [SHORT_BLOCK], 2, "short-block.lua")
        refused(bench, run + [bench.wrench.path + ",driver=astrolabe"], 2, "astrolabe")
        refused(bench, run + [bench.wrench.path + ",driver=line,colour=red"], 2, "colour")
        refused(bench, run + [bench.wrench.path + ",baud=fast"], 2, "baud")
        refused(bench, run + [bench.wrench.path + ",uncertainty=good"], 2, "as in 1.5")
        refused(bench, run + [bench.wrench.path + ",range=200"], 2, "as in 20..200")


def test_foreign_record_files():
    for name, make in [
            ("text", lambda path: open(path, "w").write("not a record\n" * 100)),
            ("empty", lambda path: open(path, "w").close()),
            ("another program's", lambda path: sqlite3.connect(path).execute(
                "CREATE TABLE shopping(item TEXT)").connection.close()),
            ("a folder", os.mkdir),
    ]:
        with Bench() as bench:
            os.makedirs(bench.home)
            path = os.path.join(bench.home, "record.db")
            make(path)
            before = open(path, "rb").read() if os.path.isfile(path) else None
            refused(bench, ["run", SHORT_BLOCK, "--build", "x"], 3, "record.db",
                    stdin=subprocess.DEVNULL)
            refused(bench, ["audit"], 3, "record.db")
            after = open(path, "rb").read() if os.path.isfile(path) else None
            check(before == after, "%s file was changed" % name)


def test_no_permission():
    """As another user where this one is root, who may write anywhere; with copies that the other
    user can reach."""
    with Bench() as bench:
        os.makedirs(bench.home)
        os.chmod(bench.home, 0o555)
        os.chmod(bench.folder, 0o755)
        program = shutil.copy(PROGRAM, bench.folder)
        shutil.copy(os.path.join(os.path.dirname(PROGRAM), "boltwright-core.so"), bench.folder)
        folder = os.path.join(bench.folder, "sequences")
        shutil.copytree(os.path.dirname(os.path.dirname(SHORT_BLOCK)), folder)
        sequence = os.path.join(folder, "curlew4", "short-block.lua")
        more = {"stdin": subprocess.DEVNULL, "cwd": bench.folder}
        if os.geteuid() == 0:
            more["user"] = 65534
        harness.PROGRAM = program
        try:
            refused(bench, ["run", sequence, "--build", "x"], 3, bench.home, **more)
        finally:
            harness.PROGRAM = PROGRAM
        os.chmod(bench.home, 0o755)


def test_help_and_version_need_nothing():
    bare = {"PATH": "/nowhere"}
    for words in [["--version"], ["--help"]] + [[command, "--help"] for command in (
            "run", "rehearse", "check", "judge", "calc", "sheet", "export", "audit", "key")]:
        env = bare
        if words[-1] == "--help" and len(words) == 2:
            env = dict(bare, HOME="/nowhere")
        done = subprocess.run([PROGRAM] + words, capture_output=True, text=True, env=env,
                              stdin=subprocess.DEVNULL, check=False)
        check(done.returncode == 0 and done.stdout and not done.stderr,
              "%s: %d %s" % (words, done.returncode, done.stderr))


def test_output_that_is_lost():
    with open("/dev/full", "w") as full:
        done = subprocess.run([PROGRAM, "check", SHORT_BLOCK], stdout=full,
                              stderr=subprocess.PIPE, check=False)
    check(done.returncode == 3, "a full disk went unnoticed")


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
