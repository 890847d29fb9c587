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
                (["key", "melt"], "show, export or new"),
                (["key", "shwo"], "did you mean show?"),
                (["tool", "lsit"], "did you mean list?"),
                (["tool", "melt"], "add, list, show, calibrate, check or retire"),
                (["reherse", SHORT_BLOCK], "did you mean rehearse?"),
                (["--versoin"], "did you mean --version?"),
                (["--warp"], "a command comes first"),
                (["sheet", "--blnak", SHORT_BLOCK], "did you mean --blank?"),
                (["run", SHORT_BLOCK, "--buidl=x"], "did you mean --build?"),
                (["run", SHORT_BLOCK, "--build"], "--build needs a value behind it: --build ID"),
                (["audit", "--home"], "--home needs a value behind it: --home DIR"),
                (["rehearse", SHORT_BLOCK, "--fault", "over:mian:1"], "did you mean main?"),
                (["rehearse", SHORT_BLOCK, "--fault", "over:xx:1"], "it has main, rod, head"),
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


def test_a_folder_where_a_file_is_meant():
    with Bench() as bench:
        folder = bench.folder
        refused(bench, ["check", folder], 3, "is a folder, where a file is meant")
        refused(bench, ["run", folder, "--build", "x"], 3, "is a folder, where a file is meant")
        refused(bench, ["sheet", "--blank", folder], 3, "is a folder, where a file is meant")
        refused(bench, ["audit", folder], 2, "is a folder, where the file of a bundle is meant")
        refused(bench, ["listen", "--replay", folder], 2, "is a folder, where the file of a capture")
        refused(bench, ["judge", folder, "--sequence", SHORT_BLOCK, "--group", "main", "--stage", "1"], 2,
                "is a folder, where the file of a trace is meant")
        refused(bench, ["audit", "--checkpoint", folder], 2, folder)
        refused(bench, ["audit", "--public-key", folder], 2, folder)


def test_what_is_not_in_the_record():
    """Which was meant, or which there are."""
    with Bench() as bench:
        os.makedirs(bench.home)
        refused(bench, ["tool", "show", "w2"], 2, "it is empty: tool add enters one")
        code, _, err = bench.program("tool", "add", "w2", "--range", "20..100 N.m", "--by", "A. Lund")
        check(code == 0, err)
        for words in (["sheet", "heron"], ["export", "heron"]):
            refused(bench, words, 2, "the record has no build heron: it has none yet")
        for build in ("gannet-1", "gannet-2", "tern-1", "tern-2", "tern-3"):
            code, _, err = bench.program("rehearse", SHORT_BLOCK, "--speed", "0", "--build", build)
            check(code == 0, err)
        for words in (["sheet"], ["export"], ["export", "--format", "bundle"], ["audit", "--build"],
                      ["run", "--reopen", "--with", "B. Roth", "--why", "test", "--by", "A. Lund", "--build"]):
            refused(bench, words + ["gannet-11"], 2, "no build gannet-11; did you mean gannet-1?")
            refused(bench, words + ["heron"], 2, "; its newest: tern-3, tern-2, tern-1, gannet-2")
        refused(bench, ["tool", "show", "w3"], 2, "did you mean w2?")
        refused(bench, ["tool", "check", "dial"], 2, "tool list shows what it has")


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
