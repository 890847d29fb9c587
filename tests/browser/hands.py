#!/usr/bin/python3
"""hands.py - a bench with a wrench and joints for the browser tests: they drive it by lines of JSON.

What the page does not do, hands do: each line on standard input is a command, each event goes out
as a line on standard output. Only what is in `acts` is done without being told.
"""
import json
import os
import select
import socket
import struct
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "fault"))
import bench as benches  # noqa: E402


def tell(**event):
    sys.stdout.write(json.dumps(event) + "\n")
    sys.stdout.flush()


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Hands:
    """One bench, and the program running on it."""

    def __init__(self, bench):
        self.bench = bench
        self.run = None
        self.prompt = None
        self.acts = set()
        self.port = free_port()
        self.held_Nm = 0.0
        self.errors = self.errors_all = b""
        self.deaf = False  # nothing more comes from the terminal

    def start(self, extra=(), acts=()):
        self.acts = set(acts)
        late = os.environ.get("BW_LATE_LIBRARY")
        prefix = ()
        if late and "--display-network" in extra:
            self.later(0)
            prefix = ("env", "LD_PRELOAD=" + late, "BW_LATE=" + self.late_path(),
                      "ASAN_OPTIONS=verify_asan_link_order=0:" + os.environ.get("ASAN_OPTIONS", ""))
        self.run = self.bench.run("--display", "127.0.0.1:%d" % self.port, *extra, prefix=prefix)
        self.errors = b""
        self.errors_all = said = b""
        self.deaf = False
        while b"display is at" not in said:
            benches.check(self.hear_errors(), "the program ended before it served: %r" % said)
            said = self.errors_all
        tell(started=self.port, pid=self.run.process.pid)

    def late_path(self):
        return os.path.join(self.bench.folder, "late")

    def later(self, seconds):
        """The program's steady clock is ahead by so much from now on."""
        flags = os.O_WRONLY | os.O_CREAT  # the program has it in its memory: never shortened
        late = os.open(self.late_path(), flags, 0o600)
        os.write(late, struct.pack("=q", seconds))
        os.close(late)

    def hear_errors(self):
        """What stands at the bench's terminal; False at its end."""
        data = os.read(self.run.process.stderr.fileno(), 65536)
        *lines, self.errors = (self.errors + data).split(b"\n")
        for line in lines:
            tell(said=line.decode())
        self.errors_all += data
        return data != b""

    def errors_open(self):
        return [] if self.deaf else [self.run.process.stderr]

    def act(self):
        if self.prompt["state"] == "ask":
            self.run.answer(self.prompt["options"][0])
        else:
            self.bench.do(self.run, self.prompt)

    def acts_on(self, states):
        self.acts = set(states)
        if self.prompt and self.prompt["state"] in self.acts:
            self.act()

    def hold(self, torque_Nm=0.0, turn_deg=0.0):
        """Loads the wrench, a second after whatever was before, and stays there."""
        if self.held_Nm == 0.0:
            for _ in range(100):
                self.bench.wrench.sample(0.0, 0.0)
        from_Nm = self.held_Nm
        for i in range(1, 41):
            self.bench.wrench.sample(from_Nm + (torque_Nm - from_Nm) * i / 40, turn_deg * i / 40)
        self.held_Nm = torque_Nm

    def release(self):
        for i in range(20, -1, -1):
            self.bench.wrench.sample(self.held_Nm * i / 20, 0.0)
        self.held_Nm = 0.0
        for _ in range(45):
            self.bench.wrench.sample(0.0, 0.0)

    def pull(self, share=1.0):
        """One whole pull to a share of the middle of the limits."""
        p = self.prompt
        joint = self.bench.joint(p)
        benches.pull(self.bench.wrench, joint, until_Nm=share * (p["low_Nm"] + p["high_Nm"]) / 2)

    def loosen(self):
        self.bench.joint(self.prompt).loosen()

    def answer(self, line):
        self.run.answer(line)

    def unplug(self):
        self.bench.wrench.unplug()

    def plug(self):
        self.bench.wrench.plug()

    def kill(self):
        self.run.kill()
        self.run = None
        tell(killed=True)

    def entries(self):
        tell(entries=self.bench.entries())

    def audit(self):
        tell(audit=self.bench.audit())

    def take(self, line):
        command = json.loads(line)
        getattr(self, command.pop("do"))(**command)

    def hear(self):
        """One line of the program's output."""
        try:
            thing = self.run.object(0.01)
        except benches.Gone:
            code = self.run.process.wait()
            while self.hear_errors():
                pass
            errors = self.errors_all.decode()
            self.run = None
            tell(ended=code, errors=errors)
            return
        if thing is None:
            return
        tell(event=thing)
        if thing.get("kind") == "prompt":
            self.prompt = thing
            if thing["state"] in self.acts:
                self.act()


def main():
    options = json.loads(sys.argv[1]) if len(sys.argv) > 1 else {}
    with benches.Bench(**options) as bench:
        hands = Hands(bench)
        pending = b""
        while True:
            sources = [sys.stdin]
            if hands.run:
                sources += [hands.run.process.stdout] + hands.errors_open()
            if hands.run and b"\n" in hands.run.buffer:
                hands.hear()
                continue
            ready = select.select(sources, [], [])[0]
            if sys.stdin in ready:
                data = os.read(sys.stdin.fileno(), 65536)
                if not data:
                    break
                pending += data
                *lines, pending = pending.split(b"\n")
                for line in lines:
                    hands.take(line)
            if hands.run and hands.run.process.stderr in ready and not hands.hear_errors():
                hands.deaf = True
            if hands.run and hands.run.process.stdout in ready:
                hands.hear()
        if hands.run:
            hands.run.kill()


if __name__ == "__main__":
    main()
