"""completion.py - bash, zsh and fish offer every command and option that the help lists, and no
other; the man page has the same in the same words (--man prints its part); what is mistyped is
guessed."""

import os
import re
import select
import shutil
import subprocess
import sys
import tempfile
import time

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.environ["BOLTWRIGHT"]
PATIENCE_S = 60


def run(*words, **more):
    return subprocess.run(words, capture_output=True, text=True, check=True, timeout=PATIENCE_S,
                          **more).stdout


class Bash:
    """Calls the function that completes, as bash does at the tab key."""

    def __init__(self, folder):
        self.script = run(PROGRAM, "--completion")
        if self.script != run(PROGRAM, "--completion", "bash"):
            sys.exit("--completion alone is not bash's")
        self.folder = folder

    def offers(self, *words):
        call = 'source /dev/stdin; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _boltwright; '
        call += 'printf "%s\\n" "${COMPREPLY[@]}"'
        return set(run("bash", "--norc", "-c", call, "bash", "boltwright", *words,
                       input=self.script, cwd=self.folder).split("\n")) - {""}


class Fish:
    """Asks fish what it would offer."""

    def __init__(self, folder):
        self.script = os.path.join(folder, ".boltwright.fish")
        with open(self.script, "w", encoding="utf-8") as out:
            out.write(run(PROGRAM, "--completion", "fish"))
        self.folder = folder

    def offers(self, *words):
        lines = run("fish", "--no-config", "-c", "source $argv[1]; complete -C $argv[2]", "--",
                    self.script, " ".join(("boltwright",) + words), cwd=self.folder,
                    env={**os.environ, "HOME": self.folder}).splitlines()
        return {line.split("\t")[0] for line in lines}


class Zsh:
    """Types at a zsh on a pseudo-terminal and presses the tab key; compadd notes what it gets."""

    RC = """
autoload -Uz compinit; compinit -D -u; PROMPT=
source .boltwright.zsh
compadd() {
    local -a hits; builtin compadd -O hits "$@"; print -rl -- $hits >>.offered
    builtin compadd "$@"
}
zstyle ':completion:*' list-packed no
LISTMAX=100000
zle-line-init() { : >.ready }
zle -N zle-line-init
"""

    def __init__(self, folder):
        self.folder = folder
        for name, text in ((".zshrc", self.RC),
                           (".boltwright.zsh", run(PROGRAM, "--completion", "zsh"))):
            with open(os.path.join(folder, name), "w", encoding="utf-8") as out:
                out.write(text)
        self.hand, theirs = os.openpty()
        self.shell = subprocess.Popen(
            ["zsh", "-d", "-i"], stdin=theirs, stdout=theirs, stderr=theirs, cwd=folder,
            start_new_session=True, env={"PATH": os.environ["PATH"], "HOME": folder,
                                         "ZDOTDIR": folder, "TERM": "dumb", "LANG": "C.UTF-8"})
        os.close(theirs)
        self.wait()

    def wait(self):
        """Until the shell reads keys; what it writes on its screen is thrown away."""
        path = os.path.join(self.folder, ".ready")
        end = time.monotonic() + PATIENCE_S
        while not os.path.exists(path):
            if time.monotonic() > end:
                sys.exit("zsh does not answer")
            if select.select([self.hand], [], [], 0.01)[0]:
                os.read(self.hand, 65536)
        os.remove(path)

    def offers(self, *words):
        path = os.path.join(self.folder, ".offered")
        with open(path, "w", encoding="utf-8"):
            pass
        line = " ".join(("boltwright",) + words)
        os.write(self.hand, line.encode() + b"\t\x15\n")
        self.wait()
        with open(path, encoding="utf-8") as offered:
            return {hit.strip().rstrip("=") for hit in offered} - {""}

    def close(self):
        os.close(self.hand)
        self.shell.wait(PATIENCE_S)


def faults(shell, helps):
    """What one shell offers beside what the help lists."""
    failed = []

    def compare(what, offered, listed):
        if offered != listed:
            failed.append("%s: lacks %s, has %s" % (what, listed - offered, offered - listed))

    tops = shell.offers("") | shell.offers("-")
    compare("commands", tops, set(helps) | {"--help", "--version"})
    compare("she", shell.offers("she"), {"sheet"})
    for command, options in helps.items():
        offered = shell.offers(command, "-") | shell.offers(command, "--")
        compare(command, offered, options)
    words = {"add", "list", "show", "calibrate", "check", "retire"}
    compare("tool", shell.offers("tool", "") & words, words)
    compare("a file", shell.offers("sheet", "x", "-o", "he"), {"heron.pdf"})
    return failed


def options_of(text):
    """Of a help: each option with its value's name and what is said of it, lines put together."""
    options = []
    for line in text.splitlines():
        option = re.match(r"  (--?[\w-]+)(?: (\S+))?(?: {2,}(\S.*))?$", line)
        if option:
            options.append([part or "" for part in option.groups()])
        elif options and re.match(r" {25}\S", line):
            options[-1][2] = (options[-1][2] + " " + line.strip()).strip()
        elif options and line == "":
            break
    return options


def man_of(command, text):
    """What the man page has of a command: the same options in the same words."""
    def roff(words):
        return words.replace("\\", "\\e").replace("-", "\\-")
    says = re.search(r"\n(\S.*)\n", text).group(1)
    lines = [".SS " + command, roff(says)]
    for name, value, what in options_of(text):
        if name not in ("--home", "--json", "--help"):
            lines += [".TP", ".BI %s \" %s\"" % (roff(name), roff(value)) if value else ".B " + roff(name),
                      roff(what)]
    return "\n".join(lines) + "\n"


def man_faults(texts):
    with open(os.path.join(ROOT, "docs", "boltwright.1"), encoding="utf-8") as page:
        man = page.read()
    failed = ["the man page lacks boltwright %s" % c for c in texts
              if "boltwright %s" % c not in man.replace("\\-", "-")]
    for command, text in texts.items():
        if man_of(command, text) not in man:
            failed.append("the man page and %s --help differ; as it should be: completion.py --man" % command)
    return failed


def help_faults(texts):
    """Within a small terminal's width; each option, with two letters swapped, is guessed."""
    failed = []
    for command, text in texts.items():
        failed += ["%s --help is too wide: %s" % (command, line) for line in text.splitlines() if len(line) > 79]
        for name, _, _ in options_of(text):
            wrong = name[:-2] + name[-1] + name[-2]
            if len(name) < 5 or wrong == name:
                continue
            done = subprocess.run([PROGRAM, command, wrong], capture_output=True, text=True, check=False)
            if done.returncode != 2 or done.stderr != "boltwright: %s knows no option %s; did you mean %s?\n" % (
                    command, wrong, name):
                failed.append("%s %s: %s" % (command, wrong, done.stderr))
    return failed


def main():
    commands = re.findall(r"^  (\w+) +\S", run(PROGRAM, "--help"), re.M)
    texts = {c: run(PROGRAM, c, "--help") for c in commands}
    if sys.argv[1:] == ["--man"]:
        print("".join(man_of(c, text) for c, text in texts.items()), end="")
        return 0
    helps = {c: {name for name, _, _ in options_of(text)} for c, text in texts.items()}
    failed = man_faults(texts) + help_faults(texts)
    if len(commands) < 12 or min(len(options) for options in helps.values()) < 3:
        failed.append("the help lists too little")
    if subprocess.run([PROGRAM, "--completion", "tcsh"], capture_output=True).returncode != 2:
        failed.append("a shell that is not known is no mistake")
    for name, kind in (("bash", Bash), ("zsh", Zsh), ("fish", Fish)):
        if shutil.which(name) is None:
            print("skipped: no %s here; .ci/setup test installs it" % name)
            continue
        with tempfile.TemporaryDirectory() as folder:
            open(os.path.join(folder, "heron.pdf"), "w").close()
            shell = kind(folder)
            failed += ["%s: %s" % (name, fault) for fault in faults(shell, helps)]
            if hasattr(shell, "close"):
                shell.close()
    print("\n".join(failed + [""]) + "%d commands, %d faults" % (len(commands), len(failed)))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
