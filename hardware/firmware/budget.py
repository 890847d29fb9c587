#!/usr/bin/python3
"""Prints what the firmware takes of the microcontroller; fails above three quarters of it.

budget.py AVR-SIZE IMAGE
"""
import re
import subprocess
import sys

SHARE_MAX = 0.75
FLASH_BYTES, RAM_BYTES = 32768, 2048  # ATmega328P


def sections(size, image):
    text = subprocess.run([size, "-A", image], text=True, capture_output=True, check=True).stdout
    return {name: int(number) for name, number in re.findall(r"^(\.\w+)\s+(\d+)", text, re.MULTILINE)}


def main():
    found = sections(*sys.argv[1:3])
    flash = found.get(".text", 0) + found.get(".data", 0)
    ram = found.get(".data", 0) + found.get(".bss", 0) + found.get(".noinit", 0)
    over = False
    for what, used, of in (("flash", flash, FLASH_BYTES), ("RAM", ram, RAM_BYTES)):
        print(f"adapter firmware: {what} {used} of {of} bytes, {100 * used / of:.1f} % "
              f"(at most {100 * SHARE_MAX:.0f} %)")
        over = over or used > SHARE_MAX * of
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
