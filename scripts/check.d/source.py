# SPDX-License-Identifier: MIT
"""What rules look at: a mapping of path to text, and small readings of it. Opens nothing."""

import re
from typing import Iterator, NamedTuple

Tree = dict[str, str]


class Finding(NamedTuple):
    path: str
    line: int
    sentence: str


def lines(text: str) -> Iterator[tuple[int, str]]:
    return enumerate(text.split("\n"), 1)


def includes(text: str) -> Iterator[tuple[int, str, bool]]:
    """(line, name, is it in quotes) of each include line."""
    for number, line in lines(text):
        if match := re.match(r'\s*#\s*include\s*([<"])([^>"]+)[>"]', line):
            yield number, match[2], match[1] == '"'


def is_cpp(path: str) -> bool:
    return path.endswith((".cpp", ".hpp", ".c", ".h"))


def is_script(path: str, text: str) -> bool:
    return text.startswith("#!") or path.endswith((".py", ".sh"))


def is_code(path: str, text: str) -> bool:
    """What people here write and read as a program: C++, scripts, CMake."""
    return is_cpp(path) or is_script(path, text) or path.endswith((".cmake", "CMakeLists.txt"))
