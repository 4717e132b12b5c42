# SPDX-License-Identifier: MIT
"""threats_test.py BUILD: each sentence of the README's Threats has its row in DEVELOPERS.md, word for word,
and each test and scenario of the board that a row names exists."""

import pathlib
import re
import sys
import unittest

TOP = pathlib.Path(__file__).resolve().parents[3]
BUILD = pathlib.Path(sys.argv.pop(1))


def section(file: str, heading: str) -> str:
    text = (TOP / file).read_text()
    return re.search(rf"^##+ {heading}\n(.*?)^##", text, re.M | re.S)[1]


def sentences() -> list[str]:
    items = re.findall(r"^- (.*(?:\n  .*)*)", section("README.md", "Threats"), re.M)
    return [" ".join(item.split()) for item in items]


def rows() -> list[tuple[str, str]]:
    lines = section("DEVELOPERS.md", "Threats and their tests").splitlines()
    return [tuple(cell.strip() for cell in line.strip("|").split(" | "))
            for line in lines if line.startswith("| ") and not line.startswith("| sentence")]


def known_tests() -> set[str]:
    """Those of this build, and the cases of every test program, built or not."""
    names = set()
    for file in BUILD.rglob("CTestTestfile.cmake"):
        names.update(re.findall(r'add_test\((?:\[=\[|")?(.+?)(?:\]=\]|")? "', file.read_text()))
    for file in (TOP / "tests").rglob("*_test.cpp"):
        for case in re.findall(r'TEST_CASE\(((?:\s*"(?:[^"\\]|\\.)*")+)', file.read_text()):
            names.add("".join(re.findall(r'"((?:[^"\\]|\\.)*)"', case)))
    return names


def known_scenarios() -> set[str]:
    return {name for file in (TOP / "tests/board/scenarios").glob("*.py")
            for name in re.findall(r"^def (\w+)\(run", file.read_text(), re.M)}


def missing(cell: str, tests: set[str], scenarios: set[str]) -> list[str]:
    named = re.findall(r"(board )?`([^`]+)`", cell)
    assert named, f"no test is named: {cell}"
    return [name for on_board, name in named if name not in (scenarios if on_board else tests)]


class Threats(unittest.TestCase):
    def test_each_sentence_has_its_row_and_each_row_its_sentence(self):
        self.assertGreaterEqual(len(sentences()), 10)
        self.assertEqual([row[0] for row in rows()], sentences())

    def test_each_test_that_is_named_exists(self):
        tests, scenarios = known_tests(), known_scenarios()
        for sentence, cell in rows():
            self.assertEqual(missing(cell, tests, scenarios), [], sentence)

    def test_one_that_does_not_exist_would_be_seen(self):
        tests, scenarios = known_tests(), known_scenarios()
        self.assertEqual(missing("`units: reach`, board `held_and_released`", tests, scenarios), [])
        self.assertEqual(missing("`units: tide`, board `tide`", tests, scenarios), ["units: tide", "tide"])
        self.assertEqual(missing("board `units: reach`", tests, scenarios), ["units: reach"])


if __name__ == "__main__":
    unittest.main()
