#!/usr/bin/python3
"""hardware/protocol.md, adapter_frame.h and the worked frames agree.

The CRC is zlib's, which is CRC-32/ISO-HDLC; COBS is written here after its published description
(Cheshire and Baker, 1999).
"""
import re
import struct
import unittest
import zlib
from pathlib import Path

HARDWARE = Path(__file__).resolve().parents[2] / "hardware"
SIZES = {"u8": 1, "u16": 2, "u32": 4, "i32": 4, "text12": 12}
PACKS = {"u8": "<B", "u16": "<H", "u32": "<I", "i32": "<i"}
FRAMES = {"SAMPLE", "IDENTITY", "CALIBRATION", "RESULT", "STATUS", "HELLO", "ZERO", "RATE", "SHUNT",
          "LAMP", "CALIBRATE"}


def cobs(plain):
    """No piece here comes near 254 bytes."""
    return b"".join(bytes([len(piece) + 1]) + piece for piece in plain.split(b"\0")) + b"\0"


def uncobs(wire):
    assert wire[-1] == 0 and 0 not in wire[:-1]
    pieces, at = [], 0
    while at < len(wire) - 1:
        pieces.append(wire[at + 1:at + wire[at]])
        at += wire[at]
    assert at == len(wire) - 1, "the last piece passes the end"
    return b"\0".join(pieces)


class Document:
    def __init__(self):
        self.text = (HARDWARE / "protocol.md").read_text(encoding="utf-8")
        self.frames = {}
        for head in re.finditer(r"^### (\w+) (0x\w\w), (\d+) bytes\n(.*?)(?=^#)", self.text,
                                re.MULTILINE | re.DOTALL):
            rows = re.findall(r"^\| (\d+) \| (\w+) \| (\w+) \|", head[4], re.MULTILINE)
            self.frames[head[1]] = (int(head[2], 16), int(head[3]),
                                    [(name, int(at), kind) for at, kind, name in rows])
        self.flags = {name: (int(bit, 16), torque == "no", angle == "no")
                      for bit, name, torque, angle in re.findall(
                          r"^\| ([0-9A-F]{4}) \| (\w+) \|.*\| (good|no) \| (good|no) \|$",
                          self.text, re.MULTILINE)}

    def worked(self):
        """(frame, sequence, {field: value}, plain, wire) of each worked frame."""
        part = self.text[self.text.index("## Worked frames"):]
        for block in re.findall(r"^```\n(.*?)^```$", part, re.MULTILINE | re.DOTALL):
            values, rest = block.split("plain ", 1)
            plain, wire = (bytes.fromhex(text) for text in rest.split("wire  ", 1))
            frame, sequence = re.match(r"(\w+) sequence=(\d+)", values).groups()
            fields = {name: text.strip('"') if text.startswith('"') else int(text)
                      for name, text in re.findall(r'\b([A-Z_]+)=("[^"]*"|-?\d+)', values)}
            yield frame, int(sequence), fields, plain, wire


class Header:
    def __init__(self):
        text = (HARDWARE / "adapter_frame.h").read_text(encoding="utf-8")
        self.values = {name: int(value, 0) for name, value in
                       re.findall(r"\bADAPTER_(\w+)\s*(?:=\s*|\s)(0x[0-9A-F]+|\d+)u?l?\b", text)}
        self.kinds = dict(re.findall(r"\bADAPTER_(\w+) = \d+,?\s*/\* (\w+) \*/", text))
        self.order = re.findall(r"\bADAPTER_(\w+) = ", text)


DOCUMENT, HEADER = Document(), Header()


class Agreement(unittest.TestCase):
    def test_every_frame_is_there(self):
        self.assertEqual(set(DOCUMENT.frames), FRAMES)
        self.assertEqual({frame for frame, *_ in DOCUMENT.worked()}, FRAMES)

    def test_types_and_lengths(self):
        for frame, (code, size, fields) in DOCUMENT.frames.items():
            with self.subTest(frame):
                self.assertEqual(HEADER.values[frame], code)
                self.assertEqual(HEADER.values[f"{frame}_BYTES"], size)
                self.assertEqual(size, 4 + sum(SIZES[kind] for _, _, kind in fields) + 4)
                self.assertLessEqual(size, HEADER.values["PLAIN_MAX"])

    def test_fields(self):
        """Same names, offsets and types, in the same order and without a hole."""
        for frame, (_, _, fields) in DOCUMENT.frames.items():
            at = HEADER.values["AT_BODY"]
            for name, offset, kind in fields:
                with self.subTest(frame=frame, field=name):
                    self.assertEqual(offset, at)
                    self.assertEqual(HEADER.values[f"{frame}_{name}"], at)
                    self.assertEqual(HEADER.kinds[f"{frame}_{name}"], kind)
                at += SIZES[kind]
            mine = [name for name in HEADER.order if name.startswith(frame + "_")
                    and name in HEADER.kinds]
            self.assertEqual(mine, [f"{frame}_{name}" for name, _, _ in fields])

    def test_flags(self):
        mine = {name[5:]: value for name, value in HEADER.values.items()
                if name.startswith("FLAG_")}
        self.assertEqual(mine, {name: bit for name, (bit, _, _) in DOCUMENT.flags.items()})
        self.assertEqual(len(set(mine.values())), 16)
        for mask, column in (("NO_TORQUE", 1), ("NO_ANGLE", 2)):
            bits = sum(row[0] for row in DOCUMENT.flags.values() if row[column])
            self.assertEqual(HEADER.values[mask], bits)
            self.assertIn(f"{bits:04X}", DOCUMENT.text)

    def test_coding(self):
        for name, text in (("CRC_POLYNOMIAL", "EDB88320"), ("CRC_INITIAL", "FFFFFFFF"),
                           ("CRC_FINAL_XOR", "FFFFFFFF")):
            self.assertEqual(HEADER.values[name], int(text, 16))
            self.assertIn(text, DOCUMENT.text)
        self.assertEqual(zlib.crc32(b"123456789"), 0xCBF43926)
        self.assertIn("CBF43926", DOCUMENT.text)
        self.assertIn(f"{HEADER.values['BAUD']} baud", DOCUMENT.text)
        self.assertEqual(HEADER.values["CODED_MAX"], HEADER.values["PLAIN_MAX"] + 2)


class Worked(unittest.TestCase):
    def plain(self, frame, sequence, values):
        code, _, fields = DOCUMENT.frames[frame]
        body = b"".join(
            values[name].encode("ascii").ljust(12, b"\0") if kind == "text12"
            else struct.pack(PACKS[kind], values[name]) for name, _, kind in fields)
        head = struct.pack("<BBH", 1, code, sequence)
        return head + body + struct.pack("<I", zlib.crc32(head + body))

    def test_each(self):
        for frame, sequence, values, plain, wire in DOCUMENT.worked():
            with self.subTest(frame=frame, sequence=sequence):
                names = [name for name, _, _ in DOCUMENT.frames[frame][2]]
                self.assertEqual(list(values), names)
                self.assertEqual(plain, self.plain(frame, sequence, values))
                self.assertEqual(wire, cobs(plain))
                self.assertEqual(uncobs(wire), plain)

    def test_what_the_words_say(self):
        """60 N.m of the loaded sample, by the gain of the calibration before it."""
        frames = list(DOCUMENT.worked())
        gain = next(values for frame, _, values, _, _ in frames if frame == "CALIBRATION")
        sample = next(values for frame, _, values, _, _ in frames if frame == "SAMPLE")
        torque_nm = sample["TORQUE_COUNTS"] * gain["GAIN_TIGHTEN"] * 1e-12
        self.assertEqual(f"{torque_nm:.2f}", "60.00")
        lamp = next(values for frame, _, values, _, _ in frames if frame == "LAMP")
        for name, torque_nm in (("FROM_COUNTS", 57), ("TO_COUNTS", 63)):
            self.assertAlmostEqual(lamp[name] * gain["GAIN_TIGHTEN"] * 1e-12, torque_nm, places=3)


if __name__ == "__main__":
    unittest.main()
