"""A second auditor of records and bundles, written from docs/record-format.md alone.

Public libraries only: sqlite3, hashlib, and Debian's python3-cryptography for Ed25519.  It shares no
code with the program; kinds, members, tables and triggers are read out of the page itself.
"""

import base64
import binascii
import datetime
import hashlib
import json
import os
import re
import sqlite3
import stat

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

COMMON = ("build", "kind", "time", "by", "bench")
TIME = re.compile(r"(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d):(\d\d)\.\d{3}Z", re.ASCII)
DECEIVING = [(0, 0x1F), (0x7F, 0x9F), (0xAD, 0xAD), (0x61C, 0x61C), (0x180E, 0x180E),
             (0x200B, 0x200F), (0x2028, 0x202E), (0x2060, 0x206F), (0xFEFF, 0xFEFF),
             (0xFFF9, 0xFFFB), (0xE0000, 0xE007F), (0xD800, 0xDFFF),
             (0x115F, 0x1160), (0x3164, 0x3164), (0xFFA0, 0xFFA0), (0xFDD0, 0xFDEF),
             (0xFFFE, 0xFFFF)]


class Page:
    """What the page says about tables, kinds and members."""

    def __init__(self, path):
        with open(path, encoding="utf-8") as page:
            text = page.read()
        self.schema = {}
        for block in re.findall(r"```sql\n(.*?)```", text, re.S):
            for line in block.splitlines():
                name = re.match(r"CREATE (?:TABLE|TRIGGER) (\w+)", line)
                self.schema[name[1]] = line
        self.kinds = {}
        for row in self.rows(text, "### Kinds"):
            self.kinds[row[0].strip("`")] = (set(re.findall(r"`(\w+)`", row[2])),
                                             set(re.findall(r"`(\w+)`", row[3])))
        self.members = {row[0].strip("`"): row[1] for row in self.rows(text, "### Members")}

    @staticmethod
    def rows(text, heading):
        part = text[text.index(heading) + len(heading):]
        part = part[:part.index("\n#")]
        return [[cell.strip() for cell in line.strip("|").split("|")]
                for line in part.splitlines() if line.startswith("| `")]


def sha(data):
    return hashlib.sha256(data).digest()


def node(left, right):
    return sha(b"\x01" + left + right)


class Tree:
    """Grows by one leaf at a time; knows its root at every size it had."""

    def __init__(self):
        self.peaks = []
        self.roots = [sha(b"")]

    def add(self, data):
        peak = (1, sha(b"\x00" + data))
        while self.peaks and self.peaks[-1][0] == peak[0]:
            size, left = self.peaks.pop()
            peak = (size * 2, node(left, peak[1]))
        self.peaks.append(peak)
        root = self.peaks[-1][1]
        for _, left in reversed(self.peaks[:-1]):
            root = node(left, root)
        self.roots.append(root)


def path_root(leaf, index, size, proof):
    """RFC 6962, 2.1.1, backwards: the root that the path leads to, or None."""
    if size == 1:
        return leaf if not proof else None
    if not proof:
        return None
    k = 1
    while k * 2 < size:
        k *= 2
    if index < k:
        left = path_root(leaf, index, k, proof[:-1])
        return None if left is None else node(left, proof[-1])
    right = path_root(leaf, index - k, size - k, proof[:-1])
    return None if right is None else node(proof[-1], right)


def grown_roots(first, size, proof, known, first_root):
    """RFC 6962, 2.1.2, backwards: both roots that the proof leads to, or None."""
    if first == size:
        if known:
            return (first_root, first_root) if not proof else None
        return (proof[0], proof[0]) if len(proof) == 1 else None
    if not proof:
        return None
    k = 1
    while k * 2 < size:
        k *= 2
    if first <= k:
        both = grown_roots(first, k, proof[:-1], known, first_root)
        return None if both is None else (both[0], node(both[1], proof[-1]))
    both = grown_roots(first - k, size - k, proof[:-1], False, first_root)
    return None if both is None else (node(proof[-1], both[0]), node(proof[-1], both[1]))


def consistent(first, first_root, size, root, proof):
    if first > size:
        return False
    if first in (0, size):
        return not proof and (first == 0 or first_root == root)
    return grown_roots(first, size, proof, True, first_root) == (first_root, root)


class Bad(Exception):
    """Not what the page says."""


def unbase64(text):
    try:
        data = base64.b64decode(text, validate=True)
    except (ValueError, binascii.Error) as why:
        raise Bad("base64") from why
    if base64.b64encode(data).decode() != text:
        raise Bad("base64")
    return data


def printable(text, lines):
    return all((lines and c in "\n\t") or not any(a <= ord(c) <= b for a, b in DECEIVING)
               for c in text)


class Note:
    """A checkpoint: C2SP tlog-checkpoint in a C2SP signed note."""

    def __init__(self, text):
        if not isinstance(text, str) or not text.endswith("\n"):
            raise Bad("no note")
        if any(ord(c) < 0x20 and c != "\n" for c in text) or "\n\n" not in text:
            raise Bad("no note")
        body, lines = text.rsplit("\n\n", 1)
        self.text = (body + "\n").encode()
        rows = body.split("\n")
        if len(rows) < 3 or "" in rows or not re.fullmatch(r"0|[1-9]\d*", rows[1]):
            raise Bad("no checkpoint")
        self.origin, self.size, self.root = rows[0], int(rows[1]), unbase64(rows[2])
        if self.size >= 1 << 64 or len(self.root) != 32 or not lines:
            raise Bad("no checkpoint")
        self.lines = []
        for line in lines.removesuffix("\n").split("\n"):
            parts = line.split(" ")
            if len(parts) != 3 or parts[0] != "\u2014" or not parts[1] or "+" in parts[1]:
                raise Bad("no signature line")
            signature = unbase64(parts[2])
            if len(signature) < 5:
                raise Bad("no signature")
            self.lines.append((parts[1], signature))

    def signed_by(self, key):
        """True, False where a signature by the key is wrong, None where there is none."""
        found = None
        if key.name is not None and self.origin != key.name:
            return None
        for name, signature in self.lines:
            if key.name not in (None, name) or signature[:4] != key.id_under(name):
                continue
            try:
                Ed25519PublicKey.from_public_bytes(key.public).verify(signature[4:], self.text)
                found = True if found is None else found
            except (InvalidSignature, ValueError):
                found = False
        return found


class Key:
    def __init__(self, line):
        parts = line.split("+", 2)
        if len(parts) != 3:
            raise Bad("no verifier key")
        self.name, given = parts[0], parts[1]
        typed = unbase64(parts[2])
        self.public = typed[1:]
        if len(typed) != 33 or typed[0] != 1 or self.id_under(self.name).hex() != given:
            raise Bad("no verifier key")

    def id_under(self, name):
        return sha(name.encode() + b"\n\x01" + self.public)[:4]

    def __eq__(self, other):
        return self.public == other.public

    def __hash__(self):
        return hash(self.public)


def shortest(value):
    for digits in (15, 16, 17):
        text = "%.*g" % (digits, value)
        if float(text) == value:
            return text
    raise Bad("no number")


class Number(str):
    """A number as it is written."""

    def whole(self):
        return re.fullmatch(r"-?(0|[1-9]\d*)", self) and self != "-0"

    def one_form(self):
        return (self.whole() and -2**63 <= int(self) < 2**63) or (
            shortest(float(self)) == self and float(self) != 0)


def written(value):
    if value is True or value is False:
        return "true" if value else "false"
    if isinstance(value, Number):
        return str(value)
    if isinstance(value, list):
        return "[" + ",".join(written(one) for one in value) + "]"
    return json.dumps(value, ensure_ascii=False)


def no_doubles(pairs):
    if len({name for name, _ in pairs}) != len(pairs):
        raise Bad("a member twice")
    return dict(pairs)


def no_constant(_):
    raise Bad("no number")


def read_entry(page, data):
    if not isinstance(data, bytes) or len(data) > 4 << 20:
        raise Bad("no blob")
    try:
        entry = json.loads(data.decode("utf-8"), parse_float=Number, parse_int=Number,
                           object_pairs_hook=no_doubles, parse_constant=no_constant)
    except (ValueError, RecursionError) as why:
        raise Bad("no JSON") from why
    if not isinstance(entry, dict):
        raise Bad("no object")
    for name, value in entry.items():
        texts = value if isinstance(value, list) else [value]
        if not printable(name, False) or isinstance(value, dict) or value is None:
            raise Bad(name)
        for one in texts:
            if isinstance(one, Number) and (one is value) and one.one_form():
                continue
            if isinstance(one, bool) and one is value:
                continue
            if isinstance(one, Number) or not isinstance(one, str) or not printable(one, True):
                raise Bad(name)
    form = "{" + ",".join(json.dumps(name, ensure_ascii=False) + ":" + written(entry[name])
                          for name in sorted(entry)) + "}"
    if form.encode() != data:
        raise Bad("not the one form")
    check_members(page, entry)
    return entry


def is_text(value, lines=False):
    return isinstance(value, str) and not isinstance(value, Number) and printable(value, lines)


FITS = {
    "text": lambda name, value: is_text(value, name == "text"),
    "number": lambda name, value: isinstance(value, Number) and shortest(float(value)) == value,
    "whole": lambda name, value: isinstance(value, Number) and value.whole(),
    "flag": lambda name, value: isinstance(value, bool),
    "words": lambda name, value: isinstance(value, list) and all(
        is_text(one) and one and " " not in one for one in value),
}


def is_moment(year, month, day, hour, minute, second):
    try:
        datetime.date(2000 + year % 400, month, day)
    except ValueError:
        return False
    return hour < 24 and minute < 60 and second < 60


def check_members(page, entry):
    for name in COMMON:
        if not is_text(entry.get(name)) or not entry[name]:
            raise Bad(name)
    if entry.get("rehearsal", True) is not True:
        raise Bad("rehearsal")
    time = TIME.fullmatch(entry["time"])
    if not time or not is_moment(*(int(part) for part in time.groups())):
        raise Bad("time")
    for name, value in entry.items():
        if name in page.members and not FITS[page.members[name]](name, value):
            raise Bad(name)
    if entry["kind"] in page.kinds:
        must, may = page.kinds[entry["kind"]]
        there = {name for name in entry if name in page.members}
        if must - there or there - must - may:
            raise Bad("members")


class Audit:
    """Damaged and incomplete things, and how far anything is proved."""

    def __init__(self, page, keys, outside):
        self.page, self.outside = page, outside
        self.given = bool(keys)
        self.spans = {key: [0, 1 << 64] for key in keys}
        self.trusted = set(keys)
        self.changes = []
        self.damaged, self.incomplete = [], []
        self.proved = 0
        self.builds, self.of_entry = {}, {}
        self.newest = ""
        self.needs = []

    def word(self):
        return ("damaged" if self.damaged else "incomplete" if self.incomplete else
                "intact" if self.proved else "cannot_tell")

    def take(self, number, entry):
        build = entry["build"]
        about_build = build != "-"
        first = build not in self.builds
        rehearsal, count = self.builds.get(build, ("rehearsal" in entry, 0))
        if about_build:
            if first and entry["kind"] != "build_opened":
                self.damaged.append("%d: first" % number)
            if rehearsal != ("rehearsal" in entry):
                self.damaged.append("%d: rehearsal" % number)
            if int(entry.get("entries", count)) != count:
                self.incomplete.append("%d: entries" % number)
        if entry["time"] < self.newest and entry["kind"] != "clock_step":
            self.damaged.append("%d: time" % number)
        self.newest = entry["time"]
        for name in ("of", "corrects"):
            if name in entry and (not 0 < int(entry[name]) < number or
                                  self.of_entry.get(int(entry[name])) != build):
                self.damaged.append("%d: %s" % (number, name))
        self.builds[build] = (rehearsal, count + 1)
        self.of_entry[number] = build

    def take_key(self, number, entry):
        if entry["kind"] != "key_changed":
            return
        try:
            key = Key(entry["key"])
            before = Key(entry["key_before"]) if "key_before" in entry else None
        except Bad:
            self.damaged.append("%d: key" % number)
            return
        if self.changes and before is not None and before != self.changes[-1][2]:
            self.damaged.append("%d: key_before" % number)
        if before is not None:
            self.spans.setdefault(before, [0, 0])[1] = number
        self.spans[key] = [number, 1 << 64]
        self.changes.append((number, before, key))

    def settle(self):
        for _, before, key in reversed(self.changes):
            if key in self.trusted and before is not None:
                self.trusted.add(before)

    def judge(self, note, fits):
        good = None
        for key in list(self.spans):
            signed = note.signed_by(key) if key in self.trusted else None
            if signed is None:
                continue
            good = signed if good is None else good and signed
            first, last = self.spans[key]
            if signed and not first <= note.size <= last:
                self.damaged.append("checkpoint %d: out of its time" % note.size)
            for entry, before, after in self.changes:
                if signed and before == key and entry <= note.size:
                    self.trusted.add(after)
        if good is False or (good is None and self.given):
            self.damaged.append("checkpoint %d: signature" % note.size)
        elif good and fits:
            self.proved = max(self.proved, note.size)


def audit_record(page, path, keys=(), outside=()):
    audit = Audit(page, keys, outside)
    if not stat.S_ISREG(os.lstat(path).st_mode):
        raise Bad("no plain file")
    db = sqlite3.connect("file:%s?mode=ro" % path, uri=True)
    db.text_factory = bytes
    try:
        read_record(audit, db)
    except sqlite3.DatabaseError as why:
        audit.damaged.append("the file: %s" % why)
    finally:
        db.close()
    return audit


def read_record(audit, db):
    marks = [db.execute("PRAGMA " + name).fetchone()[0] for name in ("application_id",
                                                                      "user_version")]
    if marks != [1113027171, 1]:
        raise Bad("no record of this version")
    is_there = {name.decode(): sql.decode() for name, sql in db.execute(
        "SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL")}
    if is_there != audit.page.schema:
        audit.damaged.append("the tables")
    traces = set()
    for name, kind, data in db.execute("SELECT hash, typeof(hash), CAST(data AS BLOB) FROM trace"):
        if kind != b"blob" or name != sha(data or b""):
            audit.damaged.append("a trace")
        else:
            traces.add(name.hex())
    tree = Tree()
    read_entries(audit, db, tree, traces)
    read_checkpoints(audit, db, tree)


def read_entries(audit, db, tree, traces):
    expected = 1
    for number, data, kind in db.execute(
            "SELECT number, CAST(data AS BLOB), typeof(data) FROM entry ORDER BY number"):
        if number < 1:
            audit.damaged.append("%d: below 1" % number)
            continue
        if number != expected:
            audit.incomplete.append("%d: missing" % expected)
        expected = number + 1
        data = data if data is not None else b""
        if kind != b"blob":
            audit.damaged.append("%d: no blob" % number)
        try:
            entry = read_entry(audit.page, data)
        except Bad as why:
            audit.damaged.append("%d: %s" % (number, why))
        else:
            audit.take(number, entry)
            audit.take_key(number, entry)
            for name in ("trace", "raw"):
                if name in entry and entry[name] not in traces:
                    audit.incomplete.append("%d: %s" % (number, name))
        tree.add(data)


def read_checkpoints(audit, db, tree):
    entries = len(tree.roots) - 1
    audit.settle()
    for size, text in db.execute("SELECT size, note FROM checkpoint ORDER BY size").fetchall():
        try:
            note = Note(text.decode() if isinstance(text, bytes) else None)
        except (Bad, UnicodeDecodeError) as why:
            audit.damaged.append("checkpoint %s: %s" % (size, why))
            continue
        fits = note.size == size
        if not fits:
            audit.damaged.append("checkpoint %s: size" % size)
        elif size > entries:
            fits = False
            audit.incomplete.append("checkpoint %s: more than there is" % size)
        elif note.root != tree.roots[size]:
            fits = False
            audit.damaged.append("checkpoint %s: root" % size)
        audit.judge(note, fits)
    for note in audit.outside:
        if note.size > entries:
            audit.incomplete.append("outside: %d entries" % note.size)
        elif note.root != tree.roots[note.size]:
            audit.damaged.append("outside: another root")
        else:
            audit.proved = max(audit.proved, note.size)


def hashes(line, name):
    if not isinstance(line.get(name), list) or len(line[name]) > 64 or not all(
            isinstance(one, str) and re.fullmatch("[0-9a-f]{64}", one) for one in line[name]):
        raise Bad(name)
    return [bytes.fromhex(one) for one in line[name]]


def is_whole(value, wanted):
    return type(value) is int and value == wanted  # True and 1.0 are equal to 1, and are not it


class Bundle:
    def __init__(self, page, keys, outside):
        self.audit = Audit(page, keys, outside)
        self.traces, self.older = set(), []
        self.last, self.ended, self.needs = 0, False, []

    def heading(self, line):
        if not is_whole(line.get("boltwright_bundle"), 1) or not isinstance(line.get("build"), str):
            raise Bad("no bundle")
        self.build, self.newest = line["build"], Note(line.get("checkpoint"))

    def entry(self, line):
        number, data = line["entry"], line.get("data")
        if type(number) is not int or number < 1 or not isinstance(data, str):
            raise Bad("no entry")
        data = data.encode()
        root = None
        if number <= self.newest.size:
            root = path_root(sha(b"\x00" + data), number - 1, self.newest.size,
                             hashes(line, "proof"))
        if root != self.newest.root:
            self.audit.damaged.append("%d: proof" % number)
        entry = read_entry(self.audit.page, data)
        key_change = entry["build"] == "-" and entry["kind"] == "key_changed"
        if entry["build"] != self.build and not key_change:
            self.audit.damaged.append("%d: build" % number)
        self.audit.take_key(number, entry)
        if entry["build"] == "-":
            return
        if number <= self.last:
            raise Bad("order")
        self.last = number
        self.audit.take(number, entry)
        self.needs += [entry[name] for name in ("trace", "raw") if name in entry]

    def trace(self, line):
        if not isinstance(line.get("trace"), str) or not isinstance(line.get("base64"), str):
            raise Bad("no trace")
        name = sha(unbase64(line["base64"])).hex()
        if name != line["trace"]:
            raise Bad("a trace")
        self.traces.add(name)

    def checkpoint(self, line):
        note = Note(line.get("checkpoint"))
        if not consistent(note.size, note.root, self.newest.size, self.newest.root,
                          hashes(line, "consistency")):
            raise Bad("consistency")
        self.older.append(note)

    def line(self, at, text):
        try:
            line = json.loads(text.decode("utf-8"), object_pairs_hook=no_doubles)
            if not isinstance(line, dict):
                raise Bad("no object")
            if at == 0:
                self.heading(line)
            elif self.ended:
                raise Bad("behind the end")
            elif "entry" in line:
                self.entry(line)
            elif "trace" in line:
                self.trace(line)
            elif "consistency" in line:
                self.checkpoint(line)
            elif "end" in line:
                self.ended = True
                if not is_whole(line["end"], at):
                    raise Bad("end")
            else:
                raise Bad("unknown")
        except (Bad, ValueError) as why:
            if at == 0:
                raise Bad("no bundle") from why
            self.audit.damaged.append("line %d: %s" % (at + 1, why))

    def judge(self):
        self.audit.settle()
        for note in sorted(self.older, key=lambda one: one.size) + [self.newest]:
            self.audit.judge(note, True)
        self.audit.proved = self.newest.size if self.audit.proved == self.newest.size else 0
        known = {note.size: note.root for note in self.older + [self.newest]}
        for note in self.audit.outside:
            if note.size not in known:
                self.audit.incomplete.append("outside: no proof")
            elif known[note.size] != note.root:
                self.audit.damaged.append("outside: another root")
            else:
                self.audit.proved = self.newest.size


def audit_bundle(page, path, keys=(), outside=()):
    """None where it is no bundle at all."""
    bundle = Bundle(page, keys, outside)
    with open(path, "rb") as file:
        lines = file.read().split(b"\n")
    try:
        for at, text in enumerate(lines[:-1] if lines[-1] == b"" else lines):
            bundle.line(at, text)
    except Bad:
        return None
    if not hasattr(bundle, "newest"):
        return None
    if not bundle.ended:
        bundle.audit.incomplete.append("no end")
    for name in bundle.needs:
        if name not in bundle.traces:
            bundle.audit.incomplete.append("a trace")
    if bundle.last == 0:
        bundle.audit.incomplete.append("no entry")
    bundle.judge()
    return bundle.audit
