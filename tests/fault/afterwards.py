"""afterwards.py - parts, files and checkpoints of a build, and what comes after it is closed."""

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile

from bench import PROGRAM, check, main

SEQUENCE = """sequence {
  title = "Flange of the slipway winch", engine = "Slipway winch gearbox", edition = "1",
  document = "Winch handbook of the harbour pilot service, invented, page 9", revision = "A",
  invented = true, torque_unit = "N.m" }
group { name = "flange", say = "flange bolts", thread = "M8x1.25", class = "8.8",
  lubricant = "engine oil", places = circle { n = 2, diameter = mm(90) }, order = "listed" }
measure { id = "gasket", say = "Gasket.", gauge = "micrometer",
  readings = { reading { id = "thickness", say = "thickness", unit = "mm", decimals = 2,
                         at = { "one" }, plausible = { mm(1), mm(3) } } },
  derive = { value { id = "mean", say = "thickness", formula = "mean", of = "thickness",
                     unit = "mm", decimals = 2, low = mm(1.5), high = mm(2.5) } } }
tighten { id = "bolts", say = "Flange bolts.", group = "flange", after = "gasket",
  stages = { torque { Nm(12), within = percent(6) } },
  due = "after the first day under pressure" }
"""


class Bench:
    def __enter__(self):
        self.folder = tempfile.mkdtemp(prefix="bw-afterwards-")
        self.home = os.path.join(self.folder, "home")
        self.sequence = self.write("flange.lua", SEQUENCE.encode())
        return self

    def __exit__(self, *_):
        shutil.rmtree(self.folder, ignore_errors=True)

    def write(self, name, data):
        path = os.path.join(self.folder, name)
        with open(path, "wb") as out:
            out.write(data)
        return path

    def program(self, *words, lines=()):
        done = subprocess.run([PROGRAM, *words, "--home", self.home], cwd=self.folder,
                              input="".join(line + "\n" for line in lines), text=True,
                              capture_output=True, timeout=60, check=False)
        return done.returncode, done.stdout, done.stderr

    def run(self, *words, lines=(), by="A. Lund"):
        return self.program("run", self.sequence, "--build", "W1", "--wrench", "hand,unit=N.m",
                            "--by", by, *words, lines=lines)

    def entries(self, kind=None):
        code, out, err = self.program("export", "W1")
        check(code == 0, err)
        entries = [(line["number"], line["entry"]) for line in map(json.loads, out.splitlines())]
        return [entry for entry in entries if kind in (None, entry[1]["kind"])]

    def intact(self):
        code, out, err = self.program("audit", "--rejudge", "--json")
        check(code == 0 and json.loads(out)["outcome"] == "intact", out + err)
        return json.loads(out)

    def built(self, *lines):
        code, out, err = self.run(lines=[*lines, "2.01 at 24 C", "12", "12.1", "close"])
        check(code == 0 and "complete" in out, out + err)


def test_parts_files_and_checkpoints():
    with Bench() as bench:
        photo = os.urandom(200000)
        bench.write("caps, all.jpg", photo) # a name with a comma can't be named
        bench.write("caps.jpg", photo)
        os.mkdir(os.path.join(bench.folder, "folder"))
        bench.built("part flange bolts, batch HB-204, quantity 2", "file caps.jpg, before cleaning",
                    "file nowhere.jpg", "file folder", "file /dev/zero",
                    "checkpoint the customer looks in")
        (_, part), = bench.entries("part_fitted")
        check(part["batch"] == "HB-204" and part["quantity"] == 2, "%s" % part)
        (_, file), = bench.entries("file_attached")
        check(file["sha256"] == hashlib.sha256(photo).hexdigest(), "%s" % file)
        check(file["file"] == "caps.jpg" and file["text"] == "before cleaning", "%s" % file)
        (number, asked), = bench.entries("checkpoint_asked")
        check(asked["reason"] == "the customer looks in", "%s" % asked)
        check(bench.entries("reading")[0][1]["temperature_degC"] == 24, "temperature")
        check(bench.intact()["checkpoints"] == 2, "two checkpoints")
        _, sheet, _ = bench.program("sheet", "W1")
        for word in ("HB-204", file["sha256"][:16], "cleaning", "2.01 mm at 24 C"):
            check(word in sheet, "%s is not on the sheet:\n%s" % (word, sheet))
        check(number < len(bench.entries()), "it went on")


def test_what_was_due_is_done():
    with Bench() as bench:
        bench.built()
        due, = bench.entries("retorque_due")
        code, out, err = bench.run()
        check(code == 0 and "Still due: flange bolts" in out, out + err)
        size = len(bench.entries())
        code, out, err = bench.run("--retorque", "other")
        check(code == 1 and "Nothing is due for a group other" in out, out + err)
        check(len(bench.entries()) == size, "something was recorded")
        code, out, err = bench.run("--retorque", "flange", "--why", "12 N.m, none moved", by="B. Roth")
        check(code == 0, out + err)
        (_, done), = bench.entries("retorque_done")
        check(done["of"] == due[0] and done["by"] == "B. Roth" and done["text"] ==
              "12 N.m, none moved", "%s" % done)
        code, out, err = bench.run("--retorque", "flange")
        check(code == 1, "done twice: " + out + err)
        check("done on" in bench.program("sheet", "W1")[1], "the sheet")
        check("Still due" not in bench.run()[1], "still due")
        bench.intact()
        code, out, _ = bench.program("export", "W1", "--format", "bundle")
        bundle = bench.write("w1.jsonl", out.encode())
        code, out, err = bench.program("audit", bundle, "--json")
        check(json.loads(out)["closed"], "closed: " + out + err)


def test_a_build_is_opened_again():
    with Bench() as bench:
        code, _, err = bench.run("--reopen", "--with", "C. Berg", "--why", "leaks")
        check(code == 2 and "no build W1" in err, err)
        bench.built()
        closed = bench.entries("build_closed")[0][0]
        for words, says in ((["--reopen"], "second person"), (["--reopen", "--with", "C. Berg"],
                            "second person"), (["--reopen", "--with", "a lund", "--why", "leaks"],
                            "a second person"), (["--with", "C. Berg"], "goes with"),
                            (["--reopen", "--retorque", "flange"], "one after the other")):
            code, _, err = bench.run(*words)
            check(code == 2 and says in err and err.count("\n") == 1, "%s: %s" % (words, err))
        again = ("--reopen", "--with", "C. Berg", "--why", "it leaks")
        code, out, err = bench.run(*again, lines=["redo gasket it was torn"] * 2)
        check(code == 0 and "paused" in out, out + err)
        code, _, err = bench.run(*again)
        check(code == 2 and "is not closed" in err, err)
        code, out, err = bench.run(lines=["2.24", "11.9", "12.2", "close"])
        check(code == 0 and "complete" in out, out + err)
        opened = bench.entries("build_reopened")
        check(len(opened) == 1 and opened[0][1]["of"] == closed, "%s" % opened)
        anew, = bench.entries("step_redone")
        check(anew[1]["of"] == opened[0][0] and anew[1]["step"] == "gasket", "%s" % (anew,))
        check([entry["attempt"] for _, entry in bench.entries("verdict")] == [1, 1, 2, 2], "attempts")
        check(len(bench.entries("retorque_due")) == 1, "due once, until it is done")
        bench.intact()
        _, sheet, _ = bench.program("sheet", "W1")
        for word in ("2.01 at 24 C", "2.24", "it leaks", "with C. Berg", "done anew, it was torn",
                     "taken back: it was torn"):
            check(word in sheet or word.replace("2.01 at", "2.01 mm at") in sheet,
                  "%s is not on the sheet:\n%s" % (word, sheet))


if __name__ == "__main__":
    sys.exit(main([value for name, value in list(globals().items()) if name.startswith("test_")]))
