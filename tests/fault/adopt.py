"""adopt.py - a sequence edited while its build runs: the build goes on with the text it began with,
says so, and takes the new one only when it is told to, and only where done work still fits."""

import os
import sys

from bench import Bench, check, main

TEXT = """
sequence { title = "T", engine = "E", document = "D" }
group { name = "g", say = "bolts", lubricant = "oil", places = labels { "a", "b" } }
confirm { id = "clean", say = "Clean?" }
measure { id = "bore", say = "Bore.", readings = {
  reading { id = "r", say = "bore", unit = "mm", decimals = 2, plausible = { mm(79), mm(81) } } },
  derive = { value { id = "v", say = "bore", formula = "mean", of = "r", unit = "mm", decimals = 2,
                     high = mm(80.5) } } }
tighten { id = "bolts", say = "Tighten.", group = "g", after = { "clean", "bore" },
          stages = { torque { Nm(20), within = percent(10) } } }
confirm { id = "end", say = "Cover on?", after = "bolts" }
"""


class Edited(Bench):
    """A bench whose sequence is a file of its own."""

    def __enter__(self):
        super().__enter__()
        self.sequence = os.path.join(self.folder, "edited.lua")
        self.write(TEXT)
        return self

    def write(self, text):
        with open(self.sequence, "w", encoding="utf-8") as file:
            file.write(text)

    def go(self, lines, *extra):
        return self.program("run", self.sequence, "--build", self.build, "--wrench", "hand",
                            "--by", self.person, *extra, input="".join(l + "\n" for l in lines))

    def kinds(self, kind):
        return [e for e in self.entries() if e["kind"] == kind]


def test_goes_on_with_its_own_text():
    with Edited() as bench:
        code, _, err = bench.go(["yes", "80.1", "20 Nm", "pause"])
        check(code == 0, err)
        bench.write(TEXT.replace("Cover on?", "Cover on, with its gasket?"))
        code, out, err = bench.go(["20 Nm", "pause"])
        check(code == 0 and "differs from what build" in err and "--adopt" in err, err)
        check(len(bench.kinds("sequence_adopted")) == 1, "adopted unasked")
        code, out, err = bench.go(["yes"])
        check("Cover on?" in out and "gasket" not in out, out)
        bench.audit()


def test_adopts_what_fits():
    with Edited() as bench:
        code, _, err = bench.go(["yes", "80.1", "20 Nm", "pause"])
        check(code == 0, err)
        bench.write(TEXT.replace("Cover on?", "Cover on, with its gasket?") +
                    'confirm { id = "oil", say = "Oil in?", after = "end" }\n')
        code, out, err = bench.go(["20 Nm", "yes", "yes", "close"], "--adopt")
        check(code == 0 and err == "", err)
        check("gasket" in out and "Oil in?" in out, out)
        adopted = bench.kinds("sequence_adopted")
        check(len(adopted) == 2 and "gasket" in adopted[1]["text"], adopted)
        check(bench.kinds("build_closed")[0]["outcome"] == "complete", "not closed")
        check(bench.audit()["rejudged"] == 3, "not all was judged again")
        code, out, err = bench.program("sheet", bench.build)
        check(code == 0 and "complete" in out, out + err)


def test_refuses_what_does_not_fit():
    with Edited() as bench:
        code, _, err = bench.go(["yes", "80.1", "20 Nm", "pause"])
        check(code == 0, err)
        before = bench.entries()
        for old, new, part in [
                ("Nm(20)", "Nm(25)", 'step "bolts" has begun, and the new text asks something else'),
                ('lubricant = "oil"', 'lubricant = "dry"', "asks something else"),
                ("mm(80.5)", "mm(80.05)", 'step "bore" has begun, and the new text asks'),
                ('"clean"', '"cleaned"', 'step "clean" has begun, and the new text has no such'),
                ('confirm { id = "clean"', 'confirm { id = "wash", say = "Wash?" }\n'
                 'confirm { after = "wash", id = "clean"',
                 'step "clean" has begun, and the new text wants "wash" done before it'),
        ]:
            bench.write(TEXT.replace(old, new))
            code, out, err = bench.go(["20 Nm", "pause"], "--adopt")
            check(code == 1, "%s: %d %s" % (new, code, err))
            lines = err.strip().splitlines()
            check(len(lines) == 1 and part in lines[0], err)
        check(bench.entries() == before, "something was recorded")
        bench.audit()


if __name__ == "__main__":
    sys.exit(main([test_goes_on_with_its_own_text, test_adopts_what_fits,
                   test_refuses_what_does_not_fit]))
