#!/usr/bin/python3
"""hardware/calibrate.py: gravity, gains, uncertainty, what the page shows; and through adapter-sim,
from hanging a weight to a kept calibration.

calibration.py [ADAPTER-SIM IMAGE BOLTWRIGHT]
"""
import contextlib
import io
import math
import re
import shlex
import subprocess
import sys
import tempfile
import time
import unittest
from pathlib import Path

HARDWARE = Path(__file__).resolve().parents[2] / "hardware"
sys.path.insert(0, str(HARDWARE))
import calibrate  # noqa: E402

SIM = sys.argv[1:3] if len(sys.argv) > 2 else None
BOLTWRIGHT = sys.argv[3] if len(sys.argv) > 3 else None
EXAMPLE = HARDWARE / "calibration-example.csv"


def run(*arguments):
    return subprocess.run([sys.executable, "-B", str(HARDWARE / "calibrate.py"), *map(str, arguments)],
                          text=True, capture_output=True, check=False)


class Reckoning(unittest.TestCase):
    def test_gravity(self):
        """Normal gravity at the equator and the pole as WGS 84 gives it; standard gravity, 9.80665,
        was meant for 45 degrees at sea level."""
        self.assertAlmostEqual(calibrate.gravity(0, 0), 9.7803253359, places=9)
        self.assertAlmostEqual(calibrate.gravity(90, 0), 9.8321849378, places=8)
        self.assertAlmostEqual(calibrate.gravity(45, 0), 9.80665, delta=5e-4)
        self.assertAlmostEqual(calibrate.gravity(45, 1000) - calibrate.gravity(45, 0), -3.086e-3)

    def test_buoyancy(self):
        """Steel in air weighs 0.0153 % less."""
        share = calibrate.torque_nm(10, 1, 9.80665) / 98.0665
        self.assertAlmostEqual(1 - share, 1.2 / 7850, places=9)

    def rows(self, *triples):
        return [{"direction": "tighten", "way": way, "arm_m": 0.5, "torque_nm": torque,
                 "counts": counts} for way, torque, counts in triples]

    def test_a_perfect_adapter(self):
        rows = self.rows(*(("up", t, t * 14000) for t in (30, 90, 150)))
        result = calibrate.reckon(rows, 0)
        self.assertEqual(result["gain_pnm"], round(1e12 / 14000))
        self.assertTrue(all(abs(mean) < 1e-12 for _, mean, _, _ in result["table"]))
        by_hand = 2 * math.sqrt((1e-4 ** 2 + (0.2e-3 / 0.5) ** 2 + 0.002 ** 2) / 3 + 2e-5 ** 2)
        self.assertAlmostEqual(result["expanded"], by_hand, places=9)

    def test_hysteresis_and_scatter(self):
        rows = self.rows(("up", 30, 300000), ("up", 30, 300300), ("down", 30, 300900),
                         ("up", 90, 900000), ("down", 90, 900000), ("up", 150, 1500000))
        table = calibrate.reckon(rows, 0)["table"]
        self.assertAlmostEqual(table[0][2], 750 / 300000, delta=1e-5)
        self.assertAlmostEqual(table[0][3], 300 / 300000, delta=1e-5)
        self.assertAlmostEqual(table[1][2], 0)

    def test_the_page_shows_what_comes_out(self):
        done = run("reckon", EXAMPLE, "--latitude", 53.55, "--height", 10)
        self.assertEqual(done.returncode, 0, done.stderr)
        page = (HARDWARE / "calibration.md").read_text(encoding="utf-8")
        for line in done.stdout.splitlines():
            self.assertIn("    " + line + "\n", page)

    def test_tables_that_are_wrong(self):
        head = "direction,way,mass_kg,arm_m,counts\n"
        for line in ("tighten,up,six,0.5,1", "turn,up,6,0.5,1", "tighten,side,6,0.5,1",
                     "tighten,up,6,0.5,-1", "loosen,up,6,0.5,1", "tighten,up,-6,0.5,1",
                     "tighten,up,6,0.5", "tighten,up,6,0.5,400000"):
            with self.subTest(line), tempfile.NamedTemporaryFile("w", suffix=".csv") as file:
                file.write(head + line + "\n")
                file.flush()
                done = run("reckon", file.name, "--latitude", 50)
                self.assertEqual(done.returncode, 1)
                self.assertEqual(len(done.stderr.splitlines()), 1)
                self.assertTrue(done.stderr.startswith("calibrate: "))


@unittest.skipUnless(SIM, "no simulated adapter given")
class ThroughTheAdapter(unittest.TestCase):
    def setUp(self):
        self.child = subprocess.Popen(SIM, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                      stderr=subprocess.DEVNULL, text=True)
        self.addCleanup(self.child.stdout.close)
        self.addCleanup(self.end)
        self.port = self.child.stdout.readline().split()[1]
        self.after("speed 0", "go 1.5 0 0")

    def end(self):
        self.child.stdin.close()
        self.child.wait(timeout=20)

    def after(self, *orders):
        self.child.stdin.write("\n".join(orders + ("tell", "")))
        self.child.stdin.flush()
        self.assertEqual(self.child.stdout.readline().split()[0], "done")

    def counts(self, torque_nm):
        self.after(f"go 0.2 {torque_nm:.6f} 0")
        port = calibrate.Port(self.port)
        return calibrate.mean_counts(port, 0.5)[0]

    def write(self, table):
        arguments = ["write", self.port, table, "--latitude", 53.55, "--serial", 8, "--date", 20261126,
                     "--certificate", "W-1", "--gyro", 30518, "--shunt", 1074817]
        for _ in range(20):
            done = run(*arguments)
            if "not at rest" not in done.stderr:
                return done
            time.sleep(0.2)
        return done

    def test_from_weights_to_a_kept_calibration(self):
        """The gains that are kept are those of the simulated parts, which know nothing of them."""
        gravity = calibrate.gravity(53.55, 0)
        with tempfile.NamedTemporaryFile("w", suffix=".csv") as file:
            file.write("direction,way,mass_kg,arm_m,counts\n")
            for direction, sign in (("tighten", 1), ("loosen", -1)):
                for mass in (6, 18, 30):
                    torque = calibrate.torque_nm(mass, 0.5, gravity)
                    file.write(f"{direction},up,{mass},0.5,{self.counts(sign * torque):.0f}\n")
            file.flush()
            self.after("go 0.2 0 0", "go 1 0 0")
            locked = self.write(file.name)
            self.assertIn("jumper is open", locked.stderr)
            self.after("jumper 1")
            done = self.write(file.name)
            self.assertEqual(done.returncode, 0, done.stderr)
        port = calibrate.Port(self.port)
        port.send(calibrate.HELLO, b"\1\1")
        kept = next(frame for kind, frame in port.frames(5) if kind == calibrate.CALIBRATION)
        serial, tighten, loosen = (int.from_bytes(kept[at:at + 4], "little") for at in (5, 9, 13))
        self.assertEqual(serial, 8)
        self.assertAlmostEqual(tighten * 1e-12, 1 / 14316.56, delta=2e-4 / 14316.56)
        self.assertAlmostEqual(loosen * 1e-12, 1 / 14316.56 / 0.9997, delta=2e-4 / 14316.56)

    @unittest.skipUnless(BOLTWRIGHT, "no boltwright given")
    def test_the_register_reads_the_adapter(self):
        """The page's commands: a weight hangs, its mass is typed, the adapter says what it shows."""
        page = (HARDWARE / "calibration.md").read_text(encoding="utf-8")
        add, calibrate_ = (re.search(rf"    boltwright (tool {word} .*?)\n\n", page.replace("\\\n", ""),
                                     re.DOTALL)[1].split("\n")[0] for word in ("add", "calibrate"))
        home = tempfile.TemporaryDirectory()
        self.addCleanup(home.cleanup)
        add = shlex.split(add.replace("usb:A9047", self.port))
        subprocess.run([BOLTWRIGHT, *add, "--home", home.name], check=True)
        mass_kg = 30 / calibrate.torque_nm(1, 0.5, calibrate.gravity(53.55, 10))
        self.after(f"go 0.2 {calibrate.torque_nm(mass_kg, 0.5, calibrate.gravity(53.55, 10)):.4f} 0")
        done = subprocess.run([BOLTWRIGHT, *shlex.split(calibrate_), "--home", home.name], text=True,
                              input=f"{mass_kg:.4f}\n", capture_output=True, check=False)
        self.assertIn("the tool shows ", done.stderr)
        shown = float(done.stderr.split("the tool shows ")[1].split()[0])
        self.assertAlmostEqual(shown, 30, delta=0.03)
        self.assertEqual(done.returncode, 2)  # one of fifteen: nothing is recorded

    def test_shunt(self):
        for _ in range(20):
            with contextlib.redirect_stdout(io.StringIO()):
                done = run("shunt", self.port)
            if done.returncode == 0:
                break
            time.sleep(0.2)
        self.assertAlmostEqual(int(done.stdout.split()[0]), 1074817, delta=60)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
