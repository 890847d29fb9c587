"""listening.py - listen, port, names of devices, and drivers that hang, by a wrench that is not the
program's own."""

import json
import os
import signal
import subprocess
import sys
import time

from bench import PROGRAM, Bench, check, main


def rows(text):
    return [json.loads(line) for line in text.splitlines()]


def listen(bench, *words):
    return subprocess.Popen([PROGRAM, "listen"] + list(words) + ["--json"], stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, text=True)


def test_listen_saves_and_replays_the_same():
    with Bench() as bench:
        capture = os.path.join(bench.folder, "a.txt")
        process = listen(bench, bench.wrench.path, "--save", capture)
        time.sleep(0.3)
        for i in range(20):
            bench.wrench.sample(i * 1.5, i * 0.5)
        bench.wrench.send("PEAK 60.2 N.m 45 deg\r\nwhat is this\r\n")
        time.sleep(0.7)
        process.send_signal(signal.SIGINT)
        live, err = process.communicate(timeout=20)
        check(process.returncode == 0, err)
        heard = rows(live)
        check([r["torque_Nm"] for r in heard[:20]] == [i * 1.5 for i in range(20)], live)
        check(heard[20]["peak_torque_Nm"] == 60.2 and "what is this" in heard[21]["error"], live)
        process = listen(bench, "--replay", capture)
        again, err = process.communicate(timeout=20)
        check(process.returncode == 0 and again == live, "%s\n%s\n%s" % (err, live, again))
        process = listen(bench, bench.wrench.path, "--save", capture)
        _, err = process.communicate(timeout=20)
        check(process.returncode == 2 and "cannot be written" in err, err)


def test_listen_waits_for_the_wrench_to_come_back():
    with Bench() as bench:
        process = listen(bench, bench.wrench.path)
        time.sleep(0.3)
        bench.wrench.sample(1, 0)
        time.sleep(0.3)
        bench.wrench.unplug()
        time.sleep(0.5)
        bench.wrench.plug()
        time.sleep(0.8)
        bench.wrench.sample(2, 0)
        time.sleep(0.3)
        process.send_signal(signal.SIGTERM)
        out, err = process.communicate(timeout=20)
        check(process.returncode == 0, err)
        torques = [r["torque_Nm"] for r in rows(out) if "torque_Nm" in r]
        says = [r["say"] for r in rows(out) if "say" in r]
        check(torques == [1, 2] and "unplugged" in says[0] and says[1] == "it is back", out)


def port(bench, line, *words):
    """What port says of the wrench's port while it sends that line again and again."""
    process = subprocess.Popen([PROGRAM, "port", bench.wrench.path, "--json"] + list(words),
                               stdout=subprocess.PIPE)
    while process.poll() is None:
        if line:
            bench.wrench.send(line)
        time.sleep(0.02)
    check(process.returncode == 0, "exit code %d" % process.returncode)
    bench.wrench.unplug()  # with what is still in the line
    bench.wrench.plug()
    return rows(process.stdout.read())


def test_port_suggests_a_driver():
    with Bench() as bench:
        said = port(bench, "+0012.34 N.m +045.6 deg\r\n", "--seconds", "0.3")
        drivers = {r["name"]: r for r in said if r["kind"] == "driver"}
        check({"line", "adapter", "modbus"} <= set(drivers), "%s" % sorted(drivers))
        check(all("fault" not in r for r in drivers.values()), "%s" % drivers)
        here = [r for r in said if r["kind"] == "port"][0]
        check(here["suggests"] == bench.wrench.path + ",driver=line", "%s" % here)
        here = port(bench, "12.5 4.5\r\n", "--seconds", "0.3")[-1]
        check(here["suggests"].endswith(",driver=line,unit=N.m,angle=yes"), "%s" % here)
        here = port(bench, "\xff\x01hello\x80\r\n", "--seconds", "0.1")[-1]
        check(here["suggests"] is None and "nothing that a driver here reads" in here["why"],
              "%s" % here)
        here = port(bench, "", "--seconds", "0.1")[-1]
        check(here["suggests"] is None and "silent" in here["why"], "%s" % here)


def test_names_of_devices():
    with Bench() as bench:
        config = os.path.join(bench.folder, "boltwright")
        os.mkdir(config)
        path = os.path.join(config, "devices.lua")
        old = os.environ.get("XDG_CONFIG_HOME")
        os.environ["XDG_CONFIG_HOME"] = bench.folder
        try:
            for text, code, want in (
                    ("local port = '%s'\nreturn { w9 = { port = port, unit = 'lbf.ft', baud = 19200 } }"
                     % bench.wrench.path, 0, ""),
                    ("return { w9 = { unit = 'N.m' } }", 2, "w9 needs a port"),
                    ("return { w9 = { port = 'x', unit = {} } }", 2, "unit of w9 is a number or a text"),
                    ("return 5", 2, "it returns a table of names"),
                    ("return {", 2, "devices.lua: ")):
                with open(path, "w", encoding="utf-8") as out:
                    out.write(text)
                process = listen(bench, "w9", "--seconds", "0.6", "--home", bench.home)
                time.sleep(0.3)
                bench.wrench.send("10\r\n")
                said, err = process.communicate(timeout=20)
                check(process.returncode == code and want in err, "%s: %s" % (text, err))
                if code == 0:
                    check(abs(rows(said)[0]["torque_Nm"] - 13.558179483314) < 1e-9, said)
        finally:
            os.environ.pop("XDG_CONFIG_HOME")
            if old is not None:
                os.environ["XDG_CONFIG_HOME"] = old


MOODY = """driver {
    says = "loops forever at the line loop", frame = lines {},
    decode = function(line)
        while line == "loop" do end
        local torque, angle, time = line:match("^(%S+) N%.m (%S+) deg @(%S+)$")
        return torque and { torque = torque, angle = angle, time = time }
    end,
}
"""


def test_a_driver_that_hangs_ends_its_device_and_not_the_build():
    with Bench() as bench:
        with open(os.path.join(bench.folder, "moody.lua"), "w", encoding="utf-8") as out:
            out.write(MOODY)
        os.environ["BOLTWRIGHT_PLUGINS"] = bench.folder
        try:
            link = bench.wrench.path
            bench.wrench.path = link + ",driver=moody"
            run = bench.run()
            bench.wrench.path = link
            prompt = bench.until(run, lambda p: p["state"] == "pull")
            bench.wrench.send("loop\r\n")
            time.sleep(1.5)
            bench.do(run, prompt)
            after = run.prompt()
            check(after["fastener"] != prompt["fastener"], "%s" % run.said[-2:])
            check(any("did not answer in time" in said and "started again" in said
                      for said in run.said), "%s" % run.said[-3:])
            for _ in range(4):
                bench.wrench.send("loop\r\n")
                time.sleep(0.8)
            run.answer("pause")
            check(run.finish() == 0, run.errors)
            check(any("is not read any more" in said for said in run.said), "%s" % run.said[-4:])
        finally:
            os.environ.pop("BOLTWRIGHT_PLUGINS")
        run = bench.run()  # with another driver the same build goes on
        again = bench.until(run, lambda p: p["state"] == "pull")
        check(again["fastener"] == after["fastener"], "%s" % again)
        bench.do(run, again)
        run.prompt()
        run.answer("pause")
        check(run.finish() == 0, run.errors)
        check(bench.audit()["findings"] == [], "the audit finds something")


NAMED = """driver {
    says = "lines of text; ID NAME says who it is", frame = lines {}, can = { "serial" },
    decode = function(line)
        local id = line:match("^ID (%w+)$")
        local torque, angle, time = line:match("^(%S+) N%.m (%S+) deg @(%S+)$")
        return id and { serial = id } or torque and { torque = torque, angle = angle, time = time }
    end,
}
"""


def test_another_device_on_the_same_port_ends_the_pull():
    with Bench() as bench:
        with open(os.path.join(bench.folder, "named.lua"), "w", encoding="utf-8") as out:
            out.write(NAMED)
        os.environ["BOLTWRIGHT_PLUGINS"] = bench.folder
        try:
            link = bench.wrench.path
            bench.wrench.path = link + ",driver=named"
            run = bench.run()
            bench.wrench.path = link
            bench.wrench.send("ID A1\r\n")
            prompt = bench.until(run, lambda p: p["state"] == "pull")
            for torque in range(0, 25):
                bench.wrench.sample(torque, torque / 2)
            bench.wrench.send("ID B2\r\n")  # the cable is in another wrench now
            again = run.settled()
            check(again["fastener"] == prompt["fastener"] and again["state"] == "pull", "%s" % again)
            said = " ".join(run.said)
            check("serial number B2, before it was A1" in said, said)
            check("Is it the wrench that you mean?" in said, said)
            run.answer("pause")
            check(run.finish() == 0, run.errors)
        finally:
            os.environ.pop("BOLTWRIGHT_PLUGINS")
        tools = [e.get("device_serial") for e in bench.entries() if e["kind"] == "tool_on"]
        check(tools[-2:] == ["A1", "B2"], "%s" % tools)
        pulls = [e for e in bench.entries() if e["kind"] == "pull"]
        check([p["complete"] for p in pulls] == [False], "%s" % pulls)
        check(bench.audit()["findings"] == [], "the audit finds something")


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
