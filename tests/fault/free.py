"""free.py - a run without a sequence: pulls are recorded as they come, and named later."""

import csv
import io
import json
import sys

from bench import Bench, Joint, check, main, pull


def test_pulls_without_a_sequence():
    with Bench(sequence=None) as bench:
        run = bench.run()
        check(run.prompt()["state"] == "confirm", "asks for something")
        for torque_Nm in (43, 61):
            pull(bench.wrench, Joint(), until_Nm=torque_Nm)
            check(run.prompt()["state"] == "confirm", "a pull was asked for")
        pulls = [e for e in bench.entries() if e["kind"] == "pull"]
        check(len(pulls) == 2 and not any(e["asked"] for e in pulls), pulls)
        check(abs(pulls[0]["peak_torque_Nm"] - 43) < 1, pulls[0])
        numbers = [e["number"] for e in numbered(bench) if e["entry"]["kind"] == "pull"]
        for line in ("name 1 not a pull", "name", "name %d" % numbers[0],
                     "name %d left front" % numbers[0], "name %d left rear" % numbers[0], "name right front", "yes"):
            run.answer(line)
            run.prompt()
        run.answer("close")
        check(run.finish() == 0 and run.end["outcome"] == "complete", "not closed")
        notes = [e for e in bench.entries() if e["kind"] == "note"]
        check([(e["of"], e["text"]) for e in notes] ==
              [(numbers[0], "left front"), (numbers[0], "left rear"),
               (numbers[1], "right front")], notes)
        bench.audit()
        code, out, err = bench.program("sheet", bench.build)
        check(code == 0, err)
        table = out[out.index("Unscripted pulls"):]
        check("left rear" in table and "61.0" in table and "Free recording, unscripted" in out, out)


def test_goes_on():
    with Bench(sequence=None) as bench:
        run = bench.run()
        run.prompt()
        pull(bench.wrench, Joint(), until_Nm=43)
        run.prompt()
        run.answer("pause")
        run.finish()
        run = bench.run()
        run.prompt()
        number = [e["number"] for e in numbered(bench) if e["entry"]["kind"] == "pull"][0]
        run.answer("name %d flywheel 1" % number)
        run.prompt()
        run.answer("pause")
        run.finish()
        check(bench.entries()[-2]["text"] == "flywheel 1", bench.entries()[-2])


def test_typed_pulls():
    """A wrench that does not talk: what it was set to is typed, and never looks like a trace."""
    with Bench(sequence=None) as bench:
        lines = ["60 Nm", "60", "60 mm", "-60 Nm", "6O Nm", "1e9 Nm", "nan Nm", "45 lbf.ft", "yes",
                 "close"]
        code, out, err = bench.program("run", "--build", bench.build, "--wrench", "hand", "--by",
                                       "A. Lund", input="".join(line + "\n" for line in lines))
        out = " ".join(out.split())
        check(code == 0 and "as in 60 Nm" in out, out + err)
        check("60.0 N·m, typed by hand, recorded and not judged" in out, out)
        check(out.count("not judged. To say what it was: name") == 2, out)
        for refused in ("the unit is missing", "a torque from 0 to 100 000 N.m", "is a unit of"):
            check(refused in out, "not told: %s\n%s" % (refused, out))
        pulls = [e for e in bench.entries() if e["kind"] == "pull"]
        check([(e["typed"], e["samples"], e["asked"], e["tool"]) for e in pulls] ==
              [("60 Nm", 0, False, "hand"), ("45 lbf.ft", 0, False, "hand")], pulls)
        check(abs(pulls[1]["peak_torque_Nm"] - 45 * 1.3558179483) < 1e-6, pulls[1])
        check(bench.entries()[-1]["outcome"] == "complete", "not closed")
        bench.audit()
        code, out, err = bench.program("sheet", bench.build)
        table = out[out.index("Unscripted pulls"):]
        check("typed by hand: 60 Nm" in table and "typed by hand: 45 lbf.ft" in table, table)
        code, out, err = bench.program("export", bench.build, "--format", "csv")
        rows = list(csv.DictReader(io.StringIO(out)))
        check([r["typed"] for r in rows if r["kind"] == "pull"] == ["60 Nm", "45 lbf.ft"], out)


def test_typed_with_its_unit_set():
    with Bench(sequence=None) as bench:
        code, out, err = bench.program("run", "--build", bench.build, "--wrench",
                                       "keys,unit=lbf.ft", "--by", "A. Lund", input="45\npause\n")
        check(code == 0 and "61.0 N·m, typed, recorded" in " ".join(out.split()), out + err)
        pull = [e for e in bench.entries() if e["kind"] == "pull"][0]
        check(pull["typed"] == "45" and abs(pull["peak_torque_Nm"] - 61.0118) < 1e-3, pull)
        code, out, err = bench.program("sheet", bench.build)
        check("typed, by it or by a hand: 45" in out, out)


def test_torque_typed_without_such_a_wrench():
    """A wrench on a cable, or none: what is typed is no pull, and it is said how it can be one."""
    with Bench(sequence=None) as bench:
        run = bench.run()
        run.prompt()
        run.answer("60 Nm")
        run.prompt()
        check("--wrench hand" in run.said[-1], run.said)
        pull(bench.wrench, Joint(), until_Nm=43)
        run.prompt()
        run.answer("pause")
        run.finish()
        pulls = [e for e in bench.entries() if e["kind"] == "pull"]
        check(len(pulls) == 1 and "typed" not in pulls[0] and pulls[0]["samples"] > 20, pulls)
        code, out, err = bench.program("run", "--build", "other", "--by", "A. Lund",
                                       input="60 Nm\npause\n")
        check(code == 0 and " ".join(out.split()).count("--wrench hand") == 2, out)


def numbered(bench):
    code, out, err = bench.program("export", bench.build)
    check(code == 0, err)
    return [json.loads(line) for line in out.splitlines()]


if __name__ == "__main__":
    sys.exit(main([test_pulls_without_a_sequence, test_goes_on, test_typed_pulls,
                   test_typed_with_its_unit_set, test_torque_typed_without_such_a_wrench]))
