"""tools.py - the register of tools, and wrenches that do not talk, by a wrench that is not the
program's own."""

import json
import os
import re
import select
import sqlite3
import subprocess
import sys
import time

from bench import PROGRAM, ROOT, Bench, check, main

READINGS = "".join("%.2f\n" % (target * factor) for target in (8, 72, 120)
                   for factor in (1.002, 0.999, 1.001, 1.0, 1.003))


def program(bench, *words, stdin=""):
    done = subprocess.run([PROGRAM] + list(words) + ["--home", bench.home], input=stdin,
                          capture_output=True, text=True, timeout=60, check=False)
    return done.returncode, done.stdout, done.stderr


def rows(text):
    return [json.loads(line) for line in text.splitlines()]


def add(bench, name, *extra):
    code, _, err = program(bench, "tool", "add", name, "--range", "8..120 N.m", "--resolution",
                           "0.01", "--serial", "0815", "--direction", "tighten", "--windup", "0.04", "--wrench", bench.wrench.path, *extra)
    check(code == 0, err)


def calibrate(bench, name, *extra):
    code, out, err = program(bench, "tool", "calibrate", name, "--json", *extra, stdin=READINGS)
    check(code == 0, err)
    return json.loads(out)


def printed_sheet(bench):
    code, out, err = program(bench, "sheet", bench.build)
    check(code == 0, err)
    return " ".join(out.split())


def test_a_build_with_a_registered_wrench():
    with Bench() as bench:
        add(bench, "w2")
        sheet = calibrate(bench, "w2", "--certificate", "C-7")
        check(abs(sheet["deviation_share"] + 0) < 0.0012, "%s" % sheet)
        link = bench.wrench.path
        bench.wrench.path = "w2"  # run names the tool, not the port
        run = bench.run()
        bench.wrench.path = link
        prompt = bench.until(run, lambda p: p["state"] == "pull")
        bench.do(run, prompt)
        run.prompt()
        run.answer("pause")
        check(run.finish() == 0, run.errors)
        check("calibration" not in run.errors, run.errors)
        tool = rows(program(bench, "tool", "show", "w2", "--json")[1])[0]
        check(tool["direction"] == "tighten" and tool["windup_deg_per_Nm"] == 0.04, "%s" % tool)
        on = [e for e in bench.entries() if e["kind"] == "tool_on"][0]
        check("windup=0.04" in on["settings"], "%s" % on)
        check(on["tool"] == "w2" and on["range_low_Nm"] == 8 and on["range_high_Nm"] == 120,
              "%s" % on)
        check(abs(on["uncertainty_share"] - sheet["interval_share"]) < 1e-6, "%s" % on)
        today = time.strftime("%Y-%m-%d", time.gmtime())
        check(on["serial_number"] == "0815" and on["certificate"] == "C-7" and
              on["calibrated"] == today and on["calibration_due"] > today, "%s" % on)
        check(on["unchecked"] is True, "%s" % on)  # the line driver's lines carry no checksum
        printed = printed_sheet(bench)
        for words in ("wrench: w2", "serial number 0815", "calibrated " + today, "certificate C-7",
                      "unchecked: no checksum"):
            check(words in printed, printed)
        check("OVERDUE" not in printed, printed)
        code, out, err = program(bench, "tool", "show", "w2", "--used", "--json")
        used = rows(out)
        check(code == 0 and len(used) == 1, err + out)
        check(used[0]["build"] == bench.build and used[0]["verdict"] == "pass" and
              used[0]["group"] == prompt["group"] and used[0]["label"] == prompt["label"],
              "%s" % used)
        code, out, _ = program(bench, "tool", "show", "w2", "--used", "--since", "2999-01-01",
                               "--json")
        check(code == 0 and out == "", out)
        check(bench.audit()["findings"] == [], "the audit finds something")


def test_overdue_is_told_and_retired_is_refused():
    with Bench() as bench:
        add(bench, "old")
        calibrate(bench, "old", "--date", "2020-02-29")
        tool = rows(program(bench, "tool", "list", "--json")[1])[0]
        check(tool["state"] == "overdue" and tool["due"] == "2021-02-28", "%s" % tool)
        link = bench.wrench.path
        bench.wrench.path = "old"
        run = bench.run()
        bench.wrench.path = link
        bench.until(run, lambda p: p["state"] == "pull")
        run.answer("pause")
        run.finish()
        check("was due on 2021-02-28" in run.errors, run.errors)
        check("due 2021-02-28, OVERDUE" in printed_sheet(bench), printed_sheet(bench))
        code, _, err = program(bench, "tool", "retire", "old", "--reason", "fell off the bench")
        check(code == 0, err)
        bench.wrench.path = "old"
        run = bench.run()
        bench.wrench.path = link
        check(run.finish() == 2 and "fell off the bench" in run.errors, run.errors)
        code, _, err = program(bench, "tool", "calibrate", "old", stdin=READINGS)
        check(code == 2 and "retired" in err, err)


def test_a_guarded_sequence_takes_no_overdue_tool():
    with open(os.path.join(ROOT, "docs", "sequences.md"), encoding="utf-8") as page:
        example = re.search(r"```lua\n(sequence \{.*?)```", page.read(), re.S)[1]
    check(example.count('rule = "simple"') == 1, "the example says by which rule it judges")
    with Bench() as bench:
        bench.sequence = os.path.join(bench.folder, "guarded.lua")
        with open(bench.sequence, "w", encoding="utf-8") as out:
            out.write(example.replace('rule = "simple"', 'rule = "guarded"'))
        add(bench, "old")
        calibrate(bench, "old", "--date", "2020-02-29")
        bench.wrench.link = bench.wrench.path
        bench.wrench.path = "old"
        run = bench.run()
        check(run.finish() == 2 and "was due on" in run.errors and "guarded" in run.errors,
              run.errors)
        calibrate(bench, "old")
        link, bench.wrench.path = bench.wrench.path, bench.wrench.link
        run = bench.run()
        check(run.finish() == 2 and "is not in the register" in run.errors, run.errors)
        bench.wrench.path = link
        run = bench.run()
        bench.until(run, lambda p: True)
        run.answer("pause")
        check(run.finish() == 0, run.errors)


def blob(bench, sha256):
    record = sqlite3.connect("file:%s/record.db?mode=ro" % bench.home, uri=True)
    found = record.execute("select data from trace where hash = ?",
                           (bytes.fromhex(sha256),)).fetchall()
    record.close()
    check(len(found) == 1, "%s: %d" % (sha256, len(found)))
    return found[0][0].decode() if isinstance(found[0][0], bytes) else found[0][0]


def test_the_bytes_of_all_samples_of_a_pull_are_kept():
    """Raw first: what the trace has, the raw bytes give again, also of the seconds before it."""
    with Bench() as bench:
        run = bench.run()
        prompt = bench.until(run, lambda p: p["state"] == "pull")
        for i in range(300):  # three seconds of a fastener that is run down
            bench.wrench.sample(0.2 + 0.01 * (i % 10), i * 3.0)
            time.sleep(0.002)
        bench.do(run, prompt)
        second = run.prompt()
        bench.wrench.send("what is this\r\n")
        bench.do(run, second)
        run.prompt()
        run.answer("pause")
        check(run.finish() == 0, run.errors)
        pulls = [e for e in bench.entries() if e["kind"] == "pull"]
        check(["unread" in p for p in pulls] == [False, True] and pulls[1]["unread"] == 1,
              "%s" % [p.get("unread") for p in pulls])
        for n, pull in enumerate(pulls):
            rows_ = blob(bench, pull["trace"]).splitlines()[1:]
            trace = [tuple(map(float, row.split(","))) for row in rows_]
            path = os.path.join(bench.folder, "raw-%d.txt" % n)
            with open(path, "w", encoding="utf-8") as out:
                out.write(blob(bench, pull["raw"]))
            code, out, err = program(bench, "listen", "--replay", path, "--driver", "line", "--json")
            check(code == 0, err)
            raw = [(r["torque_Nm"], r["angle_deg"]) for r in rows(out) if "torque_Nm" in r]
            torques = [(round(row[1], 6), round(row[2], 6)) for row in trace]
            check(len(torques) > 60 and (n > 0 or len(torques) > 300), "%d samples" % len(torques))
            check(any(raw[i:i + len(torques)] == torques for i in range(len(raw))),
                  "pull %d: %d samples, %d in the raw bytes" % (n, len(torques), len(raw)))


def test_a_result_that_comes_twice_tightens_one_fastener():
    with Bench() as bench:
        run = bench.run()
        first = bench.until(run, lambda p: p["state"] == "pull")
        bench.wrench.send("PEAK 30.0 N.m\r\nPEAK 30.1 N.m\r\n")
        second = run.settled()
        check(second["fastener"] != first["fastener"], "%s" % second)
        verdicts = [e for e in bench.entries() if e["kind"] == "verdict"]
        pulls = [e for e in bench.entries() if e["kind"] == "pull"]
        check(len(verdicts) == 1 and [p["asked"] for p in pulls] == [True, False], "%s" % pulls)
        check("within a second" in pulls[1]["question"], "%s" % pulls[1])
        check(any("no hand gets to another fastener" in s for s in run.said), "%s" % run.said[-3:])
        run.answer("pause")
        check(run.finish() == 0, run.errors)


def test_a_check_before_the_shift():
    with Bench() as bench:
        add(bench, "w2")
        for offset, code, verdict in ((0.02, 0, "pass"), (0.4, 1, "high"), (-0.4, 1, "low")):
            process = subprocess.Popen([PROGRAM, "tool", "check", "w2", "--limit", "0.1", "--json",
                                        "--home", bench.home], stdout=subprocess.PIPE)
            while process.poll() is None:
                bench.wrench.sample(offset, 0.0)
                time.sleep(0.01)
            said = json.loads(process.stdout.read())
            check(process.returncode == code and said["verdict"] == verdict, "%s" % said)
            check(abs(said["value"] - offset) < 0.01, "%s" % said)
            bench.wrench.unplug()  # with what is still in the line
            bench.wrench.plug()
        record = sqlite3.connect("file:%s/record.db?mode=ro" % bench.home, uri=True)
        entries = [json.loads(data) for data, in record.execute("select data from entry")]
        record.close()
        checked = [e for e in entries if e["kind"] == "tool_checked"]
        check([e["verdict"] for e in checked] == ["pass", "high", "low"], "%s" % checked)


def test_readings_that_make_no_sense_record_nothing():
    with Bench() as bench:
        add(bench, "w2")
        for words, stdin in ((("--reference", "99"), READINGS), (("--weights", "1000"), READINGS),
                             ((), "8\n8\n"), (("--date", "2026-02-30"), READINGS)):
            code, _, err = program(bench, "tool", "calibrate", "w2", *words, stdin=stdin)
            check(code == 2 and "boltwright: " in err, "%d %s" % (code, err))
        tool = rows(program(bench, "tool", "list", "--json")[1])[0]
        check(tool["state"] == "never_calibrated", "%s" % tool)
        for words, want in ((("--direction", "up"), "both, tighten or loosen"),
                            (("--windup", "2"), "--windup is by how many degrees")):
            code, _, err = program(bench, "tool", "add", "w3", "--range", "1..25 N.m", *words)
            check(code == 2 and want in err, err)
        code, _, err = program(bench, "tool", "add", "w3", "--range", "0..25 mm")
        check(code == 2 and "unit of torque" in err, err)
        code, _, err = program(bench, "tool", "add", "micrometer", "--range", "0..25 mm",
                               "--type", "gauge")
        check(code == 0, err)


class Calibration:
    """tool calibrate --live, from outside: prompts come on standard error, without a line's end."""

    def __init__(self, bench, *words):
        self.process = subprocess.Popen(
            [PROGRAM, "tool", "calibrate", "w2", "--live", "--json", "--home", bench.home,
             *words], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        self.seen = b""

    def until(self, words):
        deadline = time.monotonic() + 20
        while words.encode() not in self.seen:
            rest = deadline - time.monotonic()
            check(rest > 0 and select.select([self.process.stderr], [], [], rest)[0],
                  "no %s: %s" % (words, self.seen[-300:]))
            data = os.read(self.process.stderr.fileno(), 4096)
            check(data, "it ended: %s" % self.seen[-300:])
            self.seen += data
        before, self.seen = self.seen.split(words.encode(), 1)
        return before.decode()

    def type(self, text):
        self.process.stdin.write((text + "\n").encode())
        self.process.stdin.flush()

    def end(self):
        self.process.stdin.close()
        out = self.process.stdout.read()
        err = self.seen + self.process.stderr.read()
        return self.process.wait(20), out.decode(), err.decode()


def test_a_calibration_reads_the_wrench():
    """The wrench shows 1 % too much; what it says between the pulls is for nothing."""
    with Bench() as bench:
        add(bench, "w2")
        calibration = Calibration(bench, "--reference", "0.5")
        for target in (8, 72, 120):
            for i in range(5):
                bench.wrench.sample(111.0, 0.0)
                bench.wrench.sample(0.0, 0.0)
                calibration.until("let go ...")
                for share in (0.1, 0.5, 0.9, 1.0, 0.6, 0.2) + (0.0,) * 4:
                    bench.wrench.sample(1.01 * target * share, 0.0)
                calibration.until("the reference?")
                calibration.type("%.2f" % target)
        code, out, err = calibration.end()
        check(code == 0, err)
        said = json.loads(out)
        check(all(abs(p["deviation_share"] - 0.01) < 1e-9 for p in said["points"]), out)
        record = sqlite3.connect("file:%s/record.db?mode=ro" % bench.home, uri=True)
        entries = [json.loads(data) for data, in record.execute("select data from entry")]
        record.close()
        sheet = [e for e in entries if e["kind"] == "tool_calibrated"][0]["text"]
        check("was read from the tool itself" in sheet and "72.72/72.0000" in sheet, sheet)


def test_a_calibration_reads_what_a_hanging_weight_shows():
    with Bench() as bench:
        add(bench, "w2")
        calibration = Calibration(bench, "--weights", "1000,54.5,0")
        calibration.until("its mass in kg?")
        calibration.type("0.8 0.9")  # the wrench itself says what it shows
        calibration.until("one number in kg is needed")
        calibration.until("its mass in kg?")
        calibration.type("0.8152")
        for i in range(80):
            bench.wrench.sample(7.9 if i % 2 else 8.1, 0.0)
            time.sleep(0.02)
        before = calibration.until("reading 2 of 5")
        check("the tool shows 8.0" in before or "the tool shows 7.99" in before, before)
        code, _, err = calibration.end()
        check(code == 2 and "nothing is recorded" in err, "%d %s" % (code, err))
        calibration = Calibration(bench, "--weights", "1000,54.5,0")
        calibration.until("its mass in kg?")
        bench.wrench.unplug()
        calibration.type("0.8152")
        code, _, err = calibration.end()
        check(code == 2 and "is gone" in err and "nothing is recorded" in err, err)
        bench.wrench.plug()


def test_weights_on_an_arm():
    """1 m, 54.5 degrees north, sea level: g is 9.81444 m/s2 by WGS 84, so 10 kg give 98.13 N.m."""
    with Bench() as bench:
        code, _, err = program(bench, "tool", "add", "w2", "--range", "20..98.13 N.m")
        check(code == 0, err)
        masses = "".join("%s\n" % kg for kg in (2.0381, 6.0, 10.0) for _ in range(5))
        code, out, err = program(bench, "tool", "calibrate", "w2", "--weights", "1000,54.5,0",
                                 "--json", stdin=masses)
        check(code == 0, err)
        points = json.loads(out)["points"]
        check(all(abs(p["deviation_share"]) < 2e-4 for p in points), "%s" % points)


def test_a_wrench_that_does_not_talk():
    with Bench() as bench:
        link = bench.wrench.path
        bench.wrench.path = "hand"
        run = bench.run()
        bench.wrench.path = link
        prompt = bench.until(run, lambda p: p["state"] == "pull")
        run.answer("30")           # of what?
        run.answer("thirty Nm")
        run.answer("30 Nm")
        after = run.prompt()
        check("unit is missing" in run.said[-3], "%s" % run.said[-3:])
        check(after["fastener"] != prompt["fastener"], "%s" % run.said[-1:])
        run.answer("pause")
        check(run.finish() == 0, run.errors)
        on = [e for e in bench.entries() if e["kind"] == "tool_on"][0]
        verdict = [e for e in bench.entries() if e["kind"] == "verdict"][0]
        check(on["tool"] == "hand" and on["port"] == "hand" and on["driver"] == "hand 1", "%s" % on)
        check(on["unchecked"] and "unchecked: typed by hand" in printed_sheet(bench), "%s" % on)
        check("no_trace" in printed_sheet(bench) and "typed by hand: 30 Nm" in printed_sheet(bench),
              printed_sheet(bench))
        check(verdict["verdict"] == "pass" and verdict["reasons"] == ["no_trace"] and
              verdict["judged_torque_Nm"] == 30, "%s" % verdict)
        check(bench.audit()["findings"] == [], "the audit finds something")
        bench.build = "heron-4"
        bench.wrench.path = "keys,unit=lbf.ft"
        run = bench.run()
        bench.wrench.path = link
        bench.until(run, lambda p: p["state"] == "pull")
        run.answer("22.1")
        run.prompt()
        run.answer("pause")
        check(run.finish() == 0, run.errors)
        pull = [e for e in bench.entries() if e["kind"] == "pull"][0]
        check("typed, by it or by a hand" in printed_sheet(bench), printed_sheet(bench))
        check(abs(pull["peak_torque_Nm"] - 22.1 * 1.3558179483314004) < 1e-9, "%s" % pull)
        for words in ("hand,unit=mm", "hand,angle=yes"):
            bench.wrench.path = words
            run = bench.run()
            bench.wrench.path = link
            check(run.finish() == 2 and "has the setting unit" in run.errors, run.errors)


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
