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


class Rehearsal(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.home = folder.name

    def entries(self, kind):
        done = run(self.home, "export", "fw", "--format", "jsonl")
        self.assertEqual(done.returncode, 0, done.stderr)
        entries = [json.loads(line)["entry"] for line in done.stdout.splitlines()]
        return [entry for entry in entries if entry["kind"] == kind]


class Rehearsed(Rehearsal):
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
        done = rehearse(self.home, "--fault", "battery:plate:2")
        self.assertEqual(done.returncode, 2)
        self.assertIn("has no battery", done.stderr)
        done = run(self.home, "rehearse", str(SEQUENCE), "--wrench", "spanner")
        self.assertEqual(done.returncode, 2)
        self.assertIn("sim or firmware", done.stderr)


class Faulty(Rehearsal):
    """Faults of the wrench, seen through driver, judge and record."""

    def faulty(self, fault):
        """A whole block with that fault at place 2: it is complete, and the record stands the audit."""
        done = rehearse(self.home, "--fault", f"{fault}:plate:2")
        self.assertEqual(done.returncode, 0, done.stderr)
        end = json.loads(done.stdout.splitlines()[-1])
        self.assertEqual((end["outcome"], end["accepted"], end["overridden"]), ("complete", 8, 0))
        self.assertEqual(run(self.home, "audit", "--rejudge").returncode, 0)
        pulls = [p for p in self.entries("pull") if p.get("label") == "2" and p["stage"] == 1]
        said = [json.loads(line) for line in done.stdout.splitlines()]
        return pulls, " ".join(line.get("text", "") for line in said if line.get("kind") == "say")

    def test_noise_on_the_line(self):
        pulls, said = self.faulty("noise")
        self.assertRegex(said, "frames? of the adapter (was|were) lost")
        self.assertTrue(37.6 <= pulls[-1]["peak_torque_Nm"] <= 42.4, pulls)

    def test_the_line_is_cut_for_a_moment(self):
        pulls, said = self.faulty("lost")
        self.assertRegex(said, "4[0-9] frames of the adapter were lost")
        self.assertEqual(len(pulls), 2)

    def test_unplugged_in_a_pull(self):
        pulls, said = self.faulty("unplug")
        self.assertEqual([pull["complete"] for pull in pulls], [False, True])
        self.assertIn("it was unplugged or switched off", said)
        self.assertEqual(len(self.entries("tool_lost")), 1)
        self.assertEqual(len(self.entries("tool_back")), 1)


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

    def test_noise_on_the_line(self):
        """Through the real driver: frames are dropped and told, and no value is one that was not."""
        self.order("speed 0", "go 1.5 0 0", "fault line-noise 1", "go 0.5 60 20", "go 3 60 0",
                   "go 0.5 0 0", "fault line-noise 0", "go 1 0 0", "go 0.3 -33 0")
        lines = self.until("-33.0")
        values = [float(line.split("N·m")[0].split()[-1]) for line in lines if "N·m" in line]
        self.assertTrue(-33.1 < min(values) and max(values) < 60.1, (min(values), max(values)))
        plateau = [value for value in values if value > 59.9]
        self.assertTrue(120 < len(plateau) < 230, len(plateau))  # of 240; one in four is hit
        self.assertGreater(sum("of the adapter" in line and "lost" in line for line in lines), 10)
        self.assertNotIn("are speed", "".join(lines))

    def test_a_wire_that_breaks(self):
        self.order("speed 0", "go 1 0 0", "fault bridge-open 1", "go 3 0 0")
        self.until("bridge is disconnected: no torque")


if __name__ == "__main__":
    unittest.main(argv=[sys.argv[0], *sys.argv[2:]])
