# SPDX-License-Identifier: MIT
"""The form of a file, and nothing of one machine in it."""

import re
from typing import Iterator

from source import Finding, Tree, includes, is_code, is_cpp, lines

COLUMNS = 100
LOOSE_COLUMNS = 110  # scripts and build files, which no program lays out
# Lines; a file is one subject, and most should stay below 300.
CEILINGS = {"lib/": 400, "daemon/": 400, "scripts/": 400, "tests/": 600}


def sizes(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        for prefix, ceiling in CEILINGS.items():
            count = text.count("\n")
            if path.startswith(prefix) and is_code(path, text) and count > ceiling:
                yield Finding(path, 0, f"{count} lines; more than {ceiling} is more than one "
                              "subject: divide it")


def long_lines(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        if not is_code(path, text):
            continue
        table = False  # laid out by hand, and too wide to be read otherwise
        for number, line in lines(text):
            if match := re.search(r"// clang-format (on|off)$", line):
                table = match[1] == "off"
            limit = COLUMNS if path.endswith((".cpp", ".hpp")) else LOOSE_COLUMNS
            if len(line) > limit and not table:
                yield Finding(path, number, f"{len(line)} columns; {limit} are the limit")


def clean_text(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        if text and not text.endswith("\n"):
            yield Finding(path, text.count("\n") + 1, "the last line has no end")
        if text.endswith("\n\n"):
            yield Finding(path, text.count("\n"), "empty lines at the end")
        for number, line in lines(text):
            if line.endswith((" ", "\t", "\r")):
                yield Finding(path, number, "space at the end of the line")
            if "\t" in line and is_cpp(path):
                yield Finding(path, number, "a tab; four spaces are the step")


def licence_lines(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        alone = re.search(r"^\W* SPDX-License-Identifier: MIT$", text[:200], re.M)
        if is_code(path, text) and not alone:
            yield Finding(path, 1, "no line `SPDX-License-Identifier: MIT`, alone, at the top")


def dead_files(tree: Tree) -> Iterator[Finding]:
    included, built = set(), set()
    for path, text in tree.items():
        if is_cpp(path):
            included |= {name.split("/")[-1] for _, name, _ in includes(text)}
        elif path.endswith("CMakeLists.txt"):
            for name in re.findall(r"[\w./${}-]+\.c(?:pp)?\b", text):
                built.add(re.sub(r"\\\$\\{\w+\\}", r"\\w+", re.escape(name.split("/")[-1])))
    for path in tree:
        name = path.split("/")[-1]
        if not path.startswith(("lib/", "daemon/", "tests/")):
            continue
        if path.endswith((".hpp", ".h")) and name not in included:
            yield Finding(path, 0, "included by nobody")
        if path.endswith((".cpp", ".c")) and not any(re.fullmatch(form, name) for form in built):
            yield Finding(path, 0, "built by no CMakeLists.txt")


def test_names(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        for number, line in lines(text) if path.startswith("tests/") and is_cpp(path) else ():
            if match := re.search(r'\bTEST_CASE(?:_METHOD)?\((?:\w+, *)?"[^\w]', line):
                yield Finding(path, number, f"{match[0]}: a test's name begins with a letter or a "
                              "digit; ctest gives it to the program as an argument")


# Phrases that a reader stumbles over, with what is said instead.
STIFF = {r"\bbe had\b": "\"is not available\", or what cannot be done with it",
         r"\bfor want of\b": "\"because … is missing\"",
         r"\bso-?manieth\b": "a number"}


def plain_words(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        for number, line in lines(text):
            for phrase, instead in STIFF.items():
                if match := re.search(phrase, line):
                    yield Finding(path, number, f"\"{match[0]}\": say {instead}")


# A package archive or registry named in full; mirrors come from the machine's own apt sources.
ARCHIVES = (
    r"(?:\bdeb(?:-src)?\s+(?:\[[^\]]*\]\s+)?|URIs:\s*)(?:https?|ftp|mirror)\S*://\S+",
    r"(?:https?|ftp)://[^\s/]+/(?:debian|debian-security|ubuntu|raspbian)/?(?=[\s\"']|$)",
    r"(?:--(?:extra-)?index-url|--registry|GOPROXY)[=\s]+\S+://",
)


def no_machine(tree: Tree, strings: tuple[str, ...] = ()) -> Iterator[Finding]:
    """`strings` are what this machine adds: the hosts of its apt sources, the place of the tree."""
    for path, text in tree.items():
        for number, line in lines(text):
            for form in ARCHIVES:
                if re.search(form, line):
                    yield Finding(path, number, "names a package archive")
            for string in strings:
                if string in line:
                    yield Finding(path, number, f"names a part of this machine: {string}")
