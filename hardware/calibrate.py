#!/usr/bin/python3
"""Calibrates the open adapter with dead weights on an arm.  calibration.md says how.

  calibrate.py read PORT                      mean counts of what hangs there now
  calibrate.py shunt PORT                     counts of the shunt
  calibrate.py reckon READINGS --latitude DEG [--height M] [--side PERCENT]
                                              gains, deviations, hysteresis, uncertainty
  calibrate.py write PORT READINGS --latitude DEG [--height M] [--side PERCENT] --serial N
                     --date YYYYMMDD --certificate TEXT --gyro UDPS --shunt COUNTS [--rated NM]
                                              keeps it in the adapter (jumper closed)

READINGS is CSV: direction,way,mass_kg,arm_m,counts; direction tighten or loosen, way up or down.
Nothing but Python's own library.
"""
import argparse
import csv
import math
import os
import select
import struct
import sys
import termios
import time
import zlib

SAMPLE, CALIBRATION, RESULT, STATUS = 0x10, 0x12, 0x13, 0x14
HELLO, SHUNT, CALIBRATE = 0x20, 0x23, 0x25
FLAG_NO_CALIBRATION, FLAGS_BAD = 0x0008, 0x8DE4  # the second: ADAPTER_NO_TORQUE without the first
SIZES = {SAMPLE: 22, CALIBRATION: 51, RESULT: 16, STATUS: 29}
SAID = ("done", "not at rest", "a value is out of range", "the calibration jumper is open",
        "no version in common", "unknown to this firmware", "converter or gyro at fault")
OVERLOAD_SHARE = 1.2
SETTLE_S = 0.3
# Relative standard uncertainties of the reference, and where they come from: calibration.md.
MASS_SHARE, ARM_M, GRAVITY_SHARE = 1e-4 / math.sqrt(3), 0.2e-3 / math.sqrt(3), 2e-5
WARMTH_SHARE = 0.002 / math.sqrt(3)  # within 10 K of the calibration's temperature
AIR_KG_PER_M3, WEIGHT_KG_PER_M3 = 1.2, 7850.0


class Trouble(Exception):
    pass


class Port:
    def __init__(self, path):
        self.fd = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        mode = termios.tcgetattr(self.fd)
        mode[0] = mode[1] = mode[3] = 0
        mode[2] = termios.CS8 | termios.CREAD | termios.CLOCAL
        mode[4] = mode[5] = termios.B115200
        termios.tcsetattr(self.fd, termios.TCSANOW, mode)
        termios.tcflush(self.fd, termios.TCIFLUSH)  # what waits is of an earlier moment
        self.rest, self.sequence = b"", 0

    def send(self, kind, body=b""):
        self.sequence += 1
        plain = struct.pack("<BBH", 1, kind, self.sequence) + body
        plain += struct.pack("<I", zlib.crc32(plain))
        coded = b"".join(bytes([len(piece) + 1]) + piece for piece in plain.split(b"\0")) + b"\0"
        os.write(self.fd, coded)

    def frames(self, seconds):
        """(type, frame) of every good frame for so long."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if select.select([self.fd], [], [], 0.05)[0]:
                self.rest += os.read(self.fd, 65536)
            *whole, self.rest = self.rest.split(b"\0")
            for coded in whole:
                plain = uncoded(coded)
                if plain is not None and SIZES.get(plain[1]) == len(plain):
                    yield plain[1], plain

    def ask(self, kind, body=b"", seconds=3.0):
        """The value of the command's RESULT."""
        self.send(kind, body)
        for got, frame in self.frames(seconds):
            if got == RESULT and frame[4] == kind:
                code, value = frame[7], struct.unpack_from("<i", frame, 8)[0]
                if code != 0:
                    raise Trouble(f"the adapter refuses: {SAID[min(code, len(SAID) - 1)]}")
                return value
        raise Trouble("the adapter does not answer")


def uncoded(coded):
    pieces, at = [], 0
    while at < len(coded):
        pieces.append(coded[at + 1:at + coded[at]])
        at += coded[at]
    plain = b"\0".join(pieces)
    if at != len(coded) or len(plain) < 8:
        return None
    return plain if zlib.crc32(plain[:-4]) == struct.unpack("<I", plain[-4:])[0] else None


def mean_counts(port, seconds=3.0):
    counts = []
    for _ in port.frames(SETTLE_S):
        pass
    for kind, frame in port.frames(seconds):
        if kind == SAMPLE:
            value, flags = struct.unpack_from("<i", frame, 8)[0], struct.unpack_from("<H", frame, 16)[0]
            if flags & FLAGS_BAD:
                raise Trouble(f"no torque can be read now: flags {flags:04X}, see protocol.md")
            counts.append(value)
    if len(counts) < 10:
        raise Trouble("hardly any samples come; is this the adapter's port?")
    mean = sum(counts) / len(counts)
    return mean, math.sqrt(sum((c - mean) ** 2 for c in counts) / (len(counts) - 1))


def gravity(latitude_deg, height_m):
    """m/s2: the normal gravity of WGS 84 (Somigliana) and the free-air change with height."""
    sine2 = math.sin(math.radians(latitude_deg)) ** 2
    on_ellipsoid = 9.7803253359 * (1 + 0.00193185265241 * sine2) / math.sqrt(
        1 - 0.00669437999013 * sine2)
    return on_ellipsoid - 3.086e-6 * height_m


def torque_nm(mass_kg, arm_m, gravity_m_s2):
    return mass_kg * arm_m * gravity_m_s2 * (1 - AIR_KG_PER_M3 / WEIGHT_KG_PER_M3)


def read_table(path, gravity_m_s2):
    found = []
    with open(path, encoding="utf-8", newline="") as file:
        for number, row in enumerate(csv.DictReader(file), 2):
            try:
                entry = {"direction": row["direction"], "way": row["way"],
                         "arm_m": float(row["arm_m"]), "counts": float(row["counts"]),
                         "torque_nm": torque_nm(float(row["mass_kg"]), float(row["arm_m"]),
                                                gravity_m_s2)}
            except (KeyError, TypeError, ValueError) as error:
                raise Trouble(f"{path}:{number}: not direction,way,mass_kg,arm_m,counts: {error}") \
                    from error
            if entry["direction"] not in ("tighten", "loosen") or entry["way"] not in ("up", "down"):
                raise Trouble(f"{path}:{number}: direction is tighten or loosen, way is up or down")
            if entry["torque_nm"] <= 0 or (entry["counts"] > 0) != (entry["direction"] == "tighten"):
                raise Trouble(f"{path}:{number}: mass and arm above 0; counts positive to tighten, "
                              "negative to loosen")
            found.append(entry)
    return found


def reckon(rows, side_share):
    """Gain by least squares of the relative deviations, and all that follows, of one direction."""
    steps = {}
    for row in rows:
        steps.setdefault(round(row["torque_nm"], 3), []).append(row)
    if len(steps) < 3:
        raise Trouble("each direction takes at least three torques")
    gain = sum(row["torque_nm"] / abs(row["counts"]) for row in rows) / len(rows)
    worst = {"deviation": 0.0, "hysteresis": 0.0, "scatter": 0.0}
    table = []
    for torque, at in sorted(steps.items()):
        shares = {way: [gain * abs(r["counts"]) / torque - 1 for r in at if r["way"] == way]
                  for way in ("up", "down")}
        both = shares["up"] + shares["down"]
        mean = sum(both) / len(both)
        hysteresis = abs(sum(shares["up"]) / len(shares["up"]) - sum(shares["down"])
                         / len(shares["down"])) if shares["up"] and shares["down"] else 0.0
        scatter = max((max(s) - min(s) for s in shares.values() if s), default=0.0)
        table.append((torque, mean, hysteresis, scatter))
        for key, value in (("deviation", abs(mean)), ("hysteresis", hysteresis), ("scatter", scatter)):
            worst[key] = max(worst[key], value)
    arm = min(row["arm_m"] for row in rows)
    parts = {"mass": MASS_SHARE, "arm": ARM_M / arm, "gravity": GRAVITY_SHARE,
             "warmth": WARMTH_SHARE, "side": side_share / math.sqrt(3),
             "deviation": worst["deviation"] / math.sqrt(3),
             "hysteresis": worst["hysteresis"] / 2 / math.sqrt(3),
             "scatter": worst["scatter"] / 2 / math.sqrt(3)}
    expanded = 2 * math.sqrt(sum(value ** 2 for value in parts.values()))
    return {"gain_pnm": round(gain * 1e12), "table": table, "parts": parts, "expanded": expanded}


def reckon_all(args):
    found = read_table(args.readings, gravity(args.latitude, args.height))
    return {direction: reckon([row for row in found if row["direction"] == direction],
                              args.side / 100)
            for direction in ("tighten", "loosen")}


def show(results):
    for direction, result in results.items():
        print(f"{direction}: {result['gain_pnm']} pN·m per count, expanded uncertainty "
              f"{100 * result['expanded']:.2f} % of reading (k = 2)")
        for torque, mean, hysteresis, scatter in result["table"]:
            print(f"  {torque:8.3f} N·m  deviation {100 * mean:+.3f} %  hysteresis "
                  f"{100 * hysteresis:.3f} %  scatter {100 * scatter:.3f} %")
        print("  standard uncertainties: " + ", ".join(
            f"{name} {100 * value:.3f} %" for name, value in result["parts"].items()))


def write(args):
    results = reckon_all(args)
    show(results)
    certificate = args.certificate.encode("ascii")
    if len(certificate) > 12:
        raise Trouble("a certificate's number has at most 12 characters")
    gain = results["tighten"]["gain_pnm"]
    body = struct.pack("<IIIIiiHI12s", args.serial, gain, results["loosen"]["gain_pnm"], args.gyro,
                       args.shunt, round(args.rated * OVERLOAD_SHARE / gain * 1e12),
                       round(args.rated * 100), args.date, certificate)
    Port(args.port).ask(CALIBRATE, body)
    print("kept in the adapter; open the jumper again")


def read(args):
    mean, spread = mean_counts(Port(args.port))
    print(f"{mean:.0f} counts, spread {spread:.0f}")


def shunt(args):
    print(f"{Port(args.port).ask(SHUNT)} counts")


def arguments():
    parser = argparse.ArgumentParser(description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    commands = parser.add_subparsers(required=True)
    made = {}
    for name, do in (("read", read), ("shunt", shunt), ("reckon", lambda a: show(reckon_all(a))),
                     ("write", write)):
        made[name] = commands.add_parser(name)
        made[name].set_defaults(do=do)
        if name != "reckon":
            made[name].add_argument("port")
    for name in ("reckon", "write"):
        made[name].add_argument("readings")
        made[name].add_argument("--latitude", type=float, required=True, help="degrees")
        made[name].add_argument("--height", type=float, default=0.0, help="metres above the sea")
        made[name].add_argument("--side", type=float, default=0.25,
                                help="what side load changed, in %% of reading")
    for option, kind in (("--serial", int), ("--date", int), ("--certificate", str), ("--gyro", int),
                         ("--shunt", int)):
        made["write"].add_argument(option, type=kind, required=True)
    made["write"].add_argument("--rated", type=float, default=150.0, help="N·m")
    return parser.parse_args()


def main():
    args = arguments()
    try:
        args.do(args)
    except (Trouble, OSError, UnicodeEncodeError) as trouble:
        print(f"calibrate: {trouble}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
