"""free.py - a run without a sequence: pulls are recorded as they come, and named later."""

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
                     "name %d left front" % numbers[0], "name %d left rear" % numbers[0], "yes"):
            run.answer(line)
            run.prompt()
        run.answer("close")
        check(run.finish() == 0 and run.end["outcome"] == "complete", "not closed")
        notes = [e for e in bench.entries() if e["kind"] == "note"]
        check([(e["of"], e["text"]) for e in notes] ==
              [(numbers[0], "left front"), (numbers[0], "left rear")], notes)
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


def numbered(bench):
    code, out, err = bench.program("export", bench.build)
    check(code == 0, err)
    return [json.loads(line) for line in out.splitlines()]


if __name__ == "__main__":
    sys.exit(main([test_pulls_without_a_sequence, test_goes_on]))
