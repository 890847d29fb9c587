"""new.py - what `new` writes: checked, rehearsed, never over what is there."""

import json
import os
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.environ.get("BOLTWRIGHT", os.path.join(ROOT, "build", "test", "boltwright"))


def run(folder, code, *words):
    done = subprocess.run([PROGRAM] + list(words), cwd=folder, capture_output=True, text=True,
                          timeout=60, check=False)
    if done.returncode != code:
        sys.exit("%s: %d\n%s%s" % (" ".join(words), done.returncode, done.stdout[-500:], done.stderr))
    return done.stdout if code == 0 else done.stderr


def want(condition, what):
    if not condition:
        sys.exit(what)


def whole(folder):
    """Written, without mistakes, rehearsed to its end."""
    run(folder, 0, "new", "gearbox")
    want(sorted(os.listdir(folder + "/gearbox")) == [".luarc.json", "gearbox.lua", "words.lua"],
         "not the three files")
    for name, shipped in (("gearbox.lua", "skeleton.lua"), ("words.lua", "words.lua"),
                          (".luarc.json", ".luarc.json")):
        with open(os.path.join(folder, "gearbox", name), encoding="utf-8") as a, \
             open(os.path.join(ROOT, "sequences", shipped), encoding="utf-8") as b:
            want(a.read() == b.read(), "%s is not sequences/%s" % (name, shipped))
    with open(folder + "/gearbox/.luarc.json", encoding="utf-8") as settings:
        json.load(settings)
    want("no mistakes found" in run(folder, 0, "check", "gearbox/gearbox.lua"), "mistakes")
    out = run(folder, 0, "rehearse", "gearbox/gearbox.lua", "--speed", "0", "--home", "home", "--json")
    want(json.loads(out.splitlines()[-1])["outcome"] == "complete", out[-300:])


def left_alone(folder):
    with open(folder + "/gearbox/gearbox.lua", "a", encoding="utf-8") as text:
        text.write("-- mine\n")
    os.unlink(folder + "/gearbox/words.lua")
    want("is there already" in run(folder, 2, "new", "gearbox"), "it did not say so")
    want(not os.path.exists(folder + "/gearbox/words.lua"), "it wrote one of them")
    with open(folder + "/gearbox/gearbox.lua", encoding="utf-8") as text:
        want(text.read().endswith("-- mine\n"), "it was written over")


def names(folder):
    for name, file in (("a/", "a.lua"), ("words", "sequence.lua"), ("of two", "sequence.lua"),
                       ("x" * 100, "sequence.lua"), ("é", "sequence.lua"), ("wor", "wor.lua")):
        out = run(folder, 0, "new", name, "--json")
        path = json.loads(out.splitlines()[0])["path"]
        want(os.path.basename(path) == file and os.path.isfile(os.path.join(folder, path)), out)
    want("can't be made" in run(folder, 3, "new", "no/such/folder"), "made where nothing is")
    want("write it so" in run(folder, 2, "new"), "no folder named")


def main():
    with tempfile.TemporaryDirectory() as folder:
        whole(folder)
        left_alone(folder)
        names(folder)
    print("3 passed, 0 failed")


if __name__ == "__main__":
    main()
