# SPDX-License-Identifier: MIT
"""How the virtual board's attempts at a scenario are judged, one and all together."""

import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "board"))
from image import Failed  # noqa: E402
from scenario import NotJudged, Outcome, judge, together  # noqa: E402

P, F, I, U = Outcome.PASSED, Outcome.FAILED, Outcome.INCONCLUSIVE, Outcome.UNSTABLE


class Together(unittest.TestCase):
    def test_what_attempts_say(self):
        for outcomes, expected in [
            ([], None),
            ([P], P),
            ([I], None),
            ([I, P], P),
            ([I, I, I, I], I),
            ([F], None),
            ([F, F], F),
            ([F, P], None),
            ([F, P, F], F),
            ([F, P, P], U),
            ([I, F, P, P], U),
            ([F, I, I, P], F),
            ([F, I, I, I], F),
        ]:
            self.assertEqual(together(outcomes), expected, outcomes)


class One(unittest.TestCase):
    def test_a_margin_of_a_few_jitters_says_nothing_either_way(self):
        for error in (None, Failed("off too early")):
            self.assertEqual(judge(error, [(0.020, "let go")], 0.005)[0], I)

    def test_a_wide_margin_lets_the_outcome_stand(self):
        self.assertEqual(judge(None, [(0.800, "let go")], 0.005)[0], P)
        self.assertEqual(judge(Failed("off too early"), [(0.800, "let go")], 0.005)[0], F)

    def test_a_margin_without_a_measured_jitter_is_a_failure(self):
        self.assertEqual(judge(None, [(0.800, "let go")], None)[0], F)

    def test_a_machine_too_slow_is_no_failure(self):
        self.assertEqual(judge(NotJudged("no time"), [], None)[0], I)


if __name__ == "__main__":
    unittest.main()
