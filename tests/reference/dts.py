# SPDX-License-Identifier: MIT
"""Reads the source text that `dtc -O dts` writes back into names and bytes, without libfdt."""

import re
import struct
import subprocess
from pathlib import Path
from typing import Iterator

NODE = re.compile(r"\t*(?:[\w]+: )*(\S+) \{")
PROPERTY = re.compile(r"\t+(?:[\w]+: )*([^\s=;{}]+)(?: = (.*))?;")
VALUE = re.compile(r'"((?:[^"\\]|\\.)*)"|<([^>]*)>|\[([^\]]*)\]|(, )')
# dtc writes a NUL as \0 and never three octal digits; a digit after it is the next character.
ESCAPE = re.compile(r"\\(x[0-9a-f]{2}|.)")
ESCAPES = {"a": 7, "b": 8, "t": 9, "n": 10, "v": 11, "f": 12, "r": 13, "0": 0}


class NotUnderstood(Exception):
    pass


class Node:
    def __init__(self, path: str, parent: "Node | None"):
        self.path, self.parent = path, parent
        self.properties: dict[str, bytes] = {}
        self.children: list[Node] = []

    @property
    def name(self) -> str:
        return self.path.rpartition("/")[2]

    def cell(self, name: str) -> int | None:
        value = self.properties.get(name, b"")
        return struct.unpack(">I", value)[0] if len(value) == 4 else None

    def strings(self, name: str) -> list[str]:
        value = self.properties.get(name, b"")
        return value[:-1].decode("latin-1").split("\0") if value.endswith(b"\0") else []

    def text(self, name: str) -> str | None:
        return next(iter(self.strings(name)), None)


def unescape(text: str) -> bytes:
    def one(match: re.Match) -> str:
        code = match[1]
        return chr(int(code[1:], 16) if code[0] == "x" else ESCAPES.get(code, ord(code[0])))
    return ESCAPE.sub(one, text).encode("latin-1") + b"\0"


def value_of(text: str) -> bytes:
    value, at = b"", 0
    while at < len(text):
        match = VALUE.match(text, at)
        if not match:
            raise NotUnderstood(f"value {text[at:at + 40]!r}")
        string, cells, octets, _ = match.groups()
        if string is not None:
            value += unescape(string)
        elif cells is not None:
            value += b"".join(struct.pack(">I", int(cell, 0)) for cell in cells.split())
        elif octets is not None:
            value += bytes.fromhex(octets)
        at = match.end()
    return value


def parse(source: str) -> list[Node]:
    """All nodes, each before its children. Every line must be one that dtc is known to write."""
    nodes: list[Node] = []
    at: Node | None = None
    for line in source.splitlines():
        if match := PROPERTY.fullmatch(line):
            if at is None:
                raise NotUnderstood(line)
            at.properties[match[1]] = value_of(match[2] or "")
        elif match := NODE.fullmatch(line):
            path = "/" if at is None else f"{at.path.rstrip('/')}/{match[1]}"
            node = Node(path, at)
            if at is not None:
                at.children.append(node)
            nodes.append(node)
            at = node
        elif line.strip() == "};":
            if at is None:
                raise NotUnderstood(line)
            at = at.parent
        elif line and not line.startswith(("/dts-v1/;", "/memreserve/")):
            raise NotUnderstood(line)
    return nodes


def decompile(blob: Path) -> list[Node]:
    done = subprocess.run(["dtc", "-q", "-I", "dtb", "-O", "dts", blob], capture_output=True)
    if done.returncode != 0:
        raise NotUnderstood(f"dtc: {done.stderr.decode(errors='replace').strip()}")
    return parse(done.stdout.decode("latin-1"))


def fdtget(blob: Path, wanted: list[tuple[str, str]]) -> Iterator[bytes]:
    """The bytes of properties, as libfdt's own program prints them."""
    words = [word for pair in wanted for word in pair]
    done = subprocess.run(["fdtget", "-t", "bx", blob, *words], capture_output=True, text=True)
    if done.returncode != 0:
        raise NotUnderstood(f"fdtget: {done.stderr.strip()}")
    for line in done.stdout.splitlines():
        yield bytes(int(octet, 16) for octet in line.split())
