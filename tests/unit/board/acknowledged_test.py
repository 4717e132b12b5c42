# SPDX-License-Identifier: MIT
"""Which records a disk has to have at a flush: those that had been acknowledged, from outside, before
anything later could have brought them there."""

import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "board"))
from acknowledged import Acknowledged, required_at  # noqa: E402


class Required(unittest.TestCase):
    # The log: a write, a flush (2), two writes, a flush (5), a write, a flush (7).
    SEEN = [Acknowledged(1, "started", 2), Acknowledged(1, "ended", 6)]

    def test_a_record_is_owed_from_the_last_flush_before_its_acknowledgement_on(self):
        for following, owed in [(2, set()), (5, {(1, "started")}), (7, {(1, "started"), (1, "ended")}),
                                (None, {(1, "started"), (1, "ended")})]:
            self.assertEqual(required_at(following, self.SEEN), owed, following)


if __name__ == "__main__":
    unittest.main()
