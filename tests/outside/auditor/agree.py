"""agree.py - the program's audit and the second auditor on good and tampered records and bundles.

Every attack that a record has to withstand is made here, on copies of one good record with three
builds, a rehearsal, traces, a correction, key changes and checkpoints; both must give the same of the
four answers, and no attack may pass.
"""

import json
import os
import random
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile

import auditor

BOLTWRIGHT = os.environ["BOLTWRIGHT"]
SOURCE = os.environ["BW_SOURCE"]
SEED = int(os.environ.get("BW_SEED", "20261125"))
page = auditor.Page(os.path.join(SOURCE, "docs", "record-format.md"))
failures = []

SEQUENCE = """sequence {
  title = "Flange of the auditors", engine = "Slipway winch gearbox", edition = "1",
  document = "Winch handbook of the harbour pilot service, invented, page 9", revision = "A",
  invented = true, torque_unit = "N.m" }
group { name = "flange", say = "flange bolts", thread = "M8x1.25", class = "8.8",
  lubricant = "engine oil", places = circle { n = 4, diameter = mm(90) }, order = "crosswise" }
caution { id = "locked", say = "The winch is locked." }
tighten { id = "bolts", say = "Flange bolts.", group = "flange", after = "locked",
  stages = { torque { Nm(12), within = percent(6) }, torque { Nm(24), within = percent(5) } } }
"""


def program(*args, home):
    result = subprocess.run([BOLTWRIGHT, *args, "--home", home], capture_output=True, text=True,
                            check=False)
    return result.returncode, result.stdout, result.stderr


def must(*args, home):
    code, out, err = program(*args, home=home)
    if code != 0:
        raise AssertionError("%s: %d\n%s%s" % (args, code, out, err))
    return out


def make_record(home):
    """Three rehearsals, between them a change of the key and a lost key."""
    sequence = os.path.join(home, "flange.lua")
    os.makedirs(home)
    with open(sequence, "w", encoding="utf-8") as out:
        out.write(SEQUENCE)
    keys = []
    for build in ("R1", "R2", "R3"):
        must("rehearse", sequence, "--speed", "0", "--build", build, home=home)
        keys.append(must("key", "export", home=home).strip())
        if build == "R1":
            must("key", "new", "--reason", "yearly", home=home)
    db = sqlite3.connect(os.path.join(home, "record.db"))
    db.execute("PRAGMA journal_mode = DELETE")
    db.close()
    return keys


def edit(text, old, new):
    """SQL that changes the text of one entry."""
    return ("UPDATE entry SET data = CAST(replace(CAST(data AS TEXT), '%s', '%s') AS BLOB) WHERE "
            "number = (SELECT min(number) FROM entry WHERE instr(data, '%s') > 0 AND %s)" %
            (old, new, old, text))


ATTACKS = [
    ("nothing", ""),
    ("a value", edit("1", '"peak_torque_Nm":', '"peak_torque_Nm":1')),
    ("a verdict", edit("1", '"verdict":"pass"', '"verdict":"high"')),
    ("a name", edit("number > 5", '"by":"', '"by":"X')),
    ("a time back", edit("number > 9", '"time":"20', '"time":"19')),
    ("a time on", edit("number > 9", '"time":"20', '"time":"21')),
    ("a member away", edit("1", '"asked":true,', "")),
    ("a member more", edit("number > 3", '"bench":', '"aaa":1,"bench":')),
    ("a kind", edit("1", '"kind":"verdict"', '"kind":"verdicts"')),
    ("a space", edit("number > 3", '"bench":', '"bench": ')),
    ("a number's form", edit("1", '"attempt":1', '"attempt":1.0')),
    ("rehearsal relabelled", "UPDATE entry SET data = CAST(replace(CAST(data AS TEXT), "
     "'\"rehearsal\":true,', '') AS BLOB)"),
    ("one entry relabelled", edit("number > 20", '"rehearsal":true,', "")),
    ("a build renamed", edit("number > 20", '"build":"R1"', '"build":"R9"')),
    ("of", edit("1", '"of":', '"of":9')),
    ("text for blob", "UPDATE entry SET data = CAST(data AS TEXT) WHERE number = 5"),
    ("no data", "UPDATE entry SET data = NULL WHERE number = 5"),
    ("first removed", "DELETE FROM entry WHERE number = 1"),
    ("one removed", "DELETE FROM entry WHERE number = 30"),
    ("last removed", "DELETE FROM entry WHERE number = (SELECT max(number) FROM entry)"),
    ("removed and moved up", "DELETE FROM entry WHERE number = 30;"
     "UPDATE entry SET number = -number WHERE number > 30;"
     "UPDATE entry SET number = -number - 1 WHERE number < 0"),
    ("two swapped", "UPDATE entry SET number = 99999 WHERE number = 30;"
     "UPDATE entry SET number = 30 WHERE number = 31;"
     "UPDATE entry SET number = 31 WHERE number = 99999"),
    ("one added", "INSERT INTO entry SELECT max(number) + 1, (SELECT data FROM entry WHERE "
     "number = 7) FROM entry"),
    ("one below", "INSERT INTO entry VALUES (0, x'7b7d')"),
    ("one far away", "UPDATE entry SET number = 99999 WHERE number = 30"),
    ("tail cut with its checkpoint", "DELETE FROM entry WHERE number > (SELECT min(size) FROM "
     "checkpoint); DELETE FROM checkpoint WHERE size > (SELECT min(size) FROM checkpoint)"),
    ("checkpoints removed", "DELETE FROM checkpoint"),
    ("a checkpoint removed", "DELETE FROM checkpoint WHERE size = (SELECT min(size) FROM "
     "checkpoint)"),
    ("a checkpoint's size", "UPDATE checkpoint SET size = size - 1 WHERE size = (SELECT max(size) "
     "FROM checkpoint)"),
    ("a checkpoint's text", "UPDATE checkpoint SET note = replace(note, 'boltwright/', "
     "'boltwrong/')"),
    ("a checkpoint's signature", "UPDATE checkpoint SET note = replace(note, 'A', 'B')"),
    ("a checkpoint is none", "UPDATE checkpoint SET note = 'gone'"),
    ("a trace exchanged", "UPDATE trace SET data = x'00' WHERE rowid = 3"),
    ("two traces exchanged", "UPDATE trace SET hash = x'00' WHERE rowid = 3; UPDATE trace SET hash "
     "= (SELECT hash FROM trace WHERE rowid = 4) || x'00' WHERE rowid = 3"),
    ("a trace removed", "DELETE FROM trace WHERE rowid = 3"),
    ("a trigger removed", "DROP TRIGGER entry_same"),
    ("a view", "CREATE VIEW seen AS SELECT * FROM entry"),
]
# What nothing in the file can show: a shorter history, well signed; an unsigned one needs a key or
# a checkpoint from outside to be no more than "cannot tell".
CANNOT_SHOW = {"nothing", "a checkpoint removed", "tail cut with its checkpoint"}
# A later entry is not signed yet, and is what it is.
CANNOT_SHOW_WITHOUT_KEY = {"checkpoints removed", "a checkpoint's text", "a checkpoint's signature"}


def tamper(path, sql, keep_triggers):
    db = sqlite3.connect(path)
    triggers = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
    if not keep_triggers:
        for name, _ in triggers:
            db.execute("DROP TRIGGER " + name)
    db.executescript(sql)
    if not keep_triggers:
        for _, text in triggers:
            db.execute(text)
    db.commit()
    db.close()


def compare(name, audit, args, home, cannot_show):
    """Both auditors, and what must not pass."""
    code, out, err = program("audit", *args, "--json", home=home)
    theirs = json.loads(out)["outcome"] if out else "refused"
    if theirs == "incomplete" and all(finding["message"].startswith("not complete: ") for finding in
                                      json.loads(out)["findings"]):
        theirs = "" # by the sequence's own text, which the second auditor does not run
    ours = audit.word() if audit is not None else "refused"
    if theirs != ours and (theirs or ours not in ("intact", "cannot_tell")):
        why = (audit.damaged + audit.incomplete)[:3] if audit is not None else []
        failures.append("%s: the program says %s, the second auditor %s %s\n  %s%s" % (
            name, theirs, ours, why, out[:400], err))
    if (code == 0) and not cannot_show:
        failures.append("%s: passed (%s)" % (name, theirs))
    return ours


def files_for(folder, keys, note):
    key_file = os.path.join(folder, "keys.txt")
    note_file = os.path.join(folder, "note.txt")
    with open(key_file, "w", encoding="utf-8") as out:
        out.write("\n".join(keys) + "\n")
    with open(note_file, "w", encoding="utf-8") as out:
        out.write(note)
    return ["--public-key", key_file], ["--checkpoint", note_file]


def records(good, folder, keys):
    path = os.path.join(folder, "copy", "record.db")
    with open(os.path.join(good, "seen"), encoding="utf-8") as seen:
        note = seen.read()
    by_key, by_note = files_for(folder, keys, note)
    key_objects = [auditor.Key(line) for line in keys]
    words = {}
    for name, sql in ATTACKS:
        os.makedirs(os.path.dirname(path))
        shutil.copy(os.path.join(good, "record.db"), path)
        tamper(path, sql, "TRIGGER" in sql)
        home = os.path.dirname(path)
        words[name] = [
            compare(name + ", keys given", auditor.audit_record(page, path, key_objects), by_key,
                    home, name in CANNOT_SHOW),
            compare(name + ", checkpoint given",
                    auditor.audit_record(page, path, (), [auditor.Note(note)]), by_note, home,
                    name in ("nothing", "a checkpoint removed", "one added") or
                    name in CANNOT_SHOW_WITHOUT_KEY),
            compare(name + ", nothing given", auditor.audit_record(page, path), [], home,
                    name in CANNOT_SHOW | CANNOT_SHOW_WITHOUT_KEY),
        ]
        shutil.rmtree(home)
    expected = {"nothing": ["intact", "intact", "cannot_tell"],
                "tail cut with its checkpoint": ["intact", "incomplete", "cannot_tell"],
                "checkpoints removed": ["cannot_tell", "intact", "cannot_tell"]}
    for name, answers in expected.items():
        if words[name] != answers:
            failures.append("%s: %s, not %s" % (name, words[name], answers))
    return 3 * len(ATTACKS)


def bytes_flipped(good, folder, keys, count):
    """Single bytes of the file, anywhere: the same answer, or both cannot read it."""
    chance = random.Random(SEED)
    home = os.path.join(folder, "flip")
    path = os.path.join(home, "record.db")
    by_key = ["--public-key", os.path.join(folder, "keys.txt")]
    key_objects = [auditor.Key(line) for line in keys]
    with open(os.path.join(good, "record.db"), "rb") as file:
        whole = bytearray(file.read())
    os.makedirs(home)
    for _ in range(count):
        at = chance.randrange(100, len(whole))
        bent = bytearray(whole)
        bent[at] ^= 1 << chance.randrange(8)
        with open(path, "wb") as file:
            file.write(bent)
        _, out, _ = program("audit", *by_key, "--json", home=home)
        theirs = json.loads(out)["outcome"] if out else "damaged"
        ours = auditor.audit_record(page, path, key_objects).word()
        # How far a damaged page lets one read on differs from reader to reader; that it is
        # damaged does not.
        if (theirs == "intact") != (ours == "intact"):
            failures.append("byte %d flipped: the program says %s, the second auditor %s" % (
                at, theirs, ours))
    return count


def bundles(good, folder, keys):
    chance = random.Random(SEED)
    path = os.path.join(folder, "bundle.jsonl")
    by_key = ["--public-key", os.path.join(folder, "keys.txt")]
    key_objects = [auditor.Key(line) for line in keys]
    count = 0
    for build in ("R1", "R2", "R3"):
        whole = must("export", build, "--format", "bundle", home=good).encode()
        for way in range(24):
            bent = bytearray(whole)
            at = chance.randrange(len(bent))
            if way % 3 == 1:
                bent[at] ^= 1 << chance.randrange(7)
            elif way % 3 == 2:
                begin = bent.rfind(b"\n", 0, at) + 1
                end = bent.find(b"\n", at) + 1
                del bent[begin:end if way % 2 else len(bent)]
            with open(path, "wb") as file:
                file.write(bent)
            same = bytes(bent) == whole
            word = compare("bundle %s, way %d at %d" % (build, way, at),
                           auditor.audit_bundle(page, path, key_objects), [path, *by_key], good,
                           same)
            if same and word != "intact":
                failures.append("bundle %s is not intact" % build)
            count += 1
    return count


def completeness(good, folder):
    """A build that says complete before its last fastener is accepted."""
    count = 0
    home = os.path.join(folder, "early")
    path = os.path.join(home, "record.db")
    db = sqlite3.connect("file:%s?mode=ro" % os.path.join(good, "record.db"), uri=True)
    rows = db.execute("SELECT number, CAST(data AS TEXT) FROM entry ORDER BY number").fetchall()
    db.close()
    closed = next(text for _, text in rows if '"kind":"build_closed"' in text)
    verdicts = [number for number, text in rows if '"kind":"verdict"' in text and
                '"build":"R1"' in text]
    for last in (verdicts[0], verdicts[-2], verdicts[-1]):
        os.makedirs(home)
        shutil.copy(os.path.join(good, "record.db"), path)
        tamper(path, "DELETE FROM checkpoint; DELETE FROM entry WHERE number > %d; INSERT INTO entry "
               "VALUES (%d, CAST('%s' AS BLOB))" % (last, last + 1, re.sub(
                   '"entries":[0-9]+,', "", closed).replace("'", "''")), False)
        for words in ([], ["--rejudge"]):
            _, out, err = program("audit", *words, "--json", home=home)
            word = json.loads(out)["outcome"] if out else err
            expected = "cannot_tell" if last == verdicts[-1] else "incomplete"
            if word != expected:
                failures.append("closed after verdict %d: %s, not %s\n  %s" % (
                    last, word, expected, out[:400]))
        shutil.rmtree(home)
        count += 1
    return count


def main():
    with tempfile.TemporaryDirectory(prefix="bw-auditor-") as folder:
        good = os.path.join(folder, "good")
        keys = make_record(good)
        keys = list(dict.fromkeys(keys))
        made = records(good, folder, keys)
        made += bytes_flipped(good, folder, keys, 40)
        made += bundles(good, folder, keys)
        made += completeness(good, folder)
    for failure in failures[:20]:
        print("FAILED " + failure)
    print("%d answers compared, %d differ or are wrong; seed %d" % (made, len(failures), SEED))
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
