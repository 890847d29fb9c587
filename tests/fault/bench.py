"""bench.py - a bench for the whole program: a wrench, joints and a builder, none of them its own.

The wrench here is a program apart from the simulator: it speaks the `line` driver's text into a
pseudo-terminal. The joints are springs with a breakaway torque; they live in this process, so they
stay as they are when the program is killed. Answers go in through a pipe, prompts come out as JSON
Lines.
"""

import json
import os
import pty
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tty

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
SHORT_BLOCK = os.path.join(ROOT, "sequences", "curlew4", "short-block.lua")
os.environ.setdefault("XDG_STATE_HOME", os.path.join(ROOT, "build", "state"))
PROGRAM = os.environ.get("BOLTWRIGHT", os.path.join(ROOT, "build", "test", "boltwright"))

RATE_HZ = 100.0
STIFFNESS_NM_PER_DEG = 1.6   # of a joint here; invented
WINDUP_DEG_PER_NM = 0.04
FREE_MM = 65.0
GROWTH_MM_PER_DEG = 0.004
SLOT_DEG = 45.0
BREAKAWAY = 1.06             # a fastener at rest moves a little above the torque it stands at
PATIENCE_S = 20.0


def check(condition, message):
    """An assertion that python -O does not remove."""
    if not condition:
        raise AssertionError(message)


class Gone(Exception):
    """The program ended."""


class Wrench:
    """A pseudo-terminal under a name that stays the same over unplugging."""

    def __init__(self, folder):
        self.path = os.path.join(folder, "wrench")
        self.master = None
        self.time_s = 0.0
        self.plug()

    def plug(self):
        master, slave = pty.openpty()
        tty.setraw(slave)
        name = os.ttyname(slave)
        self.master = master
        self.slave = slave  # kept open, so that the terminal lives without the program
        os.set_blocking(master, False)
        link = self.path + ".new"
        os.symlink(name, link)
        os.rename(link, self.path)

    def unplug(self):
        os.unlink(self.path)
        os.close(self.slave)
        os.close(self.master)
        self.master = None

    def send(self, text):
        data = text.encode()
        deadline = time.monotonic() + PATIENCE_S
        while data:
            try:
                data = data[os.write(self.master, data):]
            except BlockingIOError:
                check(time.monotonic() < deadline, "nobody reads the wrench")
                select.select([], [self.master], [], 0.05)

    def sample(self, torque_Nm, angle_deg):
        self.time_s += 1.0 / RATE_HZ
        self.send("%+.2f N.m %+.2f deg @%.3f\r\n" % (torque_Nm, angle_deg, self.time_s))


class Joint:
    """One fastener: torque follows turn; it moves only above its breakaway torque."""

    def __init__(self):
        self.turned_deg = 0.0

    @property
    def stands_Nm(self):
        return self.turned_deg * STIFFNESS_NM_PER_DEG

    @property
    def length_mm(self):
        return FREE_MM + self.turned_deg * GROWTH_MM_PER_DEG

    @property
    def slot_meets(self):
        return self.turned_deg % SLOT_DEG < SLOT_DEG / 4

    def loosen(self):
        self.turned_deg = 0.0


def pull(wrench, joint, until_Nm=None, by_deg=None, stop_at=None, release=True):
    """One pull from rest to rest: to a torque, or by a turn. stop_at: share of the samples after
    which the hand is gone (the wrench is unplugged or the program killed by the caller)."""
    start_deg = joint.turned_deg
    goal_deg = start_deg + by_deg if by_deg is not None else until_Nm / STIFFNESS_NM_PER_DEG
    moves_Nm = joint.stands_Nm * BREAKAWAY
    peak_Nm = max(moves_Nm if by_deg is not None else until_Nm, goal_deg * STIFFNESS_NM_PER_DEG)
    if by_deg is None:
        peak_Nm = until_Nm
    trace = [(0.0, 0.0)] * 8
    steps = 60
    for i in range(1, steps + 1):
        torque_Nm = peak_Nm * i / steps
        if torque_Nm > moves_Nm or joint.stands_Nm == 0.0:
            joint.turned_deg = max(joint.turned_deg, min(goal_deg, torque_Nm / STIFFNESS_NM_PER_DEG))
        trace.append((torque_Nm, joint.turned_deg - start_deg + torque_Nm * WINDUP_DEG_PER_NM))
    if release:
        for i in range(12, -1, -1):
            torque_Nm = peak_Nm * i / 12.0
            trace.append((torque_Nm, joint.turned_deg - start_deg + torque_Nm * WINDUP_DEG_PER_NM))
        trace += [(0.0, joint.turned_deg - start_deg)] * 45
    if stop_at is not None:
        trace = trace[:int(len(trace) * stop_at)]
    for torque_Nm, angle_deg in trace:
        wrench.sample(torque_Nm, angle_deg)


def turn_round(wrench, torque_Nm, turn_deg):
    """Keeps something turning that needs this torque: a locking nut run down, a shaft."""
    steps = 200
    trace = [(0.0, 0.0)] * 8 + [(torque_Nm * i / 4, 0.0) for i in range(1, 5)]
    trace += [(torque_Nm, turn_deg * i / steps) for i in range(1, steps + 1)]
    trace += [(torque_Nm * i / 4, turn_deg) for i in range(3, -1, -1)] + [(0.0, turn_deg)] * 45
    for torque, angle_deg in trace:
        wrench.sample(torque, angle_deg)


class Run:
    """The program, running one build."""

    def __init__(self, bench, extra=(), prefix=()):
        self.bench = bench
        named = [bench.sequence] if bench.sequence is not None else []
        command = list(prefix) + [PROGRAM, "run"] + named + ["--build", bench.build, "--home",
                                  bench.home, "--wrench", bench.wrench.path, "--by", bench.person,
                                  "--json"] + list(extra)
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE)
        os.set_blocking(self.process.stdout.fileno(), False)
        self.buffer = b""
        self.said = []
        self.live = []
        self.end = None

    def answer(self, line):
        try:
            self.process.stdin.write((line + "\n").encode())
            self.process.stdin.flush()
        except BrokenPipeError as error:
            raise Gone() from error

    def object(self, patience_s=PATIENCE_S):
        """The next line of output; Gone at its end, None when patience runs out."""
        deadline = time.monotonic() + patience_s
        while b"\n" not in self.buffer:
            rest = deadline - time.monotonic()
            if rest <= 0 or not select.select([self.process.stdout], [], [], rest)[0]:
                return None
            data = os.read(self.process.stdout.fileno(), 65536)
            if not data:
                raise Gone()
            self.buffer += data
        line, self.buffer = self.buffer.split(b"\n", 1)
        return json.loads(line)

    def prompt(self, patience_s=PATIENCE_S):
        """The next prompt; what was said before it is kept in said."""
        while True:
            thing = self.object(patience_s)
            check(thing is not None, "no prompt came; said: %s" % self.said[-3:])
            kind = thing.get("kind")
            if kind == "say":
                self.said.append(thing["text"])
            elif kind == "live":
                self.live.append(thing)
            elif kind == "prompt":
                return thing
            else:
                self.end = thing
                raise Gone()

    def settled(self, quiet_s=0.15):
        """The newest prompt once no more come for a while."""
        newest = self.prompt()
        while True:
            thing = self.object(quiet_s)
            if thing is None:
                return newest
            if thing.get("kind") == "say":
                self.said.append(thing["text"])
            elif thing.get("kind") == "prompt":
                newest = thing
            elif "outcome" in thing:
                self.end = thing
                raise Gone()

    def finish(self):
        """Reads to the end; the exit code."""
        try:
            while True:
                self.prompt()
        except Gone:
            pass
        code = self.process.wait(PATIENCE_S)
        self.errors = self.process.stderr.read().decode()
        self.close()
        return code

    def kill(self):
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        self.close()

    def close(self):
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            try:
                stream.close()
            except BrokenPipeError:
                pass


class Bench:
    """A folder of its own with a wrench, joints and a record."""

    def __init__(self, sequence=SHORT_BLOCK, build="heron-3", person="A. Lund"):
        self.folder = tempfile.mkdtemp(prefix="bench-")
        self.home = os.path.join(self.folder, "home")
        self.sequence = sequence
        self.build = build
        self.person = person
        self.wrench = Wrench(self.folder)
        self.joints = {}

    def __enter__(self):
        return self

    def __exit__(self, *_):
        shutil.rmtree(self.folder, ignore_errors=True)

    def joint(self, prompt):
        return self.joints.setdefault((prompt["group"], prompt["fastener"]), Joint())

    def run(self, *extra, prefix=()):
        return Run(self, extra, prefix)

    def do(self, run, prompt, **how):
        """Does what the prompt asks, as a careful builder would."""
        state = prompt["state"]
        if state == "pull":
            joint = self.joint(prompt)
            kind = prompt["stage_kind"]
            if kind in ("prevailing", "rotating"):
                turn_round(self.wrench, (prompt["low_Nm"] + prompt["high_Nm"]) / 2,
                           prompt["least_turn_deg"] + 60)
            elif kind == "stretch":
                pull(self.wrench, joint, by_deg=20.0, **how)
            elif kind == "slot" and prompt["pulls"] > 0:
                pull(self.wrench, joint, by_deg=8.0, **how)
            elif kind == "slot":
                pull(self.wrench, joint, until_Nm=prompt["low_Nm"] * 1.03, **how)
            elif "high_deg" in prompt:
                wanted = (prompt["low_deg"] + prompt["high_deg"]) / 2 - prompt["turned_deg"]
                pull(self.wrench, joint, by_deg=wanted, **how)
            else:
                pull(self.wrench, joint,
                     until_Nm=(prompt["low_Nm"] + prompt["high_Nm"]) / 2, **how)
        elif state == "reading":
            middle = (prompt["least"] + prompt["most"]) / 2
            run.answer("%.3f" % middle)
        elif state == "length":
            run.answer("%.3f" % self.joint(prompt).length_mm)
        elif state == "slot":
            run.answer("yes" if self.joint(prompt).slot_meets else "no")
        elif state == "verdict":
            # On a loaded machine a pull may have gaps, and a bolt may be used up by them.
            self.joint(prompt).loosen()
            run.answer("loosen" if "loosen" in prompt["options"] else "replace")
        elif state == "value":
            run.answer("override")
        else:
            run.answer({"confirm": "yes", "note": "CURLEW-0417 (invented)", "close": "close",
                        "second_person": "B. Roth", "reason": "test"}[state])

    def until(self, run, wanted):
        """Goes on until wanted(prompt) and gives that prompt, undone."""
        while True:
            prompt = run.prompt()
            if wanted(prompt):
                return prompt
            self.do(run, prompt)

    def program(self, *words, **more):
        """Runs a command on this bench's record; (code, out, err)."""
        done = subprocess.run([PROGRAM] + list(words) + ["--home", self.home],
                              capture_output=True, text=True, timeout=120, check=False, **more)
        return done.returncode, done.stdout, done.stderr

    def entries(self):
        code, out, err = self.program("export", self.build)
        check(code == 0, "export: " + err)
        return [json.loads(line)["entry"] for line in out.splitlines()]

    def audit(self):
        code, out, err = self.program("audit", "--rejudge", "--json")
        check(code == 0, "audit says no: %s %s" % (out, err))
        return json.loads(out)


def main(tests):
    """Runs the named test functions; prints a line each and a closing count."""
    failed = 0
    for test in tests:
        began = time.monotonic()
        try:
            test()
            print("ok   %-44s %6.2f s" % (test.__name__, time.monotonic() - began), flush=True)
        except Exception as error:  # pylint: disable=broad-except
            failed += 1
            print("FAIL %s: %s" % (test.__name__, error), flush=True)
            if os.environ.get("BW_TRACEBACK"):
                raise
    print("%d passed, %d failed" % (len(tests) - failed, failed))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit("bench.py holds what the tests beside it share")
