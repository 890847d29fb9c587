"""reuse.py - bolts that are used again after a check: which were replaced stands in record and sheet,
and what they count from there on is judged again."""

import os
import sqlite3
import sys

from bench import Bench, check, main

TEXT = """
sequence { title = "T", engine = "E", document = "D" }
group { name = "lid", say = "lid bolts", lubricant = "oil", reuse = "after_check",
        reuse_check = "no longer than 61.5 mm", cycles = 2,
        places = labels { "left", "right", "far" } }
tighten { id = "trial", say = "Trial.", group = "lid", trial = true,
          stages = { torque { Nm(20), within = percent(10) } } }
tighten { id = "final", say = "Tighten.", group = "lid", after = "trial",
          stages = { torque { Nm(20), within = percent(10) } } }
"""


UNCHECKED = """
sequence { title = "T", engine = "E", document = "D" }
group { name = "lid", say = "lid bolts", lubricant = "oil", cycles = 2,
        places = labels { "left", "right", "far" } }
tighten { id = "final", say = "Tighten.", group = "lid",
          stages = { torque { Nm(20), within = percent(10) } } }
"""


def work(bench, lines, code=0, text=TEXT):
    path = os.path.join(bench.folder, "lid.lua")
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    done, out, err = bench.program("run", path, "--build", bench.build, "--wrench", "hand", "--by",
                                   bench.person, input="".join(line + "\n" for line in lines))
    check(done == code, "%d %s %s" % (done, out, err))
    return " ".join(out.split())


def test_one_is_replaced():
    with Bench() as bench:
        torques = ["20 Nm"] * 3
        out = work(bench, ["new"] + torques + ["replaced lft", "replaced far", "back",
                                               "replaced left, 2"] + torques + ["close"])
        check('"lft" is none of the lid bolts' in out, out)
        check("left, right are new; the others are used again." in out, out)
        entries = bench.entries()
        told = [(e["text"], e.get("label")) for e in entries if e["kind"] == "answered"]
        check(told == [("new", None), ("replaced", "far"), ("checked", None), ("replaced", "left"),
                       ("replaced", "right"), ("checked", None)], told)
        cycles = [(e["label"], e["cycle"]) for e in entries if e["kind"] == "verdict"][3:]
        check(cycles == [("left", 1), ("right", 1), ("far", 2)], cycles)
        check(bench.audit()["rejudged"] == 6, "not all was judged again")
        code, out, err = bench.program("sheet", bench.build)
        out = " ".join(out.split())
        check(code == 0 and "replaced by a new one left, right" in out.replace(":", ""), out)
        check("checked, used again far" in out.replace(":", ""), out)
        check("lid bolts: far replaced by a new one" in out, out)


def test_a_cycle_that_was_bent():
    """A bolt that was used twice, made out to be a new one: the entries before it tell."""
    with Bench() as bench:
        work(bench, ["new"] + ["20 Nm"] * 3 + ["replaced left", "20 Nm", "20 Nm", "20 Nm", "pause"])
        bench.audit()
        db = sqlite3.connect(os.path.join(bench.home, "record.db"))
        for name, in db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
            db.execute("DROP TRIGGER " + name)
        db.execute("DELETE FROM checkpoint")
        number, data = db.execute("SELECT number, CAST(data AS TEXT) FROM entry WHERE instr(data, "
                                  "'\"kind\":\"verdict\"') > 0 ORDER BY number").fetchall()[4]
        check('"cycle":2' in data and '"right"' in data, data)
        db.execute("UPDATE entry SET data = ? WHERE number = ?",
                   (data.replace('"cycle":2', '"cycle":1').encode(), number))
        db.commit()
        db.close()
        code, out, err = bench.program("audit", "--rejudge", "--json")
        check(code == 1 and "makes it cycle 2 of this fastener, the verdict says 1" in out, out)


def test_used_again_is_not_checked():
    """Where no check is asked for, neither record nor sheet says that one was made."""
    with Bench() as bench:
        anew = ["redo final dirt"] * 2
        work(bench, ["20 Nm"] * 3 + anew + ["20 Nm"] + anew + ["replaced left"] + ["20 Nm"] * 3
             + ["close"], text=UNCHECKED)
        told = [e["text"] for e in bench.entries() if e["kind"] == "answered"]
        check(told == ["replaced", "used again"], told)
        code, out, err = bench.program("sheet", bench.build)
        out = " ".join(out.split())
        check(code == 0 and "lid bolts: the others are used again" in out, out + err)
        check("checked, " not in out and "checked." not in out, out)
        check(bench.audit()["rejudged"] == 7, "not all was judged again")


def test_goes_on_after_the_answer():
    """Paused between the answer and the first pull: what was told is not asked again."""
    with Bench() as bench:
        work(bench, ["checked", "pause"])
        out = work(bench, ["20 Nm", "back", "pause"])
        check("Which?" not in out and "no reading to go back to" in out, out)


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
