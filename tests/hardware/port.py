#!/usr/bin/python3
"""adapter-sim through its pseudo-terminal, as any program reads a serial port.

port.py ADAPTER-SIM IMAGE
"""
import os
import select
import struct
import subprocess
import sys
import termios
import time
import unittest
import zlib

from frames import DOCUMENT, HEADER, PACKS, cobs, uncobs

SIM, IMAGE = sys.argv[1:3]
PATIENCE_S = 30
CODES = {code: frame for frame, (code, _, _) in DOCUMENT.frames.items()}


class Adapter:
    def __init__(self):
        self.child = subprocess.Popen([SIM, IMAGE], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                      stderr=subprocess.PIPE, text=True)
        word, path = self.answer("port")
        self.port = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        self.buffer, self.frames, self.bad = b"", [], 0

    def answer(self, word):
        for line in self.child.stdout:
            if line.startswith(word + " "):
                return line.split()
        raise AssertionError(f"no {word}")

    def order(self, *lines):
        self.child.stdin.write("".join(line + "\n" for line in lines))
        self.child.stdin.flush()

    def send(self, frame, sequence, values=()):
        code, _, fields = DOCUMENT.frames[frame]
        plain = struct.pack("<BBH", 1, code, sequence) + b"".join(
            struct.pack(PACKS[kind], value) for (_, _, kind), value in zip(fields, values))
        os.write(self.port, cobs(plain + struct.pack("<I", zlib.crc32(plain))))

    def read(self):
        if select.select([self.port], [], [], 0.05)[0]:
            self.buffer += os.read(self.port, 65536)
        *whole, self.buffer = self.buffer.split(b"\0")
        for wire in filter(None, whole):
            self.take(wire + b"\0")

    def take(self, wire):
        try:
            plain = uncobs(wire)
            good = zlib.crc32(plain[:-4]) == struct.unpack("<I", plain[-4:])[0]
        except (AssertionError, struct.error):
            good = False
        if not good:
            self.bad += 1
            return
        frame = CODES[plain[1]]
        fields = DOCUMENT.frames[frame][2]
        self.frames.append((frame, {
            name: plain[at:at + 12] if kind == "text12" else struct.unpack_from(PACKS[kind], plain, at)[0]
            for name, at, kind in fields}))

    def until(self, is_so, what):
        end = time.monotonic() + PATIENCE_S
        while not is_so():
            if time.monotonic() > end:
                raise AssertionError(f"did not come: {what}")
            self.read()

    def of(self, frame):
        return [values for name, values in self.frames if name == frame]

    def close(self):
        os.close(self.port)
        self.order("quit")
        code = self.child.wait(timeout=PATIENCE_S)
        self.child.stdin.close()
        self.child.stdout.close()
        self.child.stderr.close()
        return code


class Port(unittest.TestCase):
    def setUp(self):
        self.adapter = Adapter()

    def test_a_pull_at_once(self):
        """60 N.m over 30 degrees, unpaced; what is heard is what was done."""
        adapter = self.adapter
        adapter.order("speed 0", "go 1.5 0 0", "go 0.1 1.5 0", "go 1 60 30", "go 0.5 60 0",
                      "go 0.1 0 0", "go 0.5 0 0")
        adapter.send("HELLO", 0, (1, 1))
        adapter.until(lambda: any(s["FLAGS"] & HEADER.values["FLAG_LOADED"]
                                  for s in adapter.of("SAMPLE")), "load")
        adapter.until(lambda: adapter.of("SAMPLE")[-1]["FLAGS"] == HEADER.values["FLAG_REST"],
                      "rest after the load")
        gain = adapter.of("CALIBRATION")[-1]["GAIN_TIGHTEN"]
        samples = adapter.of("SAMPLE")
        loaded = [s for s in samples if s["FLAGS"] & HEADER.values["FLAG_LOADED"]]
        self.assertAlmostEqual(max(s["TORQUE_COUNTS"] for s in loaded) * gain * 1e-12, 60, delta=0.05)
        self.assertAlmostEqual(samples[-1]["ANGLE_MDEG"] / 1000, 30, delta=0.3)
        self.assertEqual(adapter.of("IDENTITY")[-1]["RATE_HZ"], 80)
        self.assertLessEqual(adapter.bad, 1)  # the first may have lost its beginning
        self.assertEqual(adapter.close(), 0)

    def test_commands_and_a_fault(self):
        adapter = self.adapter
        adapter.order("speed 0", "go 1.5 0 0", "tell")
        self.assertGreaterEqual(float(adapter.answer("done")[1]), 1.5)
        adapter.send("RATE", 9, (40,))
        adapter.until(lambda: adapter.of("RESULT"), "a result")
        self.assertEqual(adapter.of("RESULT")[0], {"TYPE": 0x22, "SEQUENCE": 9, "CODE": 0, "VALUE": 40})
        adapter.order("fault converter-silent 1")
        adapter.until(lambda: adapter.of("SAMPLE")[-1]["FLAGS"] & HEADER.values["FLAG_STUCK"], "stuck")
        adapter.order("brown-out")
        adapter.until(lambda: [i for i in adapter.of("IDENTITY") if i["RESET"] == 2], "the new start")
        self.assertEqual(adapter.close(), 0)

    def test_wrong_order(self):
        self.adapter.order("go fast")
        self.assertEqual(self.adapter.child.wait(timeout=PATIENCE_S), 1)
        self.assertIn("go fast", self.adapter.child.stderr.read())
        self.adapter.child.stderr.close()
        os.close(self.adapter.port)
        self.adapter.child.stdin.close()
        self.adapter.child.stdout.close()


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
