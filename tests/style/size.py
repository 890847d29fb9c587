#!/usr/bin/python3
"""Lengths of files and functions, in lines; tables inside a function do not count."""
import re
import statistics

import yard
from yard import Finding

FILE_REVIEW, FILE_MAX = 600, 1000
FUNCTION_MEDIAN, FUNCTION_P90, FUNCTION_MAX = 15, 50, 80
SOURCE = (".c", ".h", ".py", ".lua", ".js", ".mjs", ".css", ".html", ".sh", ".cmake")
FOLDERS = ("src", "plugins", "sequences", "tests", "hardware")
SHIPPED = ("src", "plugins", "hardware")

NAME = re.compile(r"(\w+)\s*\(")


def without_directives(text):
    """Blanks preprocessor lines, so that X-macros and braces in them are no functions."""
    return re.sub(r"^[ \t]*#(?:\\\n|[^\n])*", lambda match: "\n" * match[0].count("\n"), text,
                  flags=re.MULTILINE)


def table_lines(body):
    """Lines of brace initialisers (`= {` to its `}`) that span more than one line."""
    count = 0
    for match in re.finditer(r"=\s*(?:\([^;{}]*\)\s*)?\{", body):
        depth, end = 1, match.end()
        while depth and end < len(body):
            depth += {"{": 1, "}": -1}.get(body[end], 0)
            end += 1
        count += body.count("\n", match.start(), end)
    return count


def functions(text):
    """(name, first line, lines between the braces' lines, both counted, tables left out)."""
    text = without_directives(yard.code(text))
    depth, start, head_start = 0, None, 0
    for at, char in enumerate(text):
        if char == "{":
            if depth == 0:
                head = text[head_start:at]
                named = NAME.search(head)
                # An initialiser, a structure or an enumeration is no function.
                start = (at, named[1]) if named and "=" not in head and ")" in head else None
            depth += 1
        elif char == "}":
            depth -= 1
            if depth == 0:
                if start:
                    body = text[start[0]:at + 1]
                    yield (start[1], text.count("\n", 0, start[0]) + 1,
                           body.count("\n") + 1 - table_lines(body))
                head_start = at + 1
        elif char == ";" and depth == 0:
            head_start = at + 1


def shape(lengths):
    """Median and 90th percentile (nearest rank)."""
    ordered = sorted(lengths)
    return statistics.median(ordered), ordered[max(0, -(-len(ordered) * 9 // 10) - 1)]


def check_functions(root, lengths):
    for path in yard.c_files(root, *FOLDERS):
        for name, line, length in functions(yard.read(root, path)):
            if path.parts[0] in SHIPPED:
                lengths.append(length)
            if length > FUNCTION_MAX:
                yield Finding(path, line, f"{name} has {length} lines",
                              f"at most {FUNCTION_MAX}: split it, or make it a table")


def check_shape(lengths):
    if not lengths:
        return
    median, p90 = shape(lengths)
    print(f"{len(lengths)} functions: median {median:g} lines, 90 % within {p90}, "
          f"longest {max(lengths)}")
    if median > FUNCTION_MEDIAN or p90 > FUNCTION_P90:
        yield Finding("src", 0, f"functions have median {median:g} and 90 % within {p90} lines",
                      f"median {FUNCTION_MEDIAN}, 90 % within {FUNCTION_P90}")


def check_files(root):
    for path in yard.files(root, *SOURCE, under=FOLDERS):
        lines = yard.read(root, path).count("\n")
        if lines > FILE_MAX:
            yield Finding(path, FILE_MAX, f"has {lines} lines", f"at most {FILE_MAX}")
        elif lines > FILE_REVIEW:
            print(f"{path}: {lines} lines, to be reviewed (above {FILE_REVIEW})")


def check(root):
    lengths = []
    yield from check_files(root)
    yield from check_functions(root, lengths)
    yield from check_shape(lengths)


if __name__ == "__main__":
    yard.main(check)
