#!/usr/bin/python3
""".ci/setup against a made-up machine: its dpkg, apt-get, sudo and id are a few lines of shell.

test_setup.py: what is asked of apt-get is read from a log that the made-up commands write.
"""
import os
import subprocess
import tempfile
import unittest
from pathlib import Path

import yard

SETUP = yard.PROJECT / ".ci/setup"
TOOLS = ("sh", "awk", "sed", "grep", "cat", "mktemp", "rm", "env", "printf")

# state/NAME is there for each installed package; state/broken makes apt-get fail.
COMMANDS = {
    "id": "echo $(cat $M/uid)",
    "dpkg": 'exec /usr/bin/dpkg "$@"',
    "npm": 'echo "npm $*" >>$M/npm',
    "sudo": 'echo "sudo" >>$M/log; exec "$@"',
    "dpkg-query": 'for p; do :; done\n'
                  '[ "$2" = \'-f=${Version}\' ] && { cat $M/cmake; exit; }\n'
                  '[ -e $M/state/$p ] && echo installed || exit 1',
    "apt-get": 'echo "apt-get $*" >>$M/log\n'
               '[ "$DEBIAN_FRONTEND" = noninteractive ] || exit 9\n'
               '[ -e $M/broken ] && { echo "E: no route"; exit 100; }\n'
               'if [ "$1" = install ]; then for p; do case $p in -*|install) ;; '
               '*) : >$M/state/$p;; esac; done; fi',
}


class Machine:
    def __init__(self, folder):
        self.folder = Path(folder)
        (self.folder / "bin").mkdir()
        (self.folder / "state").mkdir()
        for name, body in COMMANDS.items():
            self.command(name, body)
        for name in TOOLS:
            path = Path("/usr/bin", name)
            (self.folder / "bin" / name).symlink_to(path if path.exists() else Path("/bin", name))
        self.write("uid", "0")
        self.write("cmake", "3.25.1-1")
        self.write("log", "")

    def command(self, name, body):
        path = self.folder / "bin" / name
        path.write_text(f"#!/bin/sh\nM={self.folder}\n{body}\n", encoding="utf-8")
        path.chmod(0o755)

    def write(self, name, text):
        (self.folder / name).write_text(text, encoding="utf-8")

    def log(self):
        return (self.folder / "log").read_text(encoding="utf-8").splitlines()

    def setup(self, *arguments):
        return subprocess.run(["/bin/sh", SETUP, *arguments], text=True, capture_output=True,
                              check=False, stdin=subprocess.DEVNULL,
                              env={"PATH": str(self.folder / "bin"), "TMPDIR": str(self.folder)})


def packages(*sets):
    lines = subprocess.run(["/bin/sh", SETUP, "--list"], text=True, capture_output=True,
                           check=True).stdout.splitlines()
    return [line.split()[1] for line in lines if line.split()[0] in sets]


class Setup(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.machine = Machine(folder.name)

    def lines(self, run):
        return [line for line in run.stderr.splitlines() if not line.startswith("    ")]

    def test_build_installs_the_build_set_once(self):
        run = self.machine.setup("build")
        self.assertEqual(run.returncode, 0, run.stderr)
        wanted = " ".join(packages("build"))
        self.assertEqual(self.machine.log(), [
            "apt-get update", f"apt-get install -y --no-install-recommends {wanted}"])
        self.machine.write("broken", "")
        self.assertEqual(self.machine.setup("build").returncode, 0)
        self.assertEqual(len(self.machine.log()), 2, "the second time nothing is asked of apt-get")

    def test_test_adds_what_is_missing_only(self):
        self.machine.setup("build")
        for name in packages("test")[1:]:
            self.machine.write(f"state/{name}", "")
        self.machine.setup("test")
        self.assertEqual(self.machine.log()[-1],
                         f"apt-get install -y --no-install-recommends {packages('test')[0]}")

    def test_no_argument_means_test(self):
        self.machine.setup()
        wanted = [name for name in packages("build", "test") if name != "npm"]  # it is there
        self.assertEqual(self.machine.log()[-1].split()[4:], wanted)

    def test_sudo_where_not_root(self):
        self.machine.write("uid", "1000")
        self.assertEqual(self.machine.setup("build").returncode, 0)
        self.assertEqual(self.machine.log()[:2], ["sudo", "apt-get update"])

    def test_neither_root_nor_sudo_is_one_line(self):
        self.machine.write("uid", "1000")
        (self.machine.folder / "bin/sudo").unlink()
        run = self.machine.setup("build")
        self.assertEqual(run.returncode, 1)
        self.assertEqual(len(self.lines(run)), 1, run.stderr)
        self.assertIn("apt-get install gcc", run.stderr)
        self.assertEqual(self.machine.log(), [])

    def test_a_failure_is_one_line_after_what_apt_said(self):
        self.machine.write("broken", "")
        run = self.machine.setup("build")
        self.assertEqual(run.returncode, 1)
        self.assertEqual(self.lines(run)[1:],
                         ["setup: apt-get update failed; is there a network, are the sources right?"])
        self.assertIn("    E: no route", run.stderr)

    def test_an_old_cmake_is_told(self):
        self.machine.write("cmake", "3.18.4-2")
        run = self.machine.setup("build")
        self.assertEqual(run.returncode, 1)
        self.assertIn("cmake is 3.18.4-2, 3.25 is needed", run.stderr)

    def test_an_unknown_argument(self):
        self.assertEqual(self.machine.setup("tests").returncode, 2)

    def test_no_debian(self):
        (self.machine.folder / "bin/dpkg-query").unlink()
        run = self.machine.setup("build")
        self.assertEqual((run.returncode, len(self.lines(run))), (1, 1))

    def test_nothing_is_left_behind(self):
        before = set(os.listdir(self.machine.folder))
        self.machine.setup("build")
        self.assertEqual(set(os.listdir(self.machine.folder)), before)


if __name__ == "__main__":
    unittest.main()
