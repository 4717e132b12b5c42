# SPDX-License-Identifier: MIT
"""Text from elsewhere reaches people through lib/base/text only, as far as that can be seen."""

import re
from typing import Iterator

from purity import code_only, matches
from source import Finding, Tree, is_cpp, lines

HOME = "lib/base/text."
PARTS = ("lib/", "daemon/")
ONCE = ("safe", "is_safe", "safe_lines", "in_quotes", "quoted", "printable", "one_line", "trimmed",
        "all_digits", "is_digit", "number_in", "counted")
# A definition begins at the left edge, with its type.
SECOND = re.compile(rf"[A-Za-z][\w:<>,&* ]*[\s&*](?:{'|'.join(ONCE)})\(")

# These quote for a format of their own, and make safe what they quote.
OWN_QUOTES = ("lib/base/text.cpp", "lib/config/to_toml.cpp", "lib/audit/remedy.cpp", "lib/picture/")
RAW_QUOTES = re.compile(r'\\""\s*\+|\+\s*"\\"')


def second_homes(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        if not path.startswith(PARTS) or path.startswith(HOME) or not is_cpp(path):
            continue
        for number, line in lines(code_only(text)):
            if match := SECOND.match(line):
                yield Finding(path, number, f"{match[0]}: lib/base/text.hpp has it, once for all")


def raw_quotes(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        if not path.startswith(PARTS) or path.startswith(OWN_QUOTES) or not is_cpp(path):
            continue
        for match in RAW_QUOTES.finditer(text):
            yield Finding(path, text.count("\n", 0, match.start()) + 1,
                          "quotation marks around a name are in_quotes() of base/text.hpp: it "
                          "makes the name safe")


MAY_PRINT = tuple(f"daemon/tool/{name}.cpp" for name in ("terminal", "main", "cli", "output"))
TO_STDERR = {r"\bf?printf\(\s*stderr\b": "complain() and tell() of daemon/tool/terminal.hpp make it safe"}


def who_prints(tree: Tree) -> Iterator[Finding]:
    for finding in matches(tree, ("daemon/tool/",), TO_STDERR):
        if not finding.path.startswith(MAY_PRINT):
            yield finding
