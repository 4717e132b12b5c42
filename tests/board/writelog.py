# SPDX-License-Identifier: MIT
"""The emulator's log of what a disk was told to write, and the disk as it was at any moment of it.

The log has the form of the kernel's dm-log-writes [linux drivers/md/dm-log-writes.c, and
Documentation/admin-guide/device-mapper/log-writes.rst; QEMU's filter blklogwrites writes it]: a
superblock (magic, version, number of entries: u64; bytes of a sector: u32; all little-endian) in the
first sector; then entry after entry, each in a sector of its own (sector, number of sectors, flags,
length of a mark's text: u64), and after it the data, but for a discard, which has none. A mark's text
is in the entry's own sector.
"""

import enum
import struct
from typing import BinaryIO, Iterator, NamedTuple

MAGIC, VERSION = 0x6a736677736872, 1
SUPERBLOCK, ENTRY = struct.Struct("<QQQI"), struct.Struct("<QQQQ")


class Flag(enum.IntFlag):
    FLUSH = 1
    FUA = 2
    DISCARD = 4
    MARK = 8


class Entry(NamedTuple):
    offset: int  # bytes, on the disk
    length: int  # bytes
    flags: Flag
    data: bytes  # of a discard: none

    @property
    def flushes(self) -> bool:
        return Flag.FLUSH in self.flags


class Broken(Exception):
    """It is no such log."""


def _superblock(log: BinaryIO) -> tuple[int, int]:
    log.seek(0)
    block = log.read(SUPERBLOCK.size)
    if len(block) < SUPERBLOCK.size:
        raise Broken("it has no superblock")
    magic, version, entries, sector = SUPERBLOCK.unpack(block)
    if magic != MAGIC or version != VERSION:
        raise Broken(f"magic {magic:#x}, version {version}")
    return entries, sector


def count(log: BinaryIO) -> int:
    """How many entries it has now, while the emulator goes on. The number is written at each flush, before
    the flush is answered; so what was flushed is among them."""
    return _superblock(log)[0]


def entries(log: BinaryIO) -> Iterator[Entry]:
    number, sector = _superblock(log)
    log.seek(sector)
    for _ in range(number):
        head = log.read(sector)
        if len(head) < sector:
            raise Broken("it is shorter than its superblock says")
        where, sectors, flags, _ = ENTRY.unpack_from(head)
        flags, length = Flag(flags), sectors * sector
        data = b"" if Flag.DISCARD in flags else log.read(length)
        if Flag.DISCARD not in flags and len(data) < length:
            raise Broken("its last entry is not whole")
        yield Entry(where * sector, length, flags, data)


def written(some: list[Entry]) -> int:
    """Bytes that these entries wrote to the device."""
    return sum(len(entry.data) for entry in some)


class Disk:
    """A disk that is told again what it was told. What is discarded reads as zeros, as the emulator's
    does."""

    def __init__(self, before: bytes):
        self.content = bytearray(before)

    def write(self, entry: Entry) -> None:
        data = bytes(entry.length) if Flag.DISCARD in entry.flags else entry.data
        self.content[entry.offset:entry.offset + entry.length] = data


def flushed_states(before: bytes, log: BinaryIO) -> Iterator[tuple[int, bytes]]:
    """The disk at each flush, with all that was written before: what is left of it, if its cache is lost
    before anything else gets there. With the number of entries up to the flush, it among them."""
    disk = Disk(before)
    yield 0, bytes(disk.content)
    for number, entry in enumerate(entries(log), 1):
        disk.write(entry)
        if entry.flushes:
            yield number, bytes(disk.content)
