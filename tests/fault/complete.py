"""complete.py - a whole build by a wrench and a builder that are not the program's own."""

import json
import sys

from bench import Bench, Gone, check, main


def build_through(bench):
    run = bench.run()
    try:
        while True:
            bench.do(run, run.prompt())
    except Gone:
        pass
    return run, run.finish()


def test_whole_build_by_a_foreign_wrench():
    with Bench() as bench:
        run, code = build_through(bench)
        check(code == 0, "exit code %d: %s" % (code, run.errors))
        check(run.end["outcome"] == "complete", "ended as %s" % run.end)
        check(run.end["accepted"] == run.end["fasteners"] > 60, "not all accepted: %s" % run.end)
        check(run.end["overridden"] == 0 and run.end["rehearsal"] is False, "%s" % run.end)
        audit = bench.audit()
        check(audit["findings"] == [] and audit["signatures"] == "good", "%s" % audit)
        check(audit["rejudged"] >= run.end["pulls"], "not every verdict was judged again")
        check(audit["entries"] == run.end["entries"], "entries differ")


def test_sheet_names_every_fastener_and_measurement():
    with Bench() as bench:
        _, code = build_through(bench)
        check(code == 0, "exit code %d" % code)
        code, sheet, err = bench.program("sheet", bench.build)
        check(code == 0, err)
        for entry in bench.entries():
            if entry["kind"] == "reading":
                check(entry["typed"] in sheet, "reading %s is missing" % entry["typed"])
            if entry["kind"] == "verdict":
                check("%.1f" % entry["peak_torque_Nm"] in sheet or
                      "%.0f" % entry["peak_torque_Nm"] in sheet, "a peak is missing")
                check(entry["lubricant"] in sheet, "a lubricant is missing")
                check(entry["tool"] and entry["tool"] in sheet, "a tool is missing")
        check("INVENTED" in sheet, "invented figures are not marked")
        check("A. Lund" in sheet, "the builder is missing")


def test_wrench_without_a_clock():
    """Lines without the device's own time, at the pace of a hand: times are those of arrival."""
    import time
    with Bench() as bench:
        plain = bench.wrench.send
        bench.wrench.send = lambda text: (time.sleep(0.002), plain(text.split(" @")[0] + "\r\n"))
        run = bench.run()
        prompt = bench.until(run, lambda p: p["state"] == "pull")
        bench.do(run, prompt)
        after = run.prompt()
        check(after["fastener"] != prompt["fastener"], "not accepted: %s" % run.said[-2:])
        run.kill()


def prompt_state(run):
    run.newest = run.prompt()
    return run.newest["state"]


def test_answers_piped_in_at_once():
    """A script may write every line before the first prompt; they wait for theirs."""
    with Bench() as bench:
        run = bench.run()
        lines = []
        probe = Bench()
        with probe:
            other = probe.run()
            while True:
                prompt = other.prompt()
                if prompt["state"] == "pull":
                    break
                if prompt["state"] == "reading":
                    lines.append("%.3f" % ((prompt["least"] + prompt["most"]) / 2))
                else:
                    lines.append("yes")
                other.answer(lines[-1])
            other.kill()
        run.answer("\n".join(lines))
        while prompt_state(run) != "pull":
            pass
        run.process.stdin.close()  # no more answers: the wrench goes on, a question pauses
        bench.do(run, run.newest)
        try:
            while True:
                if prompt_state(run) == "pull":
                    bench.do(run, run.newest)
        except Gone:
            pass
        check(run.end is not None and run.end["outcome"] == "paused", "%s" % run.end)
        check(bench.audit()["findings"] == [], "audit")


def test_rehearsal_is_no_build():
    with Bench(build="mock-1") as bench:
        code, out, err = bench.program("rehearse", bench.sequence, "--speed", "0", "--build",
                                       "mock-1", "--json")
        check(code == 0, err)
        end = json.loads(out.splitlines()[-1])
        check(end["outcome"] == "complete" and end["rehearsal"] is True, "%s" % end)
        check(all(e.get("rehearsal") is True for e in bench.entries()), "an unmarked entry")
        run = bench.run()
        check(run.finish() == 2, "a rehearsal was taken for a build")
        check("rehearsal" in run.errors, run.errors)
        check(bench.audit()["findings"] == [], "audit")


if __name__ == "__main__":
    sys.exit(main([
        test_whole_build_by_a_foreign_wrench,
        test_sheet_names_every_fastener_and_measurement,
        test_wrench_without_a_clock,
        test_answers_piped_in_at_once,
        test_rehearsal_is_no_build,
    ]))
