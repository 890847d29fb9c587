"""sheets.py - build sheets as PDF, SVG and text, read back by programs that are not the project's own."""

import os
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree

from bench import Bench, Gone, check, main, pull

HERE = os.path.dirname(os.path.abspath(__file__))
SEQUENCE = os.path.join(HERE, "sheets.lua")
BUILDER = "Ελένη Παπαδοπούλου-Κωνσταντινίδη"
SECOND = "Анна Сергеевна Вознесенская"
LONG_NOTE = "W-17, cast " + " ".join("no. %d" % i for i in range(1, 70)) + ", end of it"
REASON = "thread measured, stretch within the maker's limit"
MARGIN_PT = 36


def tool(*words, **more):
    done = subprocess.run(words, capture_output=True, check=False, timeout=60, **more)
    check(done.returncode == 0, "%s: %s" % (words[0], done.stderr.decode(errors="replace")))
    return done.stdout


def pages_of(pdf):
    return tool("pdftotext", "-layout", pdf, "-").decode().split("\f")[:-1]


def flat(text):
    return " ".join(text.split())


class Told:
    """A build of sheets.lua in which everything happens that a sheet has to tell."""

    def __init__(self, bench):
        self.bench = bench
        self.slipped = self.over = self.weak = False

    def step(self, run, prompt):
        state = prompt["state"]
        if state == "note":
            run.answer(LONG_NOTE)
        elif state == "ask":
            run.answer("B")
        elif state == "reading" and not self.slipped:
            self.slipped = True
            run.answer("40.050")
            run.prompt()
            run.answer("back I misread the drum")
        elif state == "reading":
            run.answer("40.001")
        elif state == "pull" and prompt["group"] == "flange" and prompt["stage"] == 2:
            self.flange(run, prompt)
        elif state == "second_person":
            run.answer(SECOND)
        elif state == "reason":
            run.answer(REASON)
        elif state == "verdict":
            run.answer("override")
        else:
            self.bench.do(run, prompt)

    def flange(self, run, prompt):
        joint = self.bench.joint(prompt)
        if not self.over:
            self.over = True
            pull(self.bench.wrench, joint, until_Nm=prompt["high_Nm"] * 1.1)
        elif not self.weak:
            self.weak = True
            self.bench.wrench.send("?? no line of a wrench\r\n" * 2)
            pull(self.bench.wrench, joint, until_Nm=prompt["low_Nm"] * 0.8)
        else:
            self.bench.do(run, prompt)

    def whole(self, stop=lambda prompt: False):
        run = self.bench.run()
        try:
            while True:
                prompt = run.prompt()
                if stop(prompt):
                    run.answer("pause")
                    break
                self.step(run, prompt)
        except Gone:
            pass
        return run, run.finish()


def told_bench():
    return Bench(sequence=SEQUENCE, build="W-17", person=BUILDER)


def draw(bench, name, *words):
    path = os.path.join(bench.folder, name)
    code, _, err = bench.program("sheet", *words, "-o", path)
    check(code == 0, err)
    return path


def check_told(text, bench):
    for part in (BUILDER, SECOND, REASON, "INVENTED", "end of it", "I misread the drum",
                 "40.050", "40.001", "ring 3.6 mm", "paste with copper", "hardened, two each",
                 "after 20 hours of work", "above_limit", "below_limit", "No pressure is left",
                 "o'clock", "accumulator", "δεξιά κάτω", "слева снизу", "outside micrometer",
                 "decided: override", "M12 x 1.75", "wrench; unchecked: no checksum guards what it sends",
                 "NOT READ: 2 bytes or lines from the wrench"):
        check(part in text, "the sheet does not tell %r" % part)
    check(text.count("NOT READ") == 1, "what was not read is told of other pulls")
    for entry in bench.entries():
        if entry["kind"] == "verdict":
            check("%.1f" % entry["peak_torque_Nm"] in text, "a peak is missing")
            check(entry["tool"] in text, "the wrench is missing")


def test_everything_is_told():
    with told_bench() as bench:
        _, code = Told(bench).whole()
        check(code == 0, "exit code %d" % code)
        pdf = draw(bench, "w17.pdf", bench.build)
        pages = pages_of(pdf)
        check_told(flat(tool("pdftotext", "-raw", pdf, "-").decode()), bench)
        code, text, err = bench.program("sheet", bench.build)
        check(code == 0, err)
        check_told(flat(text), bench)
        for i, page in enumerate(pages):
            check("page %d of %d" % (i + 1, len(pages)) in page, "page %d has no number" % (i + 1))
            check("W-17" in page and "Winch flange" in page, "page %d does not name the build" % (i + 1))
            check("REHEARSAL" not in page, "a build is called a rehearsal")
        check("by decision" in pages[1] or "by decision" in pages[2], "the map has no word for it")


def test_the_file_itself():
    with told_bench() as bench:
        _, code = Told(bench).whole()
        check(code == 0, "exit code %d" % code)
        first = draw(bench, "a.pdf", bench.build)
        again = draw(bench, "b.pdf", bench.build)
        with open(first, "rb") as one, open(again, "rb") as other:
            check(one.read() == other.read(), "two sheets of one record differ")
        fonts = tool("pdffonts", first).decode().splitlines()[2:]
        check(len(fonts) >= 3 and all("DejaVu" in line for line in fonts), "%s" % fonts)
        check(all(re.search(r"\byes yes yes\b", line) for line in fonts), "not embedded: %s" % fonts)
        info = tool("pdfinfo", first).decode()
        check("595.276 x 841.89" in info, info)
        letter = draw(bench, "l.pdf", bench.build, "--paper", "letter")
        check("612 x 792" in tool("pdfinfo", letter).decode(), "not Letter")
        inside(letter)
        one = draw(bench, "a.svg", bench.build)
        two = draw(bench, "b.svg", bench.build)
        with open(one, "rb") as a, open(two, "rb") as b:
            check(a.read() == b.read(), "two pictures of one record differ")
        root = xml.etree.ElementTree.parse(one).getroot()
        pages = len(pages_of(first))
        height = float(root.get("height").rstrip("pt"))
        check(abs(height - pages * 841.89 - (pages - 1) * 12) < 1, "%s for %d pages" % (height, pages))


def inside(pdf):
    """Every word of every page lies inside of the margins."""
    text = tool("pdftotext", "-bbox", pdf, "-").decode()
    words = 0
    for page in re.findall(r"<page .*?</page>", text, re.S):
        width, height = (float(x) for x in re.match(r'<page width="(\S+)" height="(\S+)"', page).groups())
        for box in re.findall(r'<word xMin="(\S+)" yMin="(\S+)" xMax="(\S+)" yMax="(\S+)">', page):
            left, top, right, bottom = (float(x) for x in box)
            check(left >= MARGIN_PT and right <= width - MARGIN_PT + 1, "cut at the side: %s" % (box,))
            check(top >= 12 and bottom <= height - 12, "cut at an end: %s" % (box,))
            words += 1
    return words


def test_nothing_is_cut_with_500_fasteners():
    with Bench() as bench:
        path = os.path.join(bench.folder, "many.lua")
        with open(path, "w", encoding="utf-8") as out:
            out.write("""sequence { title = "Slipway", engine = "Winch flange", edition = "1",
              document = "invented", revision = "A", invented = true, torque_unit = "N.m" }
            group { name = "ring", say = "ring bolts", lubricant = "oil",
              places = circle { n = 500, diameter = mm(3000) }, order = "listed" }
            tighten { id = "ring", say = "Tighten the ring.", group = "ring",
              stages = { torque { Nm(40), within = percent(6) }, angle { deg(30), within = deg(5) } } }""")
        pdf = draw(bench, "many.pdf", "--blank", path)
        text = tool("pdftotext", "-layout", pdf, "-").decode()
        rows = re.findall(r"^ *(\d+) +(\d+) +(\d+) *$", text, re.M)
        own = sorted(int(row[0]) for row in rows if len(set(row)) == 1)
        check(own == list(range(1, 501)), "%d rows" % len(own))
        check(inside(pdf) > 1500, "words are missing")
        check("page 1 of" in text, "no page numbers")


STAGES = 9


def rectangles(svg):
    """How many boxes with a side of 7.5 points a picture has: those to tick at a place."""
    text = open(svg, encoding="utf-8").read()
    sides = re.findall(r'd="M (\S+) (\S+) L (\S+) \2 L \3 (\S+) L \1 \4 Z', text)
    return sum(1 for x0, y0, x1, y1 in sides
               if abs(float(x1) - float(x0) - 7.5) < 0.01 and abs(float(y1) - float(y0) - 7.5) < 0.01)


def test_all_stages_have_boxes():
    """Nine stages, on a circle and in a row: each has its column, and its box at each place."""
    with Bench() as bench:
        for kind, places in (("circle", "circle { n = 6, diameter = mm(160) }"),
                             ("row", 'labels { "upper, behind the filler neck", "lower", "third" }')):
            path = os.path.join(bench.folder, kind + ".lua")
            with open(path, "w", encoding="utf-8") as out:
                out.write("""sequence { title = "Winch", engine = "Winch flange", edition = "1",
                  document = "invented", revision = "A", invented = true, torque_unit = "N.m" }
                group { name = "ring", say = "ring bolts", lubricant = "oil", places = %s, order = "listed" }
                tighten { id = "ring", say = "Tighten the ring.", group = "ring", stages = { %s } }""" % (
                    places, ", ".join("torque { Nm(%d), within = percent(6) }" % (10 * i)
                                      for i in range(1, STAGES + 1))))
            pdf = draw(bench, kind + ".pdf", "--blank", path)
            text = flat("\n".join(pages_of(pdf)))
            inside(pdf)
            for i in range(1, STAGES + 1):
                check("stage %d" % i in text and "Stage %d: %d N" % (i, 10 * i) in text,
                      "%s: stage %d is missing" % (kind, i))
            check("stages 1 to 4" in text and "stages 5 to 9" in text, text)
            check("upper, behind the filler neck" in text or kind == "circle", "a label is cut")
            n = rectangles(draw(bench, kind + ".svg", "--blank", path))
            check(n == STAGES * (6 if kind == "circle" else 3), "%s: %d boxes" % (kind, n))


def test_a_rehearsal_says_so_on_every_page():
    with Bench(build="mock") as bench:
        code, _, err = bench.program("rehearse", SEQUENCE, "--speed", "0", "--build", "mock")
        check(code == 0, err)
        pages = pages_of(draw(bench, "mock.pdf", "mock"))
        check(all("REHEARSAL, NOT A BUILD" in page for page in pages), "a page does not say so")
        tag = pages_of(draw(bench, "tag.pdf", "mock", "--tag"))
        check(len(tag) == 1 and "REHEARSAL" in tag[0] and "Winch flange" in tag[0], "%s" % tag)


def test_an_unfinished_build_says_what_is_open():
    with told_bench() as bench:
        stop = lambda prompt: prompt["state"] == "pull" and prompt["stage"] == 2 and prompt["fastener"] == 4
        _, code = Told(bench).whole(stop)
        check(code == 0, "exit code %d" % code)
        text = flat("\n".join(pages_of(draw(bench, "open.pdf", bench.build))))
        check("6 of 8 steps are done." in text, text[:400])
        check("Tighten the cover." in text, "the open step is missing")
        check("some stages done" in text or "not tightened" in text, "the map has no word for it")
        check("yes, " in text and "of 6 fasteners left" in text, "what is left of the flange")


def test_verified_by_the_printed_page_alone():
    """By a stranger: what he types is what stands on the last page, and the shop's file."""
    with told_bench() as bench:
        _, code = Told(bench).whole()
        check(code == 0, "exit code %d" % code)
        pdf = draw(bench, "w17.pdf", bench.build)
        last = next(page for page in reversed(pages_of(pdf)) if "Evidence" in page)
        lines = [line.strip() for line in last.splitlines()]
        stranger = os.path.join(bench.folder, "stranger")
        os.mkdir(stranger)
        shutil.copy(os.path.join(bench.home, "record.db"), stranger)
        begin = lines.index("Checkpoint over the record (RFC 6962 tree, signed note):")
        note = [line for line in lines[begin + 1:] if line != ""][:4]
        check(note[0].startswith("boltwright/") and note[3].startswith("\u2014 "), "%s" % note)
        with open(os.path.join(stranger, "checkpoint.txt"), "w", encoding="utf-8") as out:
            out.write("%s\n%s\n%s\n\n%s\n" % tuple(note))
        first = next(i for i, line in enumerate(lines) if line.startswith("python3 - record.db"))
        script = "\n".join(lines[first:lines.index("END") + 1])
        done = subprocess.run(["sh", "-c", script], cwd=stranger, capture_output=True, text=True,
                              check=False, timeout=60)
        check(done.stdout.strip() == note[2], "root %s, printed %s: %s" % (done.stdout, note[2], done.stderr))
        commands = [line for line in lines if re.match(r"(printf|sed|awk|openssl) ", line)]
        check(len(commands) == 6, "%s" % commands)
        done = subprocess.run(["sh", "-e", "-c", "\n".join(commands)], cwd=stranger, text=True,
                              capture_output=True, check=False, timeout=60)
        check("Signature Verified Successfully" in done.stdout, done.stdout + done.stderr)
        tool("sqlite3", "record.db", "DROP TRIGGER entry_same; UPDATE entry SET data = "
             "CAST(replace(CAST(data AS TEXT), '40.001', '40.002') AS BLOB)", cwd=stranger)
        done = subprocess.run(["sh", "-c", script], cwd=stranger, capture_output=True, text=True,
                              check=False, timeout=60)
        check(done.returncode == 0 and len(done.stdout.strip()) == 44, done.stderr)
        check(done.stdout.strip() != note[2], "a changed reading was not seen")


def photographed(bench, pdf):
    """The codes that a reader finds on a printed page, grey and a little coarse, each as its text."""
    picture = os.path.join(bench.folder, "page")
    pages = len(pages_of(pdf))
    tool("pdftoppm", "-gray", "-png", "-r", "150", "-f", str(pages), pdf, picture)
    found = [name for name in os.listdir(bench.folder) if name.startswith("page-")]
    check(len(found) == 1, "%s" % found)
    path = os.path.join(bench.folder, found[0])
    text = tool("zbarimg", "--quiet", "--raw", path).decode()
    os.remove(path)
    return text[:-1]  # the reader's own newline


def recipe(heading):
    """The commands below a heading of docs/verify.md."""
    with open(os.path.join(HERE, "..", "..", "docs", "verify.md"), encoding="utf-8") as doc:
        part = doc.read().split("\n## %s\n" % heading)[1].split("\n## ")[0]
    return "".join(re.findall(r"```sh\n(.*?)```", part, re.S))


def test_verified_from_a_picture_of_the_page():
    """The code on the last page, on either paper and on the tag, is the checkpoint; docs/verify.md, with
    it, the record file and the bench's key, says that nothing was changed."""
    if shutil.which("zbarimg") is None:
        print("skipped: no zbarimg here; .ci/setup test installs it")
        return
    with told_bench() as bench:
        _, code = Told(bench).whole()
        check(code == 0, "exit code %d" % code)
        note = photographed(bench, draw(bench, "a4.pdf", bench.build))
        check(photographed(bench, draw(bench, "l.pdf", bench.build, "--paper", "letter")) == note, "Letter")
        check(photographed(bench, draw(bench, "tag.pdf", bench.build, "--tag")) == note, "the tag")
        stranger = os.path.join(bench.folder, "stranger")
        os.mkdir(stranger)
        shutil.copy(os.path.join(bench.home, "record.db"), stranger)
        with open(os.path.join(stranger, "checkpoint.txt"), "w", encoding="utf-8") as out:
            out.write(note if note.endswith("\n") else note + "\n")
        with open(os.path.join(stranger, "key.txt"), "w", encoding="utf-8") as out:
            out.write(bench.program("key", "export")[1])
        size, root = note.splitlines()[1:3]
        script = recipe("The record against the sheet").replace("record.db 212", "record.db " + size)
        done = subprocess.run(["sh", "-e", "-c", script], cwd=stranger, capture_output=True, text=True,
                              check=False, timeout=60)
        check(done.stdout.strip() == root, "%s, not %s: %s" % (done.stdout, root, done.stderr))
        done = subprocess.run(["sh", "-e", "-c", recipe("The signature")], cwd=stranger, text=True,
                              capture_output=True, check=False, timeout=60)
        check("Signature Verified Successfully" in done.stdout, done.stdout + done.stderr)
        lines = recipe("One line of the sheet").replace("C4-0017", bench.build)
        done = subprocess.run(["sh", "-e", "-c", lines], cwd=stranger, text=True, capture_output=True,
                              check=False, timeout=60)
        check(len(done.stdout.splitlines()) == len(bench.entries()), done.stderr)


def test_calibration_and_blank():
    with Bench() as bench:
        code, _, err = bench.program("tool", "add", "w2", "--range", "20..100 N.m", "--maker", "Tern",
                                     "--by", "A. Lund")
        check(code == 0, err)
        code, _, err = bench.program("sheet", "--calibration", "w2", "-o", "x.pdf")
        check(code == 2 and "no calibration" in err, err)
        readings = "".join("%d\n" % target * 5 for target in (20, 60, 100))
        code, sheet, err = bench.program("tool", "calibrate", "w2", "--date", "2026-11-02",
                                         "--certificate", "C-7", input=readings)
        check(code == 0, err)
        text = flat("\n".join(pages_of(draw(bench, "cal.pdf", "--calibration", "w2"))))
        for line in sheet.splitlines():
            check(flat(line) in text, "%r is missing" % line)
        check("Calibrated by" in text and "2026-11-02" in text and "C-7" in text, "the head")
        blank = pages_of(draw(bench, "blank.pdf", "--blank", SEQUENCE))
        joints = [page for page in blank if "In working order" in page]
        check(len(joints) == 2 and "ten o'clock" in joints[0] and "upper" in joints[1],
              "each joint has a page of its own")


def test_what_is_refused():
    with Bench() as bench:
        for words, told in ((["x", "-o", "x.docx"], ".pdf, .svg or .txt"),
                            (["x", "-o", "x.pdf", "--paper", "a3"], "a4 or letter"),
                            (["x", "--tag", "--blank"], "give one"),
                            (["x", "--tag", "--paper", "a4"], "takes no --paper"),
                            (["--blank", "/nowhere.lua"], "/nowhere.lua")):
            code, _, err = bench.program("sheet", *words)
            check(code == 2 and told in err and len(err.splitlines()) == 1, "%s: %s" % (words, err))
        bare = os.path.join(bench.folder, "fonts.conf")
        with open(bare, "w", encoding="utf-8") as out:
            out.write("<fontconfig></fontconfig>\n")
        path = os.path.join(bench.folder, "y.pdf")
        code, _, err = bench.program("sheet", "--blank", SEQUENCE, "-o", path,
                                     env=dict(os.environ, FONTCONFIG_FILE=bare))
        check(code == 3 and "fonts-dejavu-core" in err, "%d %s" % (code, err))
        check(not os.path.exists(path) and not os.path.exists(path + ".part"), "something was left")
        full = "/dev/full"
        if os.path.exists(full):
            os.symlink(full, path + ".part")
            code, _, err = bench.program("sheet", "--blank", SEQUENCE, "-o", path)
            check(code == 3 and not os.path.exists(path), "a full disk: %d %s" % (code, err))


def test_what_is_not_needed_is_not_loaded():
    """--version waits for no library, and what draws nothing not for those that draw."""
    heavy = r"lib(crypto|sqlite|lua|uv|jansson|qrencode|seccomp|serialport)"
    draws = r"lib(cairo|pango|fontconfig|glib)"
    program = os.environ["BOLTWRIGHT"]
    linked = tool("ldd", program).decode()
    check(not re.search(heavy, linked) and not re.search(draws, linked), linked)
    linked = tool("ldd", os.path.join(os.path.dirname(program), "boltwright-core.so")).decode()
    check(re.search(heavy, linked) and not re.search(draws, linked), linked)


if __name__ == "__main__":
    sys.exit(main([
        test_everything_is_told,
        test_the_file_itself,
        test_nothing_is_cut_with_500_fasteners,
        test_all_stages_have_boxes,
        test_a_rehearsal_says_so_on_every_page,
        test_an_unfinished_build_says_what_is_open,
        test_verified_by_the_printed_page_alone,
        test_verified_from_a_picture_of_the_page,
        test_calibration_and_blank,
        test_what_is_refused,
        test_what_is_not_needed_is_not_loaded,
    ]))
