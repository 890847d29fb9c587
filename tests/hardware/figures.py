#!/usr/bin/python3
"""Every figure of hardware/electronics.md and mechanics.md: reckoned by hand in the page, by the
script, by boltwright calc, by a circuit simulator; and what firmware, simulator and netlist say.

figures.py [BOLTWRIGHT]
"""
import collections
import csv
import math
import re
import shutil
import subprocess
import sys
import unittest
import xml.etree.ElementTree
from pathlib import Path

HARDWARE = Path(__file__).resolve().parents[2] / "hardware"
sys.path.insert(0, str(HARDWARE))
import electronics  # noqa: E402

BOLTWRIGHT = sys.argv[1] if len(sys.argv) > 1 else None
FIGURES = electronics.figures()
# Arithmetic with plain numbers, and nothing else.
ARITHMETIC = re.compile(r"[\d.e+\-*/() ]+")


def text(name):
    return (HARDWARE / name).read_text(encoding="utf-8")


def shown(value):
    """(number, half of its last digit) of a figure as the page shows it: `0.23 %`."""
    number = re.match(r"-?\d+(?:\.(\d+))?", value)
    return float(number[0]), 0.5 * 10 ** -len(number[1] or "")


def rows(name, pattern):
    return re.findall(pattern, text(name), re.MULTILINE)


class Electronics(unittest.TestCase):
    ROWS = rows("electronics.md", r"^\| `(\w+)` \| `([^`]+)` \| ([^|]+) \|")

    def test_every_figure_is_on_the_page(self):
        self.assertEqual(sorted(key for key, _, _ in self.ROWS), sorted(FIGURES))

    def test_page_script_and_hand_agree(self):
        for key, reckoned, value in self.ROWS:
            with self.subTest(key):
                self.assertTrue(ARITHMETIC.fullmatch(reckoned))
                number, half = shown(value)
                # What is reckoned on from rounded figures may be off by a last digit.
                self.assertAlmostEqual(FIGURES[key], number, delta=half * 1.0001)
                by_hand = eval(reckoned)  # pylint: disable=eval-used
                self.assertAlmostEqual(by_hand, FIGURES[key], delta=2 * half)
                self.assertAlmostEqual(by_hand, FIGURES[key], delta=abs(FIGURES[key]) * 0.002)

    def test_what_was_asked_for(self):
        """Less than 1 degree over 90 in five strokes; errors below half a per cent of reading."""
        self.assertLess(FIGURES["angle_total_deg"], 1)
        self.assertLess(math.hypot(FIGURES["span_warm_percent"], FIGURES["bending_percent"]), 0.5)
        self.assertLess(FIGURES["noise_free_mNm"] / 1e3, 0.005 * 0.2 * electronics.RATED_NM)


class Code(unittest.TestCase):
    """Firmware and simulated parts have the figures of the page."""

    def number(self, name, pattern):
        return float(re.search(pattern, text(name))[1])

    def test_firmware(self):
        pace = "firmware/pace.h"
        self.assertEqual(self.number(pace, r"AD_CONVERSIONS_Hz = (\d+)"), electronics.CONVERSIONS_HZ)
        self.assertEqual(1 / self.number(pace, r"AD_TICKS_Hz = (\d+)"), electronics.TICK_S)
        rest_s = self.number(pace, r"AD_REST_TICKS = (\d+)") * electronics.TICK_S
        self.assertAlmostEqual(rest_s, electronics.REST_S)
        bridge = "firmware/bridge.h"
        on = self.number(bridge, r"AD_BRIDGE_LOADED_SHARE\s+(\d+)")
        off = self.number(bridge, r"AD_BRIDGE_FREE_SHARE\s+(\d+)")
        self.assertEqual((on, off), (128, 256))
        self.assertIn(f"from {180 / on:.1f} N·m up, and as off below {180 / off:.1f} N·m",
                      text("electronics.md"))

    def test_simulated_parts(self):
        parts = "sim/parts.c"
        for name, key, share in (("counts_per_Nm", "counts_per_Nm", 1e-4),
                                 ("noise_counts", "noise_counts", 0.03),
                                 ("shunt_counts", "shunt_counts", 1e-4)):
            value = self.number(parts, rf"\.{name} = ([\d.]+)")
            self.assertAlmostEqual(value, FIGURES[key], delta=share * FIGURES[key])
        self.assertEqual(self.number(parts, r"gyro_counts_per_dps = ([\d.]+)"),
                         electronics.GYRO_COUNTS_PER_DPS)


class Netlist(unittest.TestCase):
    NET = list(csv.DictReader(text("board.csv").splitlines()))
    PARTS = {row["ref"]: row for row in csv.DictReader(text("parts.csv").splitlines())}

    def test_every_part_and_no_other(self):
        used = {row["part"] for row in self.NET}
        listed = set(self.PARTS)
        self.assertEqual(used, listed)

    def test_nets(self):
        count = collections.Counter(row["net"] for row in self.NET)
        self.assertEqual([net for net, pins in count.items() if pins < 2], [])
        pins = collections.Counter((row["part"], row["pin"]) for row in self.NET)
        self.assertEqual([pin for pin, times in pins.items() if times > 1], [])

    def test_chip_pins_are_those_of_the_firmware(self):
        chip = {row["pin"]: row["net"] for row in self.NET if row["part"] == "U1"}
        for name, pin in re.findall(r"#define PIN_(\w+)\s+(P[BD]\d)", text("firmware/board/pins.h")):
            self.assertEqual(chip[pin], name)

    def test_the_bridge(self):
        """Gauges of one direction lie opposite, those of one side beside each other."""
        nets = collections.defaultdict(set)
        for row in self.NET:
            if row["part"] in ("E1", "E2", "E3", "E4"):
                nets[row["part"]].add(row["net"])
        kind = {ref: self.PARTS[ref]["property"].split("; ")[1:] for ref in nets}
        for a, b in (("E1", "E2"), ("E3", "E4"), ("E1", "E4"), ("E2", "E3")):
            same_direction = kind[a][0] == kind[b][0]
            self.assertEqual(bool(nets[a] & nets[b]), not same_direction, (a, b))
        self.assertEqual(kind["E1"][1], kind["E2"][1])
        self.assertEqual(kind["E3"][1], kind["E4"][1])


class FrontEnd(unittest.TestCase):
    @unittest.skipUnless(shutil.which("ngspice"), "no ngspice here")
    def test_circuit_simulator(self):
        run = subprocess.run(["ngspice", "-b", "front_end.cir"], cwd=HARDWARE, text=True,
                             capture_output=True, check=True)
        found = {name: float(value) for name, value in
                 re.findall(r"^(\w+)\s+=\s+(-?[\d.e+-]+)", run.stdout, re.MULTILINE)}
        self.assertAlmostEqual(found["out_mv"], FIGURES["bridge_out_mV"], delta=0.001)
        shunt_mv = FIGURES["shunt_Nm"] / electronics.RATED_NM * FIGURES["bridge_out_mV"]
        self.assertAlmostEqual(found["shunt_mv"], shunt_mv, delta=1e-5)
        corner_khz = found["corner_hz"] / 1e3
        self.assertAlmostEqual(corner_khz, FIGURES["filter_kHz"], delta=0.01 * corner_khz)


class Mechanics(unittest.TestCase):
    ROWS = rows("mechanics.md", r"^\| ([^|`]+) \| `([^`]+)` \| ([^|]+) \|")

    @unittest.skipUnless(BOLTWRIGHT, "no boltwright given")
    def test_own_calculator(self):
        self.assertGreater(len(self.ROWS), 15)
        for what, expression, value in self.ROWS:
            with self.subTest(what):
                run = subprocess.run([BOLTWRIGHT, "calc", expression], text=True,
                                     capture_output=True, check=False)
                self.assertEqual(run.returncode, 0, run.stderr)
                number, half = shown(value)
                # Four figures that end in zeros are rounded further: 1180.
                half = max(half, 0.002 * abs(number)) if number > 1000 else half
                self.assertAlmostEqual(float(run.stdout), number, delta=half * 1.0001)

    def test_same_as_electronics(self):
        values = {what: shown(value)[0] for what, _, value in self.ROWS}
        self.assertAlmostEqual(values["strain at 45°, at 150 N·m"],
                               electronics.STRAIN_RATED * 1e6, delta=0.5)
        self.assertEqual(values["diameter for 500 µm/m"], electronics.SHAFT_M * 1e3)
        self.assertAlmostEqual(values["bending strain"], FIGURES["bending_strain_um_per_m"], delta=0.06)


class Drawings(unittest.TestCase):
    def test_well_formed_and_dimensioned(self):
        for name, words in (("adapter.svg", ("ø 21.15", "□ 12.7", "44")),
                            ("board.svg", ("U1 ATmega328P", "R1 499 kΩ", "U2 converter"))):
            root = xml.etree.ElementTree.fromstring(text(name))
            said = " ".join(root.itertext())
            for word in words:
                self.assertIn(word, said)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
