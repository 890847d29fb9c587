"""install.py - what is installed works from where it is installed, with its drivers."""

import json
import os
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
SHORT_BLOCK = os.path.join(ROOT, "sequences", "curlew4", "short-block.lua")


def main(build):
    with tempfile.TemporaryDirectory() as folder:
        prefix = os.path.join(folder, "usr")
        subprocess.run(["cmake", "--install", build, "--prefix", prefix], check=True,
                       stdout=subprocess.DEVNULL)
        for script in ("bash-completion/completions/boltwright", "zsh/site-functions/_boltwright",
                       "fish/vendor_completions.d/boltwright.fish"):
            with open(os.path.join(prefix, "share", script), encoding="utf-8") as text:
                if "rehearse" not in text.read():
                    sys.exit("%s knows no rehearse" % script)
        env = {"PATH": os.environ["PATH"], "HOME": folder,
               "LSAN_OPTIONS": os.environ.get("LSAN_OPTIONS", "")}
        done = subprocess.run([os.path.join(prefix, "bin", "boltwright"), "rehearse", SHORT_BLOCK,
                               "--speed", "0", "--json"], env=env, capture_output=True, text=True,
                              timeout=120, check=False)
        if done.returncode != 0 or '"outcome":"complete"' not in done.stdout:
            sys.exit("the installed program does not rehearse: " + done.stderr)
        build = json.loads(done.stdout.splitlines()[-1])["build"]
        sheet = os.path.join(folder, "sheet.pdf")
        done = subprocess.run([os.path.join(prefix, "bin", "boltwright"), "sheet", build, "-o", sheet],
                              env=env, capture_output=True, text=True, timeout=60, check=False)
        if done.returncode != 0 or not open(sheet, "rb").read(5) == b"%PDF-":
            sys.exit("the installed program does not draw its sheet: " + done.stderr)
    print("1 passed, 0 failed")


if __name__ == "__main__":
    main(sys.argv[1])
