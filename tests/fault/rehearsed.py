"""rehearsed.py - every fault that a rehearsal can be asked for: each is gone through to the end, and
the record that is left stands up to being judged again."""

import json
import os
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

from bench import PROGRAM, SHORT_BLOCK, Bench, check, main

AT_ONCE = 2

BOTTOM_END = os.path.join(os.path.dirname(os.path.dirname(SHORT_BLOCK)), "plover2",
                          "bottom-end.lua")

KINDS = ("short over rehit missed wrong spike dry crossed bottomed gasket yielding stripped seized "
         "relaxed weak_lock unplug battery noise lost peak").split()


def rehearsed(faults, seed, sequence=SHORT_BLOCK):
    """One rehearsal to its end; its entries, after an audit that says yes."""
    with Bench(build="rehearsed") as bench:
        ordered = ["--fault", faults] if faults else []
        code, out, err = bench.program("rehearse", sequence, "--speed", "0", "--seed", str(seed),
                                       *ordered, "--build", bench.build, "--json")
        what = "%s, seed %d" % (faults, seed)
        check(code == 0, "%s: exit code %d: %s" % (what, code, err or out[-300:]))
        end = json.loads(out.splitlines()[-1])
        check(end["outcome"] == "complete", "%s: %s" % (what, end))
        check(end["accepted"] + end["overridden"] == end["fasteners"], "%s: %s" % (what, end))
        bench.audit()
        return bench.entries()


def on_third(entries, kind, **members):
    return [e for e in entries
            if e["kind"] == kind and e.get("group") == "main" and e.get("fastener") == 3 and
            all(e.get(name) == value for name, value in members.items())]


def corrected(entries):
    return [e for e in entries if e["kind"] == "correction"]


def tool_lost(entries):
    return [e for e in entries if e["kind"] == "tool_lost"]


# What the record must tell of a fault at the third main bolt.
SIGNS = {
    "short": lambda e: on_third(e, "verdict", verdict="low"),
    "over": lambda e: on_third(e, "verdict", verdict="high"),
    "rehit": lambda e: on_third(e, "decision", decision="repeat"),
    "missed": corrected,
    "wrong": corrected,
    "spike": lambda e: [v for v in on_third(e, "verdict") if "spike" in v["reasons"]],
    "stripped": lambda e: on_third(e, "verdict", verdict="low") +
                          on_third(e, "verdict", verdict="suspect"),
    "seized": lambda e: on_third(e, "decision", decision="repeat") and
                        on_third(e, "decision", decision="loosen"),
    "unplug": lambda e: tool_lost(e) and on_third(e, "pull", complete=False),
    "battery": lambda e: tool_lost(e) and on_third(e, "pull", complete=False),
    "lost": lambda e: [v for v in on_third(e, "verdict") if "gap" in v["reasons"]],
    "peak": lambda e: on_third(e, "pull", samples=0),
}


def one(kind):
    entries = rehearsed("%s:main:3" % kind, 1)
    sign = SIGNS.get(kind)
    check(sign is None or sign(entries), "%s left no sign in the record" % kind)


def test_each_fault_to_its_end():
    with ThreadPoolExecutor(AT_ONCE) as pool:
        list(pool.map(one, KINDS))


def test_all_faults_in_one_build():
    """Spread over three groups and two stages, other seeds."""
    groups = (("main", 10), ("rod", 8), ("head", 10))
    faults = []
    for i, kind in enumerate(KINDS):
        group, places = groups[i % 3]
        faults.append("%s:%s:%d@%d" % (kind, group, 1 + i // 3 % places, 1 + i % 2))
    with ThreadPoolExecutor(AT_ONCE) as pool:
        list(pool.map(lambda seed: rehearsed(",".join(faults), seed), (2, 3, 4)))


def test_every_kind_of_stage():
    """Nothing ordered, nothing wrong: no verdict needs a decision."""
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for entries in pool.map(lambda seed: rehearsed("", seed, BOTTOM_END), (1, 2, 3)):
            decided = [e for e in entries if e["kind"] == "decision"]
            check(not decided, "a sound build needed %s" % decided[:1])
            kinds = {e["kind"] for e in entries}
            check({"fastener_length", "fastener_slot"} <= kinds, "not all was asked for: %s" % kinds)


# What is ordered on the V-twin, and the verdict that the record must hold of it: group, fastener,
# stage, outcome, one of its reasons.
SHOWN = [
    ("weak_lock:main:2", "main", 2, 1, "low", "below_limit"),
    ("crossed:main:3", "main", 3, 1, "low", "angle_short"),
    ("short:crank:1", "crank", 1, 1, "low", "angle_short"),
    ("bottomed:rod:1", "rod", 1, 1, "low", "stretch_short"),
    ("over:rod:2", "rod", 2, 1, "high", "stretch_over"),
    ("yielding:weight:1", "weight", 1, 1, "low", "below_limit"),
    ("over:weight:2", "weight", 2, 1, "high", "angle_over"),
    ("rehit:head-left:2@3", "head-left", 2, 3, "pass", None),
    ("overcrept:governor:1", "governor", 1, 1, "high", "above_limit"),
    ("over:rotor:1@3", "rotor", 1, 3, "high", "above_limit"),
    ("relaxed:head-right:1", "head-right", 1, 1, "low", "below_limit"),
    ("peak:crank:1", "crank", 1, 1, "suspect", "no_trace"),
    ("unplug:weight:2", "weight", 2, 1, "suspect", "gap"),
]


def shown(row):
    order, group, fastener, stage, outcome, reason = row
    entries = rehearsed(order, 2, BOTTOM_END)
    verdicts = [e for e in entries if e["kind"] == "verdict" and e["group"] == group and
                e["fastener"] == fastener and e["stage"] == stage]
    check(any(e["verdict"] == outcome and (reason is None or reason in e["reasons"])
              for e in verdicts),
          "%s left %s" % (order, [(e["verdict"], e["reasons"]) for e in verdicts]))


def test_faults_in_every_kind_of_stage():
    with ThreadPoolExecutor(AT_ONCE) as pool:
        list(pool.map(shown, SHOWN))


def test_fault_that_cannot_happen_there():
    with Bench() as bench:
        code, _, err = bench.program("rehearse", BOTTOM_END, "--speed", "0", "--fault",
                                     "overcrept:main:1")
        check(code == 2 and "can't happen in stage 1 of group main" in err, "%d %s" % (code, err))


def test_wrong_one_is_tight_already():
    """The fourth in the order by way of the third, which has this stage: nothing turns."""
    entries = rehearsed("wrong:main:2", 1)
    third = [e for e in entries if e["kind"] == "verdict" and e.get("fastener") == 2]
    check("no_turn" in third[0]["reasons"], "the wrong one turned: %s" % third[0])
    check(any(e["kind"] == "decision" and e["decision"] == "repeat" for e in entries),
          "it was not asked for again")


def test_what_gives_way_is_seen_to():
    """Nobody sees in a bare result that the thread gave way, and nobody asks: the builder pulls on,
    then looks."""
    entries = rehearsed("stripped:main:3,peak:main:3@2", 1)
    second = on_third(entries, "verdict", stage=2)
    words = [v["verdict"] for v in second]
    check(words == ["low"] * 3 + ["pass"], "it was judged %s" % words)
    check(not on_third(entries, "decision"), "a decision was asked for")


def test_same_seed_same_rehearsal():
    def told(entries):
        return [[e.get(name) for name in ("fastener", "stage", "peak_torque_Nm", "trace", "verdict",
                                          "decision")]
                for e in entries if e["kind"] in ("verdict", "decision", "pull")]
    faults = "missed:main:3,crossed:main:4,stripped:head:2,noise:rod:1,lost:head:5@2"
    with ThreadPoolExecutor(AT_ONCE) as pool:
        a, b = pool.map(lambda _: told(rehearsed(faults, 7)), range(2))
    check(a == b, "two rehearsals with one seed differ")


def test_goes_on_after_kills():
    """Killed again and again, wherever that is; what was pulled by mistake is still known."""
    faults = ",".join("%s:main:%d@%d" % (kind, place, 1 + place % 2)
                      for place, kind in enumerate(["missed", "wrong", "rehit", "lost"] * 2, 1))
    with Bench(build="rehearsed") as bench:
        words = ["rehearse", SHORT_BLOCK, "--speed", "0", "--seed", "5", "--fault", faults,
                 "--build", bench.build, "--json", "--home", bench.home]
        for _ in range(8):
            process = subprocess.Popen([PROGRAM] + words, stdout=subprocess.PIPE,
                                       stdin=subprocess.DEVNULL)
            read = 0
            while read < 60 and process.stdout.readline():
                read += 1
            process.kill()
            process.wait()
            process.stdout.close()
        code, out, err = bench.program(*words[:-2])
        check(code == 0, "exit code %d: %s" % (code, err or out[-300:]))
        check(json.loads(out.splitlines()[-1])["outcome"] == "complete", out[-300:])
        bench.audit()
        check(any(e["kind"] == "interrupted" for e in bench.entries()), "no kill was in time")


def test_every_fault_of_the_help_is_tried():
    with Bench() as bench:
        code, out, _ = bench.program("rehearse", "--help")
        check(code == 0, "no help")
        listed = re.search(r"Faults of the hand: (.*?)\.\s", out, re.S).group(1)
        words = set(re.findall(r"[a-z_]+", re.sub(r"of\s+the\s+\w+", "", listed)))
        tried = set(KINDS) | {row[0].split(":")[0] for row in SHOWN}
        check(words == tried, "help and test differ: %s" % (words ^ tried))


def test_no_other_to_mistake_it_for():
    with Bench() as bench:
        path = bench.folder + "/one.lua"
        with open(path, "w", encoding="utf-8") as out:
            out.write('''sequence { title = "One bolt", engine = "Curlew 4", edition = "1",
  document = "invented", revision = "A", invented = true }
group { name = "one", say = "bolt", thread = "M10", lubricant = "engine oil",
  places = labels { "only" }, order = "listed" }
tighten { id = "bolt", say = "Tighten.", group = "one",
  stages = { torque { Nm(40), within = percent(5) } } }
''')
        code, _, err = bench.program("rehearse", path, "--speed", "0", "--fault", "missed:one:1")
        check(code == 2 and "one fastener" in err, "%d %s" % (code, err))


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
