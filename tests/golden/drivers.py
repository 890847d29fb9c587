"""drivers.py - the drivers of docs/drivers-in-lua.md work as they stand there, and the skeleton is built
as docs/drivers-in-c.md says."""

import json
import os
import re
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.environ.get("BOLTWRIGHT", os.path.join(ROOT, "build", "test", "boltwright"))


def crc16_modbus(data):
    crc = 0xFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xA001 if crc & 1 else 0)
    return crc


def scale_frame(hundredths, status=0):
    body = bytes([1]) + hundredths.to_bytes(2, "big", signed=True) + bytes([status])
    return body + crc16_modbus(body).to_bytes(2, "little")


def tern(body, damage=b""):
    total = 0
    for byte in body:
        total ^= byte
    return b"#%s*%02X\r\n" % (body + damage, total)


# What each example of the page, in its order, must make of these bytes.
EXAMPLES = [
    (b"+0012.34 N.m\r\n-0000.50 N.m\r\nLOW BATTERY\r\n",
     [{"torque_Nm": 12.34}, {"torque_Nm": -0.5}, {"error": 'not understood: "LOW BATTERY"'}]),
    (scale_frame(1000) + b"\x01\x77" + scale_frame(-250) + scale_frame(5, status=1),
     [{"torque_Nm": 13.558179483314004}, {"torque_Nm": -3.389544870828501}, {"error": None}]),
    (b"TERN READY\r\n" + tern(b"TN2;0001;T;+00100.0;LI;+0003") + tern(b"TN2;0002;P;-00060.5;NM;-0012") +
     tern(b"TN2;0002;P;-00060.5;NM;-0012") + tern(b"TN2;0003;T;+00001.0;LI;+0003", b"0") +
     tern(b"TN2;0003;T;+00001.0;KM;+0003"),
     [{"error": 'not understood: "TERN READY"'},
      {"torque_Nm": 11.29848290276167, "angle_deg": 3},
      {"peak_torque_Nm": -60.5, "angle_deg": -12},
      {"say": None}, {"error": None}, {"error": None}]),
]


def check(condition, message):
    if not condition:
        sys.exit(message)


def run(env, *words):
    done = subprocess.run([PROGRAM] + list(words), capture_output=True, text=True, timeout=60,
                          check=False, env=env)
    check(done.returncode == 0, "%s\n%s%s" % (words, done.stdout, done.stderr))
    return [json.loads(line) for line in done.stdout.splitlines()]


def same(said, wanted):
    return all(key in said and (value is None or said[key] == value or
                                isinstance(value, float) and abs(said[key] - value) < 1e-12)
               for key, value in wanted.items())


def check_examples(folder, env):
    with open(os.path.join(ROOT, "docs", "drivers-in-lua.md"), encoding="utf-8") as page:
        texts = re.findall(r"```lua\n(.*?)```", page.read(), re.S)
    check(len(texts) == len(EXAMPLES), "the page has %d examples" % len(texts))
    for number, (text, (data, wanted)) in enumerate(zip(texts, EXAMPLES)):
        name = "example%d" % number
        with open(os.path.join(folder, name + ".lua"), "w", encoding="utf-8") as out:
            out.write(text)
        rows = run(env, "port", "--quick", "--json")
        row = [r for r in rows if r.get("name") == name][0]
        check("fault" not in row, "%s" % row)
        capture = os.path.join(folder, name + ".txt")
        with open(capture, "w", encoding="utf-8") as out:
            out.write("@0 opened\n@0 silent\n@1000 %s\n" % data.hex())
        said = run(env, "listen", "--replay", capture, "--driver", name, "--json")
        check(len(said) == len(wanted) and all(map(same, said, wanted)),
              "%s says %s" % (name, said))


def check_skeleton(folder, env):
    source = os.path.join(ROOT, "plugins", "skeleton", "skeleton.c")
    target = os.path.join(folder, "skeleton.so")
    subprocess.run(["cc", "-std=c17", "-O2", "-Wall", "-Wextra", "-shared", "-fPIC",
                    "-fvisibility=hidden", "-I", os.path.join(ROOT, "plugins", "include"), "-o",
                    target, source], check=True)
    row = [r for r in run(env, "port", "--quick", "--json") if r.get("name") == "skeleton"][0]
    check(row.get("path") == os.path.realpath(target) and "checksum" in row["can"], "%s" % row)
    capture = os.path.join(ROOT, "plugins", "skeleton", "captures", "stream.txt")
    said = run(env, "listen", "--replay", capture, "--json")
    check([r["torque_Nm"] for r in said if "torque_Nm" in r][:2] == [0, 12.34], "%s" % said)


def main():
    with tempfile.TemporaryDirectory() as folder:
        env = dict(os.environ, BOLTWRIGHT_PLUGINS=folder)
        check_examples(folder, env)
        check_skeleton(folder, env)
    print("%d passed, 0 failed" % (len(EXAMPLES) + 1))


if __name__ == "__main__":
    main()
