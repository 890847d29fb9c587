"""seeds_of.py - a driver's captures as seeds of its fuzz target: OUT SETTINGS CAPTURE..."""

import os
import re
import sys


def main(out, settings, captures):
    os.makedirs(out, exist_ok=True)
    for capture in captures:
        with open(capture, encoding="utf-8") as file:
            lines = file.read().splitlines()
        data = b"".join(bytes.fromhex(m[1]) for m in
                        (re.fullmatch(r"@\d+ ([0-9a-f]+)", line) for line in lines) if m)
        for first in range(settings.count("|") + 1):
            name = "%s-%d" % (os.path.basename(capture)[:-4], first)
            with open(os.path.join(out, name), "wb") as file:
                file.write(bytes([first]) + data)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], sys.argv[3:])
