# SPDX-License-Identifier: MIT
"""What was acknowledged, beside a disk at each of its flushes: a record that came too late is found out."""

import pathlib
import sys
import tempfile
import types
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "board"))
from acknowledged import Acknowledged, Watched, check_every_flush, required_at  # noqa: E402
from image import Failed  # noqa: E402
from records import crc32c  # noqa: E402
from writelog import ENTRY, MAGIC, SUPERBLOCK, VERSION, Flag  # noqa: E402

SECTOR = 512


def in_sector(data):
    return data.ljust(SECTOR, b"\0")


def line(run, kind):
    rest = b'"run":%d,"boot":"b%d","kind":"%s"}' % (run, run, kind.encode())
    return in_sector(b'{"length":%d,"crc32c":"%08x",%s\n' % (len(rest), crc32c(rest), rest))


def written(sector, data):
    return in_sector(ENTRY.pack(sector, 1, 0, 0)) + data


FLUSH = in_sector(ENTRY.pack(0, 0, Flag.FLUSH, 0))
# Started, and then ended, each with a flush after it; the file is the disk without its zeros.
LOG = [written(0, line(1, "started")), FLUSH, written(1, line(1, "ended")), FLUSH]


def tried(log, seen):
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "writes"
        file.write_bytes(in_sector(SUPERBLOCK.pack(MAGIC, VERSION, len(log), SECTOR)) + b"".join(log))
        watched = types.SimpleNamespace(log=file, before=bytes(2 * SECTOR), seen=seen)
        return check_every_flush(watched, lambda state: state.replace(b"\0", b""))


class Hearing(unittest.TestCase):
    def test_the_journal_s_lines_on_the_console_are_acknowledgements(self):
        watched = Watched.__new__(Watched)  # without a disk
        watched.seen, watched.entries_now = [], lambda: 9
        for text in ("[   30.1] nightlatch[120]: run 1 is the logbook's first",
                     "[   92.4] nightlatch[120]: \x1b[0;1;38:5:185mthis is run 2; run 1: …\x1b[0m",
                     "[   82.8] nightlatch[234]: \x1b[0;1;39mrun 2 ends (poweroff), 9.141 s after\x1b[0m",
                     "[   83.0] systemd[1]: Stopped nightlatch-ended.service: run 2 ends."):
            watched.hear(text)
        self.assertEqual(watched.seen, [(1, "started", 9), (2, "started", 9), (2, "ended", 9)])


class Required(unittest.TestCase):
    # The log: a write, a flush (2), two writes, a flush (5), a write, a flush (7).
    SEEN = [Acknowledged(1, "started", 2), Acknowledged(1, "ended", 6)]

    def test_a_record_is_owed_from_the_last_flush_before_its_acknowledgement_on(self):
        for following, owed in [(2, set()), (5, {(1, "started")}), (7, {(1, "started"), (1, "ended")}),
                                (None, {(1, "started"), (1, "ended")})]:
            self.assertEqual(required_at(following, self.SEEN), owed, following)


class EveryFlush(unittest.TestCase):
    def test_what_was_acknowledged_after_its_flush_is_there(self):
        self.assertEqual(tried(LOG, [Acknowledged(1, "started", 2), Acknowledged(1, "ended", 4)]), (2, 3))

    def test_what_was_acknowledged_before_its_flush_is_found_out(self):
        for mark in (2, 3):
            with self.assertRaises(Failed):
                tried(LOG, [Acknowledged(1, "started", 2), Acknowledged(1, "ended", mark)])

    def test_what_never_came_is_found_out(self):
        with self.assertRaises(Failed):
            tried(LOG[:2], [Acknowledged(1, "ended", 2)])

    def test_what_was_lost_again_is_found_out(self):
        with self.assertRaises(Failed):
            tried([*LOG, written(0, bytes(SECTOR)), FLUSH], [Acknowledged(1, "started", 2)])


if __name__ == "__main__":
    unittest.main()
