# SPDX-License-Identifier: MIT
"""The independent reader of the logbook's lines, which judges the program's from outside."""

import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "board"))
from records import crc32c, record_in, records_in  # noqa: E402


def line_of(rest):
    return b'{"length":%d,"crc32c":"%08x",%s' % (len(rest), crc32c(rest), rest)


STARTED = line_of(b'"version":1,"kind":"started","run":7,"boot":"b7"}')
ENDED = line_of(b'"version":1,"kind":"ended","run":7,"boot":"b7"}')


class Sum(unittest.TestCase):
    def test_is_the_published_one(self):
        # [RFC 3720, B.4], whose digests are printed with the lowest byte first; the first one is the
        # check value of CRC-32/ISCSI in the catalogue of parametrised CRC algorithms.
        self.assertEqual(crc32c(b"123456789"), 0xe3069283)
        self.assertEqual(crc32c(bytes(32)), 0x8a9136aa)
        self.assertEqual(crc32c(b"\xff" * 32), 0x62a8ab43)
        self.assertEqual(crc32c(bytes(range(32))), 0x46dd794e)


class Reading(unittest.TestCase):
    def test_a_whole_line_is_a_record(self):
        self.assertEqual(record_in(STARTED)["kind"], "started")

    def test_a_line_with_any_byte_changed_or_missing_is_none(self):
        for place in range(len(STARTED)):
            changed = STARTED[:place] + bytes([STARTED[place] ^ 1]) + STARTED[place + 1:]
            self.assertIsNone(record_in(changed), changed)
            self.assertIsNone(record_in(STARTED[:place] + STARTED[place + 1:]), place)

    def test_the_longest_run_of_whole_lines_is_read_and_the_rest_told(self):
        whole = STARTED + b"\n" + ENDED + b"\n"
        for rest in (b"", ENDED[:20], ENDED, STARTED[:-3] + b"\n" + ENDED + b"\n", bytes(8)):
            found, left = records_in(whole + rest)
            self.assertEqual([record["kind"] for record in found], ["started", "ended"])
            self.assertEqual(left, rest)


if __name__ == "__main__":
    unittest.main()
