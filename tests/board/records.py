# SPDX-License-Identifier: MIT
"""The logbook's file read from outside, by its published form alone: nothing of the program's is asked.

A line is {"length":N,"crc32c":"HHHHHHHH",REST}; the rest, counted from behind the second comma to the
brace at the end, both without the line's end, is N bytes long and has that CRC32C.
"""

import json
import re

_HEAD = re.compile(rb'\{"length":(\d+),"crc32c":"([0-9a-f]{8})",')
_POLYNOMIAL = 0x82f63b78  # Castagnoli's, bit-reversed [RFC 3720, 12.1 and B.4]


def _table() -> list[int]:
    table = []
    for value in range(256):
        for _ in range(8):
            value = value >> 1 ^ (_POLYNOMIAL if value & 1 else 0)
        table.append(value)
    return table


_TABLE = _table()


def crc32c(data: bytes) -> int:
    remainder = 0xffffffff
    for byte in data:
        remainder = remainder >> 8 ^ _TABLE[(remainder ^ byte) & 0xff]
    return remainder ^ 0xffffffff


def record_in(line: bytes) -> dict | None:
    """The record, where the line (without its end) is whole."""
    head = _HEAD.match(line)
    if not head:
        return None
    rest = line[head.end():]
    if len(rest) != int(head[1]) or crc32c(rest) != int(head[2], 16):
        return None
    return json.loads(line)


def records_in(content: bytes) -> tuple[list[dict], bytes]:
    """The longest run of whole lines from the start, and what comes after it."""
    found, rest = [], content
    while rest:
        line, end, behind = rest.partition(b"\n")
        record = record_in(line) if end else None
        if record is None:
            break
        found.append(record)
        rest = behind
    return found, rest


def key_of(record: dict) -> tuple[int, str, str]:
    """Which record it is."""
    return record["run"], record["boot"], record["kind"]
