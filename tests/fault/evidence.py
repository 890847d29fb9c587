"""evidence.py - what a customer, an insurer and a clumsy shop do with records, sheets, bundles and keys."""

import csv
import io
import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile

from bench import PROGRAM, ROOT, check, main

SEQUENCE = """sequence {
  title = "=HYPERLINK(\\"x\\") Flange, \\"north\\"", engine = "Slipway winch gearbox", edition = "1",
  document = "Winch handbook of the harbour pilot service, invented, page 9", revision = "A",
  invented = true, torque_unit = "N.m" }
group { name = "flange", say = "flange bolts", thread = "M8x1.25", class = "8.8",
  lubricant = "engine oil", places = circle { n = 4, diameter = mm(90) }, order = "crosswise" }
tighten { id = "bolts", say = "Flange bolts.", group = "flange",
  stages = { torque { Nm(12), within = percent(6) } } }
"""


class Shop:
    """A home folder with builds in it; a temporary folder around it."""

    def __enter__(self):
        self.folder = tempfile.mkdtemp(prefix="bw-evidence-")
        self.home = os.path.join(self.folder, "home")
        self.sequence = self.write("flange.lua", SEQUENCE)
        return self

    def __exit__(self, *_):
        shutil.rmtree(self.folder, ignore_errors=True)

    def write(self, name, text):
        path = os.path.join(self.folder, name)
        with open(path, "w", encoding="utf-8") as out:
            out.write(text)
        return path

    def run(self, *words, passphrase=None, home=None, out=None):
        environment = dict(os.environ)
        environment.pop("BOLTWRIGHT_PASSPHRASE", None)
        if passphrase is not None:
            environment["BOLTWRIGHT_PASSPHRASE"] = passphrase
        done = subprocess.run([PROGRAM, *words, "--home", home or self.home], env=environment,
                              stdin=subprocess.DEVNULL, stdout=out or subprocess.PIPE,
                              stderr=subprocess.PIPE, timeout=60, check=False,
                              start_new_session=True)
        return done.returncode, (done.stdout or b"").decode(), done.stderr.decode()

    def must(self, *words, **more):
        code, out, err = self.run(*words, **more)
        check(code == 0, "%s: %d %s" % (words, code, err))
        return out

    def build(self, name, **more):
        return self.must("rehearse", self.sequence, "--speed", "0", "--build", name, **more)

    def answer(self, *words, **more):
        """The audit's exit code and word."""
        code, out, err = self.run("audit", *words, "--json", **more)
        check(out != "", "audit %s: %d %s" % (words, code, err))
        return code, json.loads(out)["outcome"]


def one_line(err):
    return err.startswith("boltwright: ") and err.count("\n") == 1


def test_an_old_sheet_tells_of_an_older_copy():
    with Shop() as shop:
        shop.build("W1")
        shutil.copytree(shop.home, os.path.join(shop.folder, "backup"))
        early = shop.write("early.txt", shop.must("sheet", "W1"))
        shop.build("W2")
        late = shop.write("late.txt", shop.must("sheet", "W2"))
        for sheet in (early, late):
            check(shop.answer("--checkpoint", sheet) == (0, "intact"), "the record fits " + sheet)
        for name in ("record.db", "record.db-wal", "record.db-shm"):
            shutil.copy(os.path.join(shop.folder, "backup", name), shop.home)
        check(shop.answer("--checkpoint", early)[0] == 1, "the bench remembers the newer one")
        stranger = os.path.join(shop.folder, "stranger")
        shutil.copytree(shop.home, stranger)
        os.unlink(os.path.join(stranger, "seen"))
        check(shop.answer(home=stranger) == (0, "intact"), "nothing in the file shows that it is old")
        check(shop.answer("--checkpoint", early, home=stranger) == (0, "intact"), "the early sheet")
        check(shop.answer("--checkpoint", late, home=stranger) == (1, "incomplete"), "the late one")
        code, _, err = shop.run("rehearse", shop.sequence, "--speed", "0", "--build", "W3")
        check(code == 3 and one_line(err) and "older copy" in err, "%d %s" % (code, err))


def test_a_whole_home_folder_put_back():
    """The folder with all that is in it: only what is remembered outside of it can tell."""
    with Shop() as shop:
        shop.build("W1")
        backup = os.path.join(shop.folder, "backup")
        shutil.copytree(shop.home, backup)
        shop.build("W2")
        check(shop.answer() == (0, "intact"), "nothing is wrong")
        newer = os.path.join(shop.folder, "newer")
        os.rename(shop.home, newer)
        shutil.copytree(backup, shop.home)
        check(shop.answer() == (1, "incomplete"), "an older copy")
        code, _, err = shop.run("rehearse", shop.sequence, "--speed", "0", "--build", "W3")
        check(code == 3 and one_line(err) and "older copy" in err and os.environ["XDG_STATE_HOME"]
              in err, "%d %s" % (code, err))
        shutil.rmtree(shop.home)
        os.rename(newer, shop.home)
        shop.build("W3")
        check(shop.answer() == (0, "intact"), "the newer one goes on")


def test_one_customer_verifies_one_build():
    with Shop() as shop:
        shop.build("W1")
        sheet = shop.write("sheet.txt", shop.must("sheet", "W1"))
        key = shop.write("key.txt", shop.must("key", "show"))
        shop.build("W2")
        bundle = shop.write("w1.jsonl", shop.must("export", "W1", "--format", "bundle",
                                                  "--checkpoint", sheet))
        elsewhere = os.path.join(shop.folder, "nothing-here")
        for words in (["--public-key", key], ["--checkpoint", sheet],
                      ["--public-key", key, "--checkpoint", sheet]):
            check(shop.answer(bundle, *words, home=elsewhere) == (0, "intact"), "%s" % words)
        check(shop.answer(bundle, home=elsewhere) == (0, "cannot_tell"), "nothing to judge by")
        check(not os.path.exists(elsewhere), "a home folder was made")
        with open(bundle, encoding="utf-8") as file:
            text = file.read()
        builds = {json.loads(line["data"])["build"] for line in map(json.loads, text.splitlines())
                  if "data" in line}
        check(builds == {"W1"}, "the bundle tells of %s" % builds)
        bent = shop.write("bent.jsonl", text.replace('\\"verdict\\":\\"pass\\"',
                                                     '\\"verdict\\":\\"high\\"', 1))
        check(text != open(bent, encoding="utf-8").read(), "nothing was bent")
        check(shop.answer(bent, "--public-key", key) == (1, "damaged"), "a verdict was changed")
        code, out, err = shop.run("audit", bundle, "--rejudge", "--public-key", key, "--json",
                                  home=elsewhere)
        answer = json.loads(out)
        check(code == 0 and answer["rejudged"] >= 4, "%d %s %s" % (code, out, err))
        code, _, err = shop.run("audit", bundle, "--build", "W1")
        check(code == 2 and one_line(err), err)


def test_a_bundle_is_judged_again():
    """A trace that was weak from the start, well recorded and well signed: only judging it tells."""
    with Shop() as shop:
        shop.build("W1")
        bundle = shop.must("export", "W1", "--format", "bundle").splitlines()
        code, out, err = shop.run("audit", shop.write("whole.jsonl", "\n".join(bundle) + "\n"),
                                  "--rejudge", "--json")
        check(code == 0 and json.loads(out)["rejudged"] >= 4, out + err)
        db = sqlite3.connect(os.path.join(shop.home, "record.db"))
        rows = db.execute("SELECT number, CAST(data AS TEXT) FROM entry WHERE instr(data, "
                          "'\"kind\":\"verdict\"') > 0 ORDER BY number").fetchall()
        for name, text in db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"
                                     ).fetchall():
            db.execute("DROP TRIGGER " + name)
        db.execute("DELETE FROM checkpoint")
        number, data = rows[1]
        peak = json.loads(data)["peak_torque_Nm"]
        bent = data.replace('"peak_torque_Nm":%r' % peak, '"peak_torque_Nm":12.125')
        check(bent != data, "nothing was bent")
        db.execute("UPDATE entry SET data = ? WHERE number = ?", (bent.encode(), number))
        db.commit()
        db.close()
        code, out, err = shop.run("audit", "--json")
        check("trace gives" not in out, "without --rejudge: " + out)
        code, out, err = shop.run("audit", "--rejudge", "--json")
        check(code == 1 and "trace gives" in out, out + err)


def test_the_commands_of_the_page():
    """docs/verify.md, block by block."""
    with Shop() as shop:
        shop.build("C4-0017")
        with open(os.path.join(ROOT, "docs", "verify.md"), encoding="utf-8") as page:
            blocks = re.findall(r"```sh\n(.*?)```", page.read(), re.S)
        check(len(blocks) == 7, "%d blocks" % len(blocks))
        note = open(os.path.join(shop.home, "seen"), encoding="utf-8").read()
        shop.write("checkpoint.txt", note)
        shop.write("key.txt", shop.must("key", "export"))
        shop.write("bundle.jsonl", shop.must("export", "C4-0017", "--format", "bundle"))
        shutil.copy(os.path.join(shop.home, "record.db"), shop.folder)
        size, root = note.split("\n")[1:3]
        program = "boltwright() { '%s' \"$@\" --home '%s'; }\n" % (PROGRAM, shop.home)
        closed = '"kind":"build_closed"'
        expected = (root, "lines that do not hold: none", "", "Signature Verified Successfully",
                    closed, closed, "YES: the")
        for block, word in zip(blocks, expected):
            done = subprocess.run(["sh", "-c", program + block.replace(" 212 ", " %s " % size)],
                                  cwd=shop.folder, capture_output=True, text=True, check=False)
            check(done.returncode == 0 and word in done.stdout,
                  "%s\n%s%s" % (block, done.stdout, done.stderr))


def test_a_bundle_by_the_page_alone():
    """The page's program holds a bundle against sheets from every time of the record."""
    with open(os.path.join(ROOT, "docs", "verify.md"), encoding="utf-8") as page:
        block = next(block for block in re.findall(r"```sh\n(.*?)```", page.read(), re.S)
                     if "bundle-checkpoint" in block and "END" in block)

    def said(shop):
        done = subprocess.run(["sh", "-c", block], cwd=shop.folder, capture_output=True, text=True,
                              check=False)
        return done.stdout + done.stderr

    with Shop() as shop:
        notes = []
        for build in ("W1", "W2", "W3", "W4"):
            shop.build(build)
            with open(os.path.join(shop.home, "seen"), encoding="utf-8") as seen:
                notes.append(seen.read())
        for build in ("W1", "W3"):
            for i, note in enumerate(notes):
                path = shop.write("checkpoint.txt", note)
                bundle = shop.must("export", build, "--format", "bundle", "--checkpoint", path)
                shop.write("bundle.jsonl", bundle)
                out = said(shop)
                under = i >= (0 if build == "W1" else 2)
                check("the bundle's or before it: 0 of" not in out if under else
                      "the bundle's or before it: 0 of" in out, out)
                check("do not hold: none" in out and "missing: none" in out and
                      "the end is there" in out, out)
        for old, new, words in ((r'\"verdict\":\"pass', r'\"verdict\":\"high', "do not hold: ["),
                                ('"proof":["', '"proof":["' + "0" * 64 + '","', "do not hold: ["),
                                ('"consistency":["', '"consistency":["' + "0" * 64 + '","',
                                 "do not hold: ["), ('{"end":', '{"stop":', "the end is MISSING"),
                                (re.search(r'{"base64".*\n', bundle)[0], "", "that are missing: [")):
            check(old in bundle, old)
            shop.write("bundle.jsonl", bundle.replace(old, new, 1))
            check(words in said(shop), "%s: %s" % (new, said(shop)))
        shop.write("bundle.jsonl", bundle)
        shop.write("checkpoint.txt", notes[1].replace("\n", "\n1", 1))
        check("NOT PROVED by the bundle: 0 of" in said(shop), said(shop))


def test_the_printed_page_after_a_new_key():
    """The checkpoint on the sheet is the old key's until the next one is signed."""
    with Shop() as shop:
        shop.build("W1")
        shop.must("key", "new")
        for build in ("W1", "W2"):
            page = shop.must("sheet", build)
            note = re.search(r"^boltwright/bench-\w+\n\d+\n\S+\n\n\u2014 \S+ \S+\n", page, re.M)[0]
            shop.write("checkpoint.txt", note)
            block = re.search(r"^printf .*?sigfile signature$", page, re.M | re.S)[0]
            done = subprocess.run(["sh", "-c", block], cwd=shop.folder, capture_output=True,
                                  text=True, check=False)
            check("Signature Verified Successfully" in done.stdout, done.stdout + done.stderr)
            if build == "W1":
                shop.build("W2")


def test_a_locked_key():
    with Shop() as shop:
        code, _, err = shop.run("key", "new", "--passphrase")
        check(code != 0 and one_line(err) and "BOLTWRIGHT_PASSPHRASE" in err, err)
        shop.must("key", "new", "--passphrase", passphrase="two flanges")
        code, _, err = shop.run("rehearse", shop.sequence, "--speed", "0", "--build", "W1")
        check(code == 3 and one_line(err) and "BOLTWRIGHT_PASSPHRASE" in err, "%d %s" % (code, err))
        code, _, err = shop.run("rehearse", shop.sequence, "--speed", "0", "--build", "W1",
                                passphrase="wrong")
        check(code != 0 and one_line(err) and "passphrase" in err, "%d %s" % (code, err))
        shop.build("W1", passphrase="two flanges")
        check(shop.answer() == (0, "intact"), "an audit needs no passphrase")
        shop.must("key", "new", "--reason", "yearly", passphrase="two flanges")
        shop.build("W2")
        check(shop.answer() == (0, "intact"), "a changed key")


def test_a_key_that_others_can_read():
    with Shop() as shop:
        shop.build("W1")
        os.chmod(os.path.join(shop.home, "key"), 0o644)
        code, _, err = shop.run("rehearse", shop.sequence, "--speed", "0", "--build", "W2")
        check(code == 3 and one_line(err) and "chmod 600" in err, "%d %s" % (code, err))


def test_exports():
    with Shop() as shop:
        shop.build("W1")
        shop.build("W2")
        lines = shop.must("export", "--all").splitlines()
        one = shop.must("export", "W1").splitlines()
        check([json.loads(line)["number"] for line in lines] == list(range(1, len(lines) + 1)),
              "all of the record")
        check(lines[:len(one)] == one and len(one) * 2 == len(lines), "one build of it")
        rows = list(csv.reader(io.StringIO(shop.must("export", "--all", "--format", "csv"),
                                           newline=""), strict=True))
        check(len(rows) == len(lines) + 1 and len({len(row) for row in rows}) == 1, "the table")
        titles = {row[rows[0].index("title")] for row in rows[1:]} - {""}
        check(titles == {"'=HYPERLINK(\"x\") Flange, \"north\""}, "%s" % titles)
        if os.path.exists("/dev/full"):
            with open("/dev/full", "wb") as full:
                for words in (["--all"], ["W1", "--format", "csv"], ["W1", "--format", "bundle"]):
                    code, _, err = shop.run("export", *words, out=full)
                    check(code == 3 and one_line(err), "%s: %d %s" % (words, code, err))


def test_a_foreign_checkpoint_gets_no_half_bundle():
    with Shop() as shop, Shop() as other:
        shop.build("W1")
        other.build("W1")
        other.build("W2")
        for build in ("W1", "W2"): # of another history, and of a longer one
            sheet = other.write(build + ".txt", other.must("sheet", build))
            code, out, err = shop.run("export", "W1", "--format", "bundle", "--checkpoint", sheet)
            check(code == 3 and out == "" and one_line(err), "%d %s %s" % (code, out[:80], err))


def test_what_a_newer_program_wrote():
    """An unknown kind and an unknown member are in every export, and the sheet tells of the kind."""
    with Shop() as shop:
        shop.build("W1")
        db = sqlite3.connect(os.path.join(shop.home, "record.db"))
        number, data = db.execute("SELECT number, CAST(data AS TEXT) FROM entry ORDER BY number "
                                  "DESC LIMIT 1").fetchone()
        entry = json.loads(data)
        entry = {name: entry[name] for name in ("bench", "build", "by", "rehearsal", "time")}
        entry.update(kind="weighed", balance="B-2", mass_g=[" = 512.4", "512.5"], peak_torque_Nm=7)
        text = json.dumps(entry, sort_keys=True, separators=(",", ":"))
        db.execute("INSERT INTO entry VALUES (?, ?)", (number + 1, text.encode()))
        db.commit()
        db.close()
        check(shop.answer() == (0, "intact"), "a newer program's entry")
        line = json.loads(shop.must("export", "W1").splitlines()[-1])
        check(line == {"number": number + 1, "entry": entry}, "JSON Lines")
        rows = list(csv.DictReader(io.StringIO(shop.must("export", "W1", "--format", "csv"),
                                               newline=""), strict=True))
        check(rows[-1]["kind"] == "weighed" and rows[-1]["peak_torque_Nm"] == "7", "CSV")
        check(json.loads(rows[-1]["more"]) == {name: entry[name] for name in ("balance", "mass_g")},
              "CSV: %s" % rows[-1]["more"])
        check({row["more"] for row in rows[:-1]} == {""}, "nothing more elsewhere")
        check("weighed" in shop.must("sheet", "W1"), "the sheet")


def test_words_that_are_wrong():
    with Shop() as shop:
        shop.build("W1")
        nothing = shop.write("nothing.txt", "no checkpoint\n")
        for words in (["export"], ["export", "--all", "W1"], ["export", "W9"],
                      ["export", "W1", "--format", "xml"],
                      ["export", "--all", "--format", "bundle"],
                      ["export", "W9", "--format", "bundle"],
                      ["export", "W1", "--checkpoint", nothing],
                      ["export", "W1", "--format", "bundle", "--checkpoint", nothing],
                      ["audit", "--checkpoint", nothing], ["audit", "--checkpoint", "/nowhere"],
                      ["audit", "--public-key", nothing], ["audit", "/nowhere"],
                      ["key", "lose"], ["key"]):
            code, out, err = shop.run(*words)
            check(code == 2 and err.startswith("boltwright: "), "%s: %d %s" % (words, code, err))
            check(out == "", "%s printed %s" % (words, out[:80]))


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
