# SPDX-License-Identifier: MIT
"""The reader of the emulator's log of writes, against logs made by hand from the kernel's description of
the form [linux Documentation/admin-guide/device-mapper/log-writes.rst; drivers/md/dm-log-writes.c]."""

import io
import pathlib
import struct
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "board"))
from writelog import Broken, Flag, count, entries, flushed_states, written  # noqa: E402

SECTOR = 512
MAGIC = b"rhswfsj\0"  # WRITE_LOG_MAGIC of dm-log-writes.c, little-endian
FLUSH, FUA, DISCARD, MARK = 1, 2, 4, 8


def in_sector(data):
    return data.ljust(SECTOR, b"\0")


def superblock(number, magic=MAGIC, version=1):
    return in_sector(magic + struct.pack("<QQI", version, number, SECTOR))


def entry(sector, data, flags=0):
    return in_sector(struct.pack("<QQQQ", sector, len(data) // SECTOR, flags, 0)) + data


def discard(sector, sectors):
    return in_sector(struct.pack("<QQQQ", sector, sectors, DISCARD, 0))


def mark(text):
    return in_sector(struct.pack("<QQQQ", 0, 0, MARK, len(text)) + text)


FLUSHED = entry(0, b"", FLUSH)


def log_of(*parts, number=None):
    return io.BytesIO(superblock(len(parts) if number is None else number) + b"".join(parts))


def filled(letters):
    return b"".join(bytes([letter]) * SECTOR for letter in letters)


class Reading(unittest.TestCase):
    def test_entries_have_their_place_flags_and_data(self):
        log = log_of(entry(3, filled(b"ab")), FLUSHED, entry(1, filled(b"c"), FUA), discard(4, 2))
        self.assertEqual(list(entries(log)),
                         [(3 * SECTOR, 2 * SECTOR, Flag(0), filled(b"ab")),
                          (0, 0, Flag.FLUSH, b""),
                          (SECTOR, SECTOR, Flag.FUA, filled(b"c")),
                          (4 * SECTOR, 2 * SECTOR, Flag.DISCARD, b"")])

    def test_a_mark_has_its_text_in_its_own_sector(self):
        log = log_of(mark(b"acknowledged"), entry(1, filled(b"c")))
        self.assertEqual([one.flags for one in entries(log)], [Flag.MARK, Flag(0)])

    def test_what_the_superblock_does_not_count_is_not_there_yet(self):
        log = log_of(entry(3, filled(b"a")), FLUSHED, entry(5, filled(b"b")), number=2)
        self.assertEqual(count(log), 2)
        self.assertEqual(len(list(entries(log))), 2)

    def test_bytes_written_are_those_of_writes(self):
        log = log_of(entry(3, filled(b"ab")), FLUSHED, discard(4, 2))
        self.assertEqual(written(list(entries(log))), 2 * SECTOR)

    def test_what_is_no_log_is_told(self):
        for content in (b"", filled(b"\0"), superblock(0, version=2), superblock(0, MAGIC[::-1]),
                        superblock(1), superblock(1) + entry(0, filled(b"ab"))[:-1]):
            with self.assertRaises(Broken):
                list(entries(io.BytesIO(content)))


class Replaying(unittest.TestCase):
    def test_each_flush_has_what_was_written_before_and_nothing_that_came_after(self):
        log = log_of(entry(1, filled(b"a")), FLUSHED, entry(2, filled(b"b")), entry(1, filled(b"c")),
                     FLUSHED, entry(0, filled(b"d")))
        self.assertEqual(list(flushed_states(filled(b"....."), log)),
                         [(0, filled(b".....")), (2, filled(b".a...")), (5, filled(b".cb.."))])

    def test_what_is_discarded_is_zeros(self):
        log = log_of(discard(1, 2), FLUSHED)
        self.assertEqual(list(flushed_states(filled(b"...."), log))[-1], (2, filled(b".\0\0.")))


if __name__ == "__main__":
    unittest.main()
