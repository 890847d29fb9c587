#!/usr/bin/python3
"""What no file may hold: calls and types that the yard does without, words, strange places."""
import re
from pathlib import Path

import yard
from yard import Finding

TOP_LEVEL = set("README.md DEVELOPERS.md LICENSE CMakeLists.txt CMakePresets.json "
                "src plugins sequences tests hardware docs build".split())

CALL = r"(?<![\w.>])(?:{})\s*\("

# Pattern, what is wrong with it, what would be right; in C without comments and strings.
IN_C = (
    (r"\bfloat\b", "float", "double"),
    (CALL.format("alloca"), "alloca", "an array of fixed size, or the arena"),
    (CALL.format("strcpy|strcat|stpcpy|strncat"), "copying without a bound", "snprintf or memcpy"),
    (CALL.format("v?sprintf"), "sprintf", "snprintf"),
    (CALL.format("gets|f?scanf"), "reading without a bound", "fgets, and base/decimal.h"),
    (CALL.format("ato[fil]|atoll"), "a number read without a check", "base/decimal.h"),
    (CALL.format("setlocale|uselocale|newlocale"), "a locale", "none: the C locale everywhere"),
)
# Shipped code only; base/decimal.c is the one that others read numbers by.
IN_SHIPPED_C = ((CALL.format("strto[dfl]|strtold"), "a number in the locale's writing",
                 "base/decimal.h"),)
NUMBER_READER = Path("src/base/decimal.c")

# In every text file.  A class of one letter keeps a pattern from finding itself.
IN_TEXT = (
    (r"\b(?:TOD[O]|FIXM[E]|XX[X])\b", "a note to oneself", "do it, or open an issue"),
    (r"(?<![\w.~*-])/(?:home|root|Users|work|mnt|srv)/", "a path of one machine",
     "a path from the project's folder, or ~"),
    (r"\.\./shar[e]d", "a place outside the project", "what the reader needs, in here"),
    (r"(?i)\btran[s]cripts?\b|\bsee[d] documents?\b", "a word that belongs to no file here",
     "the thing's own name (glossary in docs/)"),
    (r"://(?:registry|deb|pypi|proxy|crates|index)\.", "a package registry's address",
     "the package's name"),
    (r"cppcheck-suppres[s]\b(?![^\n]*;\s*\w)", "a suppression without a reason",
     "cppcheck-suppress NAME ; reason"),
    (r"NOLIN[T](?:NEXTLINE|BEGIN)?\b(?!\([\w.,-]+\):\s*\w)", "a suppression without a reason",
     "NOLINT(NAME): reason"),
)


def search(path, text, patterns):
    for line, content in yard.numbered(text):
        for pattern, wrong, right in patterns:
            match = re.search(pattern, content)
            if match:
                yield Finding(path, line, f"{wrong} ({match[0].strip(' (')})", right)


def check_top_level(root):
    for name in sorted(entry.name for entry in Path(root).iterdir()):
        if name not in TOP_LEVEL and not name.startswith("."):
            yield Finding(name, 0, "has no place at the top",
                          "one of " + ", ".join(sorted(TOP_LEVEL)))


def check(root):
    yield from check_top_level(root)
    for path in yard.files(root):
        try:
            text = yard.read(root, path)
        except UnicodeDecodeError:
            continue  # no text
        yield from search(path, text, IN_TEXT)
        if path.suffix in (".c", ".h"):
            bare = yard.code(text)
            yield from search(path, bare, IN_C)
            if path.parts[0] in ("src", "plugins") and path != NUMBER_READER:
                yield from search(path, bare, IN_SHIPPED_C)


if __name__ == "__main__":
    yard.main(check)
