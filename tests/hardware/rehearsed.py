#!/usr/bin/python3
"""boltwright rehearse --wrench firmware: from the simulated bridge's voltage to a signed verdict.

rehearsed.py BOLTWRIGHT [CLASS]: the program has adapter-sim, adapter.elf and the driver beside it.
"""
import json
import subprocess
import sys
import tempfile
import threading
import unittest
from pathlib import Path

BOLTWRIGHT = sys.argv[1]
SEQUENCE = Path(__file__).resolve().parent / "four-bolts.lua"
PATIENCE_S = 120


def run(home, *arguments):
    return subprocess.run([BOLTWRIGHT, *arguments, "--home", home], text=True, capture_output=True,
                          check=False, timeout=PATIENCE_S)


def rehearse(home, *arguments):
    return run(home, "rehearse", str(SEQUENCE), "--speed", "0", "--build", "fw", "--wrench",
               "firmware", "--json", *arguments)


class Rehearsed(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.home = folder.name

    def entries(self, kind):
        done = run(self.home, "export", "fw", "--format", "jsonl")
        self.assertEqual(done.returncode, 0, done.stderr)
        entries = [json.loads(line)["entry"] for line in done.stdout.splitlines()]
        return [entry for entry in entries if entry["kind"] == kind]

    def test_whole_block(self):
        """Eight pulls by driver adapter, each inside its limits, and the record stands the audit."""
        done = rehearse(self.home)
        self.assertEqual(done.returncode, 0, done.stderr)
        end = json.loads(done.stdout.splitlines()[-1])
        self.assertEqual((end["outcome"], end["accepted"], end["overridden"], end["pulls"]),
                         ("complete", 8, 0, 8))
        verdicts = self.entries("verdict")
        self.assertEqual(len(verdicts), 8)
        for verdict in verdicts:
            if verdict["stage"] == 1:
                self.assertTrue(37.6 <= verdict["peak_torque_Nm"] <= 42.4, verdict)
            else:
                self.assertTrue(54 <= verdict["final_angle_deg"] <= 66, verdict)
        tools = self.entries("tool_on")
        self.assertEqual([tool["driver"].split()[0] for tool in tools], ["adapter", "adapter"])
        # It says who it is once it was asked; every frame of its has a checksum.
        self.assertEqual(["device_serial" in tool for tool in tools], [False, True])
        self.assertFalse(any("unchecked" in tool for tool in tools))
        self.assertEqual(run(self.home, "audit", "--rejudge").returncode, 0)

    def test_a_fault_of_the_hand_is_seen_through_the_firmware(self):
        done = rehearse(self.home, "--fault", "over:plate:2")
        self.assertEqual(done.returncode, 0, done.stderr)
        failed = [v for v in self.entries("verdict")
                  if v["verdict"] != "pass" and not v["more"]]
        self.assertEqual(len(failed), 1)
        self.assertGreater(failed[0]["peak_torque_Nm"], 42.4)

    def test_what_it_can_not_do(self):
        done = rehearse(self.home, "--fault", "noise:plate:2")
        self.assertEqual(done.returncode, 2)
        self.assertIn("can't happen with --wrench firmware", done.stderr)
        done = run(self.home, "rehearse", str(SEQUENCE), "--wrench", "spanner")
        self.assertEqual(done.returncode, 2)
        self.assertIn("sim or firmware", done.stderr)


class Heard(unittest.TestCase):
    """What the builder is told of an adapter in trouble, by the real driver."""

    def setUp(self):
        beside = Path(BOLTWRIGHT).resolve().parent
        self.adapter = subprocess.Popen([beside / "adapter-sim", beside / "adapter.elf"], text=True,
                                        stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                        stderr=subprocess.DEVNULL)
        port = self.adapter.stdout.readline().split()[1]
        self.host = subprocess.Popen([BOLTWRIGHT, "listen", f"{port},driver=adapter"], text=True,
                                     stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        # Whatever hangs, hangs no test.
        self.patience = threading.Timer(PATIENCE_S, self.host.kill)
        self.patience.start()

    def tearDown(self):
        self.patience.cancel()
        for child in (self.host, self.adapter):
            child.kill()
            child.wait()
            child.stdout.close()
        self.adapter.stdin.close()

    def order(self, *lines):
        self.adapter.stdin.write("".join(line + "\n" for line in lines))
        self.adapter.stdin.flush()

    def until(self, words):
        """All lines up to the first that has the words."""
        lines = []
        for line in self.host.stdout:
            lines.append(line)
            if words in line:
                return lines
        raise AssertionError(f"never said: {words}")

    def test_a_program_that_hangs_in_a_pull(self):
        self.order("go 1 0 0", "go 0.5 60 20", "go 0.1 60 0", "fault hang 1", "go 0.4 60 0",
                   "fault hang 0", "go 1 60 0", "go 0.1 0 0", "go 1 0 0", "go 0.3 33 10")
        self.until("started anew (its program hung)")
        self.until("leave it at rest")
        # Still under load, its zero unknown: nothing is shown until it has rested without torque.
        shown = self.until("33.0")
        values = [float(line.split("N·m")[0].split()[-1]) for line in shown if "N·m" in line]
        self.assertLess(max(values), 40)

    def test_a_wire_that_breaks(self):
        self.order("speed 0", "go 1 0 0", "fault bridge-open 1", "go 3 0 0")
        self.until("bridge is disconnected: no torque")


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], *sys.argv[2:]])
