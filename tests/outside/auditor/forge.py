"""forge.py - a forger who has read the record's page and all the code, and makes every hash fit.

agree.py changes a record and leaves the rest; here all that can be computed without the bench's key
is computed anew: entries, tree, checkpoints, bundles' proofs. Signatures come from another bench's
key, or from the bench's own old one. Both auditors must give the same answer, and the expected one:
with the keys given, and of forged signatures also with a checkpoint of a sheet and with nothing.
"""

import base64
import json
import os
import shutil
import sqlite3
import sys
import tempfile

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import (Encoding, PublicFormat,
                                                          load_pem_private_key)

import auditor
from agree import files_for, must, page, program

SEQUENCE = """sequence {
  title = "Flange of the forger", engine = "Slipway winch gearbox", edition = "1",
  document = "Winch handbook of the harbour pilot service, invented, page 9", revision = "A",
  invented = true, torque_unit = "N.m" }
group { name = "flange", say = "flange bolts", thread = "M8x1.25", class = "8.8",
  lubricant = "engine oil", places = circle { n = 2, diameter = mm(90) }, order = "listed" }
tighten { id = "bolts", say = "Flange bolts.", group = "flange",
  stages = { torque { Nm(12), within = percent(6) } } }
"""
failures = []
count = 0


class Signer:
    """A key, and what it may call itself."""

    def __init__(self, private, name=None):
        self.private = private
        self.public = private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
        self.name = name or "boltwright/bench-" + auditor.sha(self.public).hex()[:8]

    def key_id(self):
        return auditor.sha(self.name.encode() + b"\n\x01" + self.public)[:4]

    def verifier(self):
        return "%s+%s+%s" % (self.name, self.key_id().hex(),
                             base64.b64encode(b"\x01" + self.public).decode())

    def line(self, text, key_id=None):
        signature = (key_id or self.key_id()) + self.private.sign(text.encode())
        return "\u2014 %s %s\n" % (self.name, base64.b64encode(signature).decode())

    def note(self, size, root, origin=None, key_id=None):
        text = "%s\n%d\n%s\n" % (origin or self.name, size, base64.b64encode(root).decode())
        return text + "\n" + self.line(text, key_id)


def pem_signer(path):
    with open(path, "rb") as file:
        return Signer(load_pem_private_key(file.read(), None))


def quick(path):
    """To be changed; no power will be cut."""
    db = sqlite3.connect(path)
    db.execute("PRAGMA synchronous = OFF")
    db.execute("PRAGMA journal_mode = MEMORY")
    return db


class Record:
    """What is in a record, to be changed and put back."""

    def __init__(self, path):
        self.path = path
        db = sqlite3.connect("file:%s?mode=ro" % path, uri=True)
        self.entries = [data for (data,) in db.execute("SELECT data FROM entry ORDER BY number")]
        self.notes = db.execute("SELECT size, note FROM checkpoint ORDER BY size").fetchall()
        db.close()

    def copy(self):
        other = Record.__new__(Record)
        other.path, other.entries, other.notes = self.path, list(self.entries), list(self.notes)
        return other

    def roots(self):
        tree = auditor.Tree()
        for data in self.entries:
            tree.add(data)
        return tree.roots

    def change(self, old, new, which=lambda data: True):
        """In the first entry that has it and is meant."""
        for i, data in enumerate(self.entries):
            if old in data and which(data):
                self.entries[i] = data.replace(old, new, 1)
                return self
        raise AssertionError("no entry has %s" % old)

    def re_root(self):
        """Checkpoints that fit the entries, with the signatures that were there."""
        roots = self.roots()
        notes = []
        for size, note in self.notes:
            lines = note.split("\n")
            lines[2] = base64.b64encode(roots[size]).decode()
            notes.append((size, "\n".join(lines)))
        self.notes = notes
        return self

    def sign(self, signer, sizes=None, **how):
        roots = self.roots()
        self.notes = [(size, signer.note(size, roots[size], **how))
                      for size in sizes or [size for size, _ in self.notes]]
        return self

    def add(self, data, **members):
        if not isinstance(data, bytes):
            data = dict(data, **members)
            data = json.dumps(data, separators=(",", ":"), sort_keys=True,
                              ensure_ascii=False).encode()
        self.entries.append(data)
        return self

    def save(self, path):
        shutil.copy(self.path, path)
        db = quick(path)
        triggers = db.execute("SELECT name, sql FROM sqlite_schema WHERE type='trigger'").fetchall()
        for name, _ in triggers:
            db.execute("DROP TRIGGER " + name)
        db.execute("DELETE FROM entry")
        db.execute("DELETE FROM checkpoint")
        db.executemany("INSERT INTO entry VALUES (?, ?)", enumerate(self.entries, 1))
        db.executemany("INSERT INTO checkpoint VALUES (?, ?)", self.notes)
        for _, text in triggers:
            db.execute(text)
        db.commit()
        db.close()


class Court:
    """Both auditors, before whom a forgery is brought."""

    def __init__(self, folder, keys, note):
        self.folder = folder
        by_key, by_note = files_for(folder, keys, note)
        self.ways = ((by_key, [auditor.Key(line) for line in keys], ()),
                     (by_note, (), [auditor.Note(note)]), ([], (), ()))
        self.home = os.path.join(folder, "copy")
        self.path = os.path.join(self.home, "record.db")

    def record(self, name, make, expected):
        """make writes the forged record; expected: with keys; if more, with a checkpoint, with
        nothing."""
        os.makedirs(self.home)
        try:
            make(self.path)
            for (args, keys, outside), want in zip(self.ways, expected.split()):
                theirs = self.program(args)
                ours = self.second(keys, outside)
                self.compare("%s %s" % (name, args[:1]), theirs, ours, want)
        finally:
            shutil.rmtree(self.home)

    def program(self, args):
        code, out, err = program("audit", *args, "--json", home=self.home)
        if code not in (0, 1, 2, 3) or "Sanitizer" in err:
            return "CRASH %d %s" % (code, err)
        return json.loads(out)["outcome"] if out else "refused"

    def second(self, keys, outside):
        try:
            return auditor.audit_record(page, self.path, keys, outside).word()
        except (auditor.Bad, sqlite3.Error, OSError):
            return "refused"

    def bundle(self, name, lines, expected, home):
        path = os.path.join(self.folder, "forged.jsonl")
        with open(path, "wb") as file:
            file.write(b"".join(lines))
        for (args, keys, outside), want in zip(self.ways, expected.split()):
            code, out, err = program("audit", path, *args, "--json", home=home)
            theirs = json.loads(out)["outcome"] if out else "refused"
            if code not in (0, 1, 2, 3) or "Sanitizer" in err:
                theirs = "CRASH"
            audit = auditor.audit_bundle(page, path, keys, outside)
            self.compare("%s %s" % (name, args[:1]), theirs,
                         audit.word() if audit is not None else "refused", want)

    @staticmethod
    def compare(name, theirs, ours, want):
        global count  # pylint: disable=global-statement
        count += 1
        # Who is refused gets no answer at all, which the second auditor may call damaged.
        same = theirs == ours or (theirs == "refused" and ours == "damaged")
        if not same or theirs not in want.split("|"):
            failures.append("%s: the program says %s, the second auditor %s; expected %s" % (
                name, theirs, ours, want))


def attacks_on_signatures(good, old, other, other_record):
    """(name, record, expected)."""
    own = json.loads(good.entries[0])["bench"]
    posing = Signer(other.private, "boltwright/" + own)
    newest = good.notes[-1]
    real_id = base64.b64decode(newest[1].split(" ")[-1])[:4]
    bent = good.copy().change(b'"peak_torque_Nm":', b'"peak_torque_Nm":1')
    size = len(good.entries)
    change = next(i for i, data in enumerate(good.entries) if b'"kind":"key_changed"' in data)
    by_hand = json.loads(good.entries[change])
    last_time = json.loads(good.entries[-1])["time"]

    def key_change(signer, before):
        return dict(by_hand, key=signer.verifier(), key_before=before, time=last_time, bench=own)

    forged = bent.copy().re_root()
    yield "roots anew, signatures kept", forged, "damaged damaged cannot_tell"
    yield ("signed by another bench", bent.copy().sign(other), "damaged damaged cannot_tell")
    yield ("signed by another bench under this one's name", bent.copy().sign(posing),
           "damaged damaged cannot_tell")
    yield ("and with the right key's id", bent.copy().sign(posing, key_id=real_id),
           "damaged damaged cannot_tell")
    yield "signed by the old key", bent.copy().sign(old), "damaged damaged cannot_tell"
    yield ("a newer one by the old key, nothing else", add_note(
        good.copy().add(note_of(good)), old), "damaged intact cannot_tell")
    yield ("another key brought in by itself", good.copy().add(key_change(other, by_hand["key"]))
           .sign_newest(other), "damaged intact cannot_tell")
    yield ("another key brought in by the old one", good.copy().add(key_change(
        other, by_hand["key"])).sign_newest(old), "damaged intact cannot_tell")
    yield ("another key behind one that is not in use", good.copy().add(key_change(
        other, old.verifier())).sign_newest(old), "damaged damaged damaged")
    two = bent.copy().re_root()
    two.notes = [(at, note + posing.line(note.split("\n\n")[0] + "\n")) for at, note in two.notes]
    yield "a second signature beside the spoilt one", two, "damaged damaged cannot_tell"
    kept = good.copy()
    kept.notes = [(at, note + posing.line(note.split("\n\n")[0] + "\n")) for at, note in kept.notes]
    yield "a second signature beside the good one", kept, "intact intact cannot_tell"
    foreign = good.copy()
    foreign.notes[-1] = (newest[0], other_record.notes[-1][1])
    yield "a checkpoint of another record", foreign, "damaged damaged|intact damaged"
    origin = good.copy().sign(other, origin="boltwright/" + own)
    yield "an origin that is not the signer", origin, "damaged intact cannot_tell"
    twice = good.copy()
    twice.notes.append((newest[0] + 1, newest[1]))
    twice.add(note_of(good))
    yield "one checkpoint under two sizes", twice, "damaged damaged damaged"
    below = good.copy()
    below.notes.insert(0, (-5, newest[1]))
    yield "a checkpoint of a negative size", below, "damaged damaged damaged"
    empty = good.copy()
    empty.notes.insert(0, (0, other.note(0, auditor.sha(b""))))
    yield "one over nothing, by another key", empty, "damaged intact cannot_tell"
    huge = good.copy()
    huge.notes.append((2**63 - 1, other.note(2**63 - 1, auditor.sha(b""))))
    yield "one over all that can be counted", huge, "damaged incomplete incomplete"
    swapped = good.copy()
    swapped.entries[4], swapped.entries[5] = swapped.entries[5], swapped.entries[4]
    yield "two swapped, all hashed anew", swapped.re_root(), "damaged damaged damaged|cannot_tell"
    gone = good.copy()
    del gone.entries[size // 2]
    gone.notes = [(min(at, size - 1), note) for at, note in gone.notes]
    yield ("one removed, the rest moved up, signed by another", gone.sign(other),
           "damaged incomplete|damaged damaged|incomplete|cannot_tell")
    real = good.copy()
    real.entries = [data.replace(b'"rehearsal":true,', b"") for data in real.entries]
    yield "a rehearsal as a real build, roots anew", real.re_root(), "damaged damaged cannot_tell"
    yield ("a rehearsal as a real build, another bench's", real.copy().sign(other),
           "damaged damaged cannot_tell")
    crlf = good.copy()
    crlf.notes = [(at, note.replace("\n", "\r\n")) for at, note in crlf.notes]
    yield "carriage returns in the checkpoints", crlf, "damaged damaged damaged"
    zero = good.copy()
    zero.notes = [(at, note.replace("\n%d\n" % at, "\n0%d\n" % at)) for at, note in zero.notes]
    yield "a size with a zero before it", zero, "damaged damaged damaged"
    nul = good.copy()
    nul.notes = [(at, note + "\0more") for at, note in nul.notes]
    yield "a NUL behind the checkpoints", nul, "damaged damaged damaged"
    more = good.copy()
    more.notes = [(at, note.replace("=\n\n", "=\nextension\n\n", 1)) for at, note in more.notes]
    yield "a line more under the signature", more, "damaged intact cannot_tell"


def note_of(good):
    """A note about the last build, as a later entry."""
    last = json.loads(good.entries[-1])
    made = {name: last[name] for name in ("build", "time", "by", "bench")}
    if "rehearsal" in last:
        made["rehearsal"] = True
    made.update(kind="note", text="seen")
    return made


def add_note(record, signer):
    record.notes.append((len(record.entries), signer.note(len(record.entries), record.roots()[-1])))
    return record


Record.sign_newest = add_note


def texts(good):
    """(name, text of one more entry, whether it is good), behind the newest checkpoint."""
    plain = json.dumps(note_of(good), separators=(",", ":"), sort_keys=True,
                       ensure_ascii=False).encode()

    def fits(old, new):
        return plain.replace(old, new, 1)

    text = b'"text":"seen"'
    yield "a plain note", plain, True
    for fine, numbers in NUMBERS.items():
        for number in numbers.split():
            yield "the number " + number, b'{"aa":' + number.encode() + b"," + plain[1:], fine
    for name, bent in (
            ("a member twice", fits(text, text + b"," + text)),
            ("a member twice, another spelling", fits(text, b'"text":"seen","te\\u0078t":"x"')),
            ("a space behind", plain + b" "), ("a line end behind", plain + b"\n"),
            ("a NUL behind", plain + b"\0"), ("a second object behind", plain + b"{}"),
            ("a byte order mark", b"\xef\xbb\xbf" + plain), ("a space before", b" " + plain),
            ("half of it", plain[:-5]), ("nothing", b""), ("a list", b"[" + plain + b"]"),
            ("a text", b'"seen"'), ("null in a member", fits(text, b'"text":null')),
            ("a list of lists", b'{"aa":[["x"]],' + plain[1:]),
            ("an object in it", b'{"aa":{"x":1},' + plain[1:]),
            ("a list of numbers", b'{"aa":[1],' + plain[1:]),
            ("a thousand brackets", b'{"aa":' + b"[" * 1000 + b"]" * 1000 + b"," + plain[1:]),
            ("an empty list", b'{"aa":[],' + plain[1:]),
            ("a letter as an escape", fits(b"seen", b"s\\u0065en")),
            ("a slash with a backslash", fits(b"seen", b"a\\/b")),
            ("an umlaut as an escape", fits(b"seen", b"\\u00fc")),
            ("an escape in capitals", fits(b"seen", b"\\u000A")),
            ("a tab as an escape by number", fits(b"seen", b"\\u0009")),
            ("a raw tab", fits(b"seen", b"a\tb")), ("a delete", fits(b"seen", b"a\x7fb")),
            ("half a pair", fits(b"seen", b"\\ud83d")),
            ("a pair as escapes", fits(b"seen", b"\\ud83d\\ude00")),
            ("half a pair, raw", fits(b"seen", b"\xed\xa0\xbd")),
            ("an overlong letter", fits(b"seen", b"\xc1\xa1")),
            ("an overlong slash of three", fits(b"seen", b"\xe0\x80\xaf")),
            ("beyond Unicode", fits(b"seen", b"\xf4\x90\x80\x80")),
            ("cut within a letter", fits(b"seen", b"\xe2\x82")),
            ("a mark from right to left", fits(b"seen", "\u202ex".encode())),
            ("nothing of no width in a build", fits(b'"build":"', '"build":"\u200b'.encode())),
            ("a noncharacter at the end of the first plane", fits(b"seen", "\ufffe".encode())),
            ("a noncharacter at the end of a plane", fits(b"seen", "\U0001fffe".encode())),
            ("a letter that is blank", fits(b"seen", "\u3164".encode())),
            ("a variation selector", fits(b"seen", "a\ufe0f".encode())),
            ("members out of order", fits(b',"kind":"note"', b"").replace(
                b"{", b'{"kind":"note",', 1)),
            ("a flag that is no", fits(b'"rehearsal":true', b'"rehearsal":false')),
            ("a flag as a text", fits(b'"rehearsal":true', b'"rehearsal":"true"')),
            ("a flag as a number", fits(b'"rehearsal":true', b'"rehearsal":1')),
            ("a flag in capitals", fits(b'"rehearsal":true', b'"rehearsal":True')),
            ("of itself", b'{' + plain[1:].replace(b',"rehearsal"', b',"of":%d,"rehearsal"' % (
                len(good.entries) + 1), 1)),
            ("of what does not come", plain.replace(b',"rehearsal"', b',"of":99999,"rehearsal"',
                                                    1)),
            ("of nothing", plain.replace(b',"rehearsal"', b',"of":0,"rehearsal"', 1)),
            ("of a negative", plain.replace(b',"rehearsal"', b',"of":-3,"rehearsal"', 1)),
            ("of another build", plain.replace(b',"rehearsal"', b',"of":2,"rehearsal"', 1)),
            ("of a fraction", plain.replace(b',"rehearsal"', b',"of":2.5,"rehearsal"', 1)),
            ("of 2^53 + 1", plain.replace(b',"rehearsal"', b',"of":9007199254740993,"rehearsal"',
                                          1)),
            ("a thirteenth month", set_time(plain, b"12:00:00.000Z", b"2399-13-01T")),
            ("the day that February has not", set_time(plain, b"12:00:00.000Z", b"2399-02-30T")),
            ("an hour 24", set_time(plain, b"24:00:00.000Z")),
            ("a second 60", set_time(plain, b"23:59:60.000Z")),
            ("a time without its Z", set_time(plain, b"23:59:59.000")),
            ("a time with an offset", set_time(plain, b"23:59:59.000+00:00")),
            ("a time in tenths", set_time(plain, b"23:59:59.0Z")),
            ("digits of another script", set_time(plain, "23:59:5\u0669.000Z".encode())),
            ("no build", plain.replace(b'"build":"R2",', b"", 1)),
            ("the bench's build with a rehearsal", fits(b'"build":"R2"', b'"build":"-"')),
            ("a build never opened", fits(b'"build":"R2"', b'"build":"R9"')),
            ("a twin of a build", fits(b'"build":"R2"', '"build":"\uff322"'.encode())),
            ("a kind that is not known", fits(b'"kind":"note"', b'"kind":"notes"')),
            ("a kind of nothing", fits(b'"kind":"note"', b'"kind":""')),
            ("an unknown member of no name", b'{"":1,' + plain[1:]),
            ("a name of another script", fits(b'"time"', '"te\u0445t":"x","time"'.encode())),
            ("a name beyond the plane, in order of bytes",
             b'{' + plain[1:-1] + ',"\uff5e":1,"\U00010000":2}'.encode()),
            ("a name beyond the plane, in order of halves",
             b'{' + plain[1:-1] + ',"\U00010000":2,"\uff5e":1}'.encode()),
            ("closed once more, counted wrong", plain.replace(
                b'"kind":"note"', b'"entries":3,"kind":"build_closed","outcome":"complete"', 1)
             .replace(b',"text":"seen"', b"")),
            ("a trace that is not there", plain.replace(
                b'"rehearsal":true', b'"raw":"%s","rehearsal":true' % (b"0" * 64), 1))):
        yield name, bent, name in FINE


FINE = {"an empty list", "a noncharacter at the end of a plane", "a variation selector",
        "the bench's build with a rehearsal", "a kind that is not known",
        "an unknown member of no name", "a name of another script",
        "a name beyond the plane, in order of bytes"}
NUMBERS = {  # as they are written, or not
    True: """1 1000 -5 0 0.5 1e+300 1e-07 9007199254740993 9223372036854775807 -9223372036854775808
        0.30000000000000004 1e+22 1.7976931348623157e+308 12345678.9 4.94065645841247e-324""",
    False: """1.0 1e0 1E0 +1 01 -0 -0.0 0.0 1. .5 0.50 1e3 1e400 NaN Infinity 0x10 1_0 1e+5 0.1e1
        9223372036854775808 1e-7 1e22 0.10000000000000001 0.3000000000000000444 5e-324 2e-324
        123456789012345678901234567890 100000000000000000000 4.9406564584124654e-324"""}


def set_time(plain, clock, day=b"2399-01-01T"):
    at = plain.index(b"T", plain.index(b'"time":"')) + 1
    return plain[:at - 11] + day + clock + plain[plain.index(b'"', at):]


def schemas():
    """SQL on a copy of the good record: what stands in the file is no more what the page says."""
    rebuilt = ("PRAGMA writable_schema = ON; UPDATE sqlite_schema SET %s WHERE name = '%s';"
               "PRAGMA writable_schema = RESET")
    yield "a table more", "CREATE TABLE more(a)", "damaged"
    yield "an index more", "CREATE INDEX more ON checkpoint(note)", "damaged"
    yield "a view more", "CREATE VIEW more AS SELECT * FROM entry", "damaged"
    yield ("a trigger more", "CREATE TRIGGER more AFTER INSERT ON entry BEGIN SELECT 1; END",
           "damaged")
    yield "a column more", "ALTER TABLE entry ADD COLUMN more", "refused"
    yield ("a generated column", "ALTER TABLE entry ADD COLUMN more AS (number + 1)", "refused")
    yield ("a trigger that does nothing", "DROP TRIGGER entry_same; CREATE TRIGGER entry_same "
           "BEFORE UPDATE ON entry BEGIN SELECT 1; END", "damaged")
    yield ("a table without row ids", "CREATE TABLE copy(number INTEGER PRIMARY KEY, data BLOB) "
           "WITHOUT ROWID; INSERT INTO copy SELECT * FROM entry; DROP TABLE entry; ALTER TABLE "
           "copy RENAME TO entry", "damaged|refused")
    yield ("a view in the table's place", "CREATE TABLE other AS SELECT * FROM entry; DROP TABLE "
           "entry; CREATE VIEW entry AS SELECT * FROM other", "damaged|refused")
    yield ("another page as the table's", rebuilt % (
        "rootpage = (SELECT rootpage FROM sqlite_schema WHERE name = 'trace')", "checkpoint"),
           "damaged|refused")
    yield ("a comment in the table's text", rebuilt % (
        "sql = 'CREATE TABLE entry(number INTEGER PRIMARY KEY, data BLOB) --'", "entry"),
           "damaged|refused")
    yield "another version", "PRAGMA user_version = 2", "refused"
    yield "another application", "PRAGMA application_id = 1", "refused"
    yield "statistics", "ANALYZE", "damaged"
    yield "a table that counts", "CREATE TABLE more(a INTEGER PRIMARY KEY AUTOINCREMENT)", "damaged"
    yield "text in a trace", "UPDATE trace SET data = CAST(data AS TEXT) WHERE rowid = 2", "intact"
    yield ("a name of a trace as text", "UPDATE trace SET hash = CAST(hash AS TEXT) WHERE "
           "rowid = 2", "damaged")
    yield ("a trace cut short", "UPDATE trace SET data = substr(data, 1, 50) WHERE rowid = 2",
           "damaged")
    yield ("a name cut short", "UPDATE trace SET hash = substr(hash, 1, 31) WHERE rowid = 2",
           "damaged")
    yield "a trace without a name", "UPDATE trace SET hash = NULL WHERE rowid = 2", "damaged"
    yield "a trace that nobody names", "INSERT INTO trace VALUES (x'%s', x'00')" % auditor.sha(
        b"\0").hex(), "intact"
    yield "a checkpoint as bytes", "UPDATE checkpoint SET note = CAST(note AS BLOB)", "intact"
    yield "a checkpoint of nothing", "UPDATE checkpoint SET note = NULL", "damaged"
    yield "a checkpoint as a number", "UPDATE checkpoint SET note = 5", "damaged"
    yield "an entry as a number", "UPDATE entry SET data = 5 WHERE number = 3", "damaged"
    yield "an entry of no bytes", "UPDATE entry SET data = x'' WHERE number = 3", "damaged"
    yield ("more room than is used", "CREATE TABLE more(a); INSERT INTO more VALUES "
           "(zeroblob(100000)); DROP TABLE more", "intact")


def apply_sql(good, sql):
    def make(path):
        shutil.copy(good.path, path)
        db = quick(path)
        triggers = db.execute("SELECT name, sql FROM sqlite_schema WHERE type='trigger'").fetchall()
        keep = "TRIGGER" in sql or "writable" in sql
        for name, _ in [] if keep else triggers:
            db.execute("DROP TRIGGER " + name)
        db.executescript(sql)
        try:
            for _, text in [] if keep else triggers:
                db.execute(text)
        except sqlite3.Error:
            pass  # of a view there can be none of these
        db.commit()
        db.close()
    return make


def places(good, folder):
    """Not the plain file that a record is, or with something beside it."""
    other = os.path.join(folder, "elsewhere.db")

    def linked(link):
        def make(path):
            shutil.copy(good.path, other)
            link(other, path)
        return make

    def pipe(path):
        os.mkfifo(path)

    def beside(suffix, data):
        def make(path):
            shutil.copy(good.path, path)
            with open(path + suffix, "wb") as file:
                file.write(data)
        return make

    def wal_of_another(path):
        """A journal of a database with the same pages and other entries."""
        shutil.copy(good.path, other)
        db = sqlite3.connect(other)
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA wal_autocheckpoint = 0")
        for name in ("entry_same", "entry_kept"):
            db.execute("DROP TRIGGER " + name)
        db.execute("UPDATE entry SET data = CAST(replace(CAST(data AS TEXT), 'pass', 'high') AS "
                   "BLOB)")
        db.commit()
        shutil.copy(good.path, path)
        shutil.copy(other + "-wal", path + "-wal")
        db.close()

    yield "a symbolic link", linked(os.symlink), "refused"
    yield "a second name of the file", linked(os.link), "intact"
    yield "a folder", os.mkdir, "refused"
    yield "a pipe", pipe, "refused"
    yield "nothing", lambda path: None, "refused"
    yield "noise as its journal", beside("-wal", b"\x37\x7f\x06\x82" + b"x" * 9000), \
        "intact"
    yield "a hot journal of zeros", beside("-journal", b"\0" * 512), "intact"
    yield "the journal of another", wal_of_another, "damaged"


def changed(line, **members):
    return json.dumps(dict(json.loads(line), **members)).encode() + b"\n"


def bundle_attacks(lines, other_lines, early, other):
    """(name, lines, expected)."""
    at = [i for i, line in enumerate(lines) if b'"entry":' in line]
    marks = [i for i, line in enumerate(lines) if b'"consistency":' in line]
    trace = next(i for i, line in enumerate(lines) if b'"base64":' in line)
    head = json.loads(lines[0])
    note = auditor.Note(head["checkpoint"])

    def end(some):
        return some[:-1] + [b'{"end":%d}\n' % (len(some) - 1)]

    def put(i, line):
        return lines[:i] + [line] + lines[i + 1:]

    middle = at[len(at) // 2]
    entry = json.loads(lines[middle])
    bent = entry["data"].replace('"build":"R2"', '"build":"R2" ')
    yield "as it is", lines, "intact"
    yield ("an entry removed and the end counted anew", end(lines[:middle] + lines[middle + 1:]),
           "incomplete")
    yield "an entry changed", put(middle, changed(lines[middle], data=bent)), "damaged"
    yield ("numbers kept, an entry of the other build in its place",
           put(middle, other_lines[[i for i, x in enumerate(other_lines) if b'"entry":' in x][-3]]),
           "damaged")
    yield ("another number", put(middle, changed(lines[middle], entry=entry["entry"] + 1)),
           "damaged")
    yield ("a number as a fraction", put(middle, changed(lines[middle], entry=entry["entry"] + .0)),
           "damaged")
    yield ("a number beyond all", put(middle, changed(lines[middle], entry=2**62)),
           "damaged")
    yield ("a proof of another size", put(middle, changed(
        lines[middle], proof=entry["proof"] + [entry["proof"][-1]])), "damaged")
    yield ("a proof cut short", put(middle, changed(lines[middle], proof=entry["proof"][:-1])),
           "damaged")
    yield ("a proof in capitals", put(middle, changed(
        lines[middle], proof=[one.upper() for one in entry["proof"]])), "damaged")
    yield ("a proof of a hundred", put(middle, changed(
        lines[middle], proof=entry["proof"] * 20)), "damaged")
    yield "proofs of a smaller tree", [other_lines[0]] + early[1:], "damaged"
    yield "the checkpoint of a smaller tree", [early[0]] + other_lines[1:], "damaged"
    yield "as it was", early, "intact"
    yield "two bundles mixed", end(lines[:-1] + other_lines[1:-1] + [b"x"]), "damaged"
    yield "two bundles, one behind the other", lines + other_lines, "damaged"
    yield ("the other build's name", put(0, changed(lines[0], build="R1")),
           "damaged")
    yield ("a twin of the build's name", put(0, changed(lines[0], build="\uff322")),
           "damaged")
    yield ("the checkpoint signed by another", put(0, changed(
        lines[0], checkpoint=other.note(note.size, note.root, origin=note.origin))),
           "damaged")
    yield ("another size in the checkpoint", put(0, changed(
        lines[0], checkpoint=head["checkpoint"].replace("\n%d\n" % note.size, "\n%d\n" % (
            note.size + 1)))), "damaged")
    yield ("format 2", put(0, changed(lines[0], boltwright_bundle=2)), "refused")
    yield ("format 1.0", put(0, changed(lines[0], boltwright_bundle=1.0)), "refused")
    yield ("format true", put(0, changed(lines[0], boltwright_bundle=True)), "refused")
    yield "an unknown member in the heading", put(0, changed(lines[0], more=1)), "intact"
    yield "an unknown member in an entry", put(middle, changed(lines[middle], more=1)), "intact"
    yield "an entry that is a trace too", put(middle, changed(lines[middle], trace="00")), "intact"
    yield ("a member twice", put(middle, lines[middle].replace(
        b'{"data":', b'{"data":"x","data":', 1)),
           "damaged")
    yield "an unknown line", end(lines[:-1] + [b'{"more":1}\n', b"x"]), "damaged"
    yield "an empty line", end(lines[:-1] + [b"\n", b"x"]), "damaged"
    yield "blanks around a line", put(middle, b"  " + lines[middle][:-1] + b" \n"), "intact"
    yield "carriage returns", [line[:-1] + b"\r\n" for line in lines], "intact"
    yield "a byte order mark", [b"\xef\xbb\xbf" + lines[0]] + lines[1:], "refused"
    yield "a NUL in a line", put(middle, lines[middle][:-1] + b"\0\n"), "damaged"
    yield "no line end at the end", lines[:-1] + [lines[-1][:-1]], "intact"
    yield "no end", lines[:-1], "incomplete"
    yield "two ends", lines + [lines[-1]], "damaged"
    yield "an end that counts wrong", lines[:-1] + [b'{"end":5}\n'], "damaged"
    yield "an end as a fraction", lines[:-1] + [b'{"end":%d.0}\n' % (len(lines) - 1)], "damaged"
    yield "a trace removed", end(lines[:trace] + lines[trace + 1:]), \
        "incomplete"
    yield ("a trace's name in capitals", put(trace, changed(
        lines[trace], trace=json.loads(lines[trace])["trace"].upper())), "damaged")
    yield ("a trace's bytes exchanged", put(trace, changed(
        lines[trace], base64=json.loads(lines[trace + 1])["base64"])), "damaged")
    yield ("a trace's bytes with a line end", put(trace, changed(
        lines[trace], base64=json.loads(lines[trace])["base64"] + "\n")), "damaged")
    yield ("an entry twice", end(lines[:middle] + [lines[middle]] + lines[middle:]),
           "damaged")
    yield "a trace twice", end(lines[:trace] + [lines[trace]] + lines[trace:]), \
        "intact"
    yield ("two entries swapped", lines[:middle] + [lines[middle + 1], lines[middle]] +
           lines[middle + 2:], "damaged")
    for i in marks[:1]:
        yield ("an earlier checkpoint without its proof", put(i, changed(lines[i], consistency=[])),
               "damaged")
    keys = [i for i in at if b"key_changed" in lines[i]]
    yield ("the key change removed", end(lines[:keys[0]] + lines[keys[0] + 1:]), "intact")
    yield "only the heading", lines[:1], "incomplete"
    yield "the entries without their heading", lines[1:], "refused"


def make_bench(folder, name, key_changes):
    home = os.path.join(folder, name)
    os.makedirs(home)
    sequence = os.path.join(folder, "flange.lua")
    with open(sequence, "w", encoding="utf-8") as out:
        out.write(SEQUENCE)
    keys = []
    for build in ("R1", "R2"):
        must("rehearse", sequence, "--speed", "0", "--build", build, home=home)
        keys.append(must("key", "export", home=home).strip())
        if key_changes and build == "R1":
            shutil.copy(os.path.join(home, "key"), os.path.join(folder, "old-key"))
            must("key", "new", "--reason", "yearly", home=home)
    db = sqlite3.connect(os.path.join(home, "record.db"))
    db.execute("PRAGMA journal_mode = DELETE")
    db.close()
    return home, list(dict.fromkeys(keys))


def judge_all(folder):
    home, keys = make_bench(folder, "own", True)
    other_home, _ = make_bench(folder, "other", False)
    good = Record(os.path.join(home, "record.db"))
    old, other = pem_signer(os.path.join(folder, "old-key")), pem_signer(os.path.join(other_home,
                                                                                     "key"))
    with open(os.path.join(home, "seen"), encoding="utf-8") as seen:
        court = Court(folder, keys, seen.read())
    for name, record, expected in attacks_on_signatures(
            good, old, other, Record(os.path.join(other_home, "record.db"))):
        court.record(name, record.save, expected)
    for name, text, fine in texts(good):
        wrong = "incomplete" if "counted wrong" in name else "damaged"
        court.record(name, good.copy().add(text).save, "intact" if fine else wrong)
    for name, sql, expected in schemas():
        court.record(name, apply_sql(good, sql), expected)
    for name, make, expected in places(good, folder):
        court.record(name, make, expected)
    split = [must("export", build, "--format", "bundle", home=home).encode().splitlines(True)
             for build in ("R2", "R1")]
    early = as_it_was(good, os.path.join(folder, "early"))
    for name, lines, expected in bundle_attacks(split[0], split[1], early, other):
        court.bundle("bundle: " + name, lines, expected, home)


def as_it_was(good, home):
    """The bundle of the first build, made when the record had no other."""
    first = good.copy()
    size = first.notes[0][0]
    first.entries, first.notes = first.entries[:size], first.notes[:1]
    os.makedirs(home)
    first.save(os.path.join(home, "record.db"))
    return must("export", "R1", "--format", "bundle", home=home).encode().splitlines(True)


def main():
    with tempfile.TemporaryDirectory(prefix="bw-forge-") as folder:
        judge_all(folder)
    for failure in failures[:60]:
        print("FAILED " + failure)
    print("%d answers to forgeries compared, %d differ or are wrong" % (count, len(failures)))
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
