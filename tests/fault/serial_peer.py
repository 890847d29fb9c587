"""serial_peer.py - a wrench written with python3-serial does a whole build; noise at full speed; a flood.

The peer is another program's serial library, with its own idea of a port: it opens one end of a
cable of two pseudo-terminals that this program joins.
"""

import json
import os
import pty
import random
import select
import sys
import threading
import time
import tty

import serial

from bench import Bench, Gone, check, main
from listening import listen, rows

NOISE_S = float(os.environ.get("BW_NOISE_S", "4"))  # ten minutes, where somebody asks for it


class Cable:
    """What is written to the serial port at one end comes out of the bench's wrench."""

    def __init__(self, wrench):
        self.wrench = wrench
        self.master, self.slave = pty.openpty()
        tty.setraw(self.slave)
        self.port = serial.Serial(os.ttyname(self.slave), 9600, write_timeout=20)
        self.over = False
        self.thread = threading.Thread(target=self.carry, daemon=True)
        self.thread.start()

    def carry(self):
        while not self.over:
            if not select.select([self.master], [], [], 0.1)[0]:
                continue
            data = os.read(self.master, 4096)
            while data and not self.over:
                try:
                    data = data[os.write(self.wrench.master, data):]
                except BlockingIOError:
                    select.select([], [self.wrench.master], [], 0.05)

    def close(self):
        self.over = True
        self.thread.join()
        self.port.close()
        os.close(self.master)
        os.close(self.slave)


def test_a_peer_with_python3_serial_does_a_whole_build():
    with Bench() as bench:
        cable = Cable(bench.wrench)
        bench.wrench.send = lambda text: cable.port.write(text.encode())
        run = bench.run()
        try:
            while True:
                bench.do(run, run.prompt())
        except Gone:
            pass
        code = run.finish()
        cable.close()
        check(code == 0, run.errors)
        check(run.end["outcome"] == "complete" and run.end["overridden"] == 0, "%s" % run.end)
        check(bench.audit()["findings"] == [], "the audit finds something")


def memory_kB(process):
    with open("/proc/%d/status" % process.pid, encoding="ascii") as status:
        return sum(int(line.split()[1]) for line in status if line.startswith("VmRSS"))


def children_kB(process):
    with open("/proc/%d/task/%d/children" % (process.pid, process.pid), encoding="ascii") as file:
        return sum(memory_kB(type("child", (), {"pid": int(pid)})) for pid in file.read().split())


def pour(bench, process, block, seconds, watch):
    """Writes block() at full speed; what comes out is read away, so that nothing has to wait, and
    kept but for the lines that could not be read."""
    sent = 0
    end = time.monotonic() + seconds
    out = []
    read = lambda: out.extend(line for line in process.stdout if '"error"' not in line)
    reader = threading.Thread(target=read, daemon=True)
    reader.start()
    while time.monotonic() < end:
        data = block()
        while data:
            try:
                n = os.write(bench.wrench.master, data)
            except BlockingIOError:
                select.select([], [bench.wrench.master], [], 0.05)
                continue
            sent += n
            data = data[n:]
        watch()
        check(process.poll() is None, "it ended: %s" % process.poll())
    process.terminate()
    reader.join(60)
    check(not reader.is_alive(), "what it says does not end")
    process.wait(20)
    return sent, "".join(out)


def test_noise_at_full_speed_is_no_reading():
    # The sanitizer keeps what was freed, which here would pass for growth.
    os.environ["ASAN_OPTIONS"] = os.environ.get("ASAN_OPTIONS", "") + ":quarantine_size_mb=1"
    for driver in ("line", "adapter", "modbus,torque=0"):
        with Bench() as bench:
            chance = random.Random(20261125)
            process = listen(bench, bench.wrench.path, "--driver", driver)
            time.sleep(0.3)
            seen = []
            sent, out = pour(bench, process, lambda: chance.randbytes(2048), NOISE_S / 3,
                             lambda: seen.append(memory_kB(process) + children_kB(process)))
            check(sent > 100000, "only %d bytes went through" % sent)
            readings = [r for r in rows(out) if "torque_Nm" in r or "peak_torque_Nm" in r]
            check(readings == [], "%s reads %s" % (driver, readings[:3]))
            early = max(seen[len(seen) // 10:len(seen) // 3])
            late = max(seen[-len(seen) // 3:])
            check(late <= early * 1.05 + 200,
                  "%s grows: %d kB, then %d kB" % (driver, early, late))
            print("%s: %d bytes of noise in %.0f s, no reading, %d kB, then %d kB" %
                  (driver, sent, NOISE_S / 3, early, late))


def test_a_flood_of_good_lines_loses_none():
    with Bench() as bench:
        process = listen(bench, bench.wrench.path)
        time.sleep(0.3)
        count = [0]

        def block():
            lines = "".join("%.2f N.m\n" % ((count[0] + i) % 100) for i in range(50))
            count[0] += 50
            return lines.encode()

        def stop():
            check(process.poll() is None, "it ended: %s" % process.poll())

        sent_lines = pour(bench, process, block, 1.0, stop)
        heard = [json.loads(line) for line in sent_lines[1].splitlines()]
        check(all("torque_Nm" in r for r in heard), "%s" % [r for r in heard if "t_s" not in r][:3])
        check(len(heard) > 1000, "only %d" % len(heard))
        check([r["torque_Nm"] for r in heard] == [i % 100 for i in range(len(heard))],
              "a line is missing")


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
