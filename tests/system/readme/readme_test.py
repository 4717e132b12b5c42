# SPDX-License-Identifier: MIT
"""readme_test.py BUILD NIGHTLATCH: what the README tells a person to type exists as it is printed:
each command, its options, the units, manuals, files and pictures that it names; what needs no board and
no root is run."""

import functools
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

from drawing import Drawing

TOP = pathlib.Path(__file__).resolve().parents[3]
README = (TOP / "README.md").read_text()
BUILD, NIGHTLATCH = (pathlib.Path(argument).resolve() for argument in (sys.argv.pop(1), sys.argv.pop(1)))

# Programs of the system's or of apt's, which are not ours to check.
OTHERS = {"apt", "cat", "cmake", "install", "systemctl", "systemd-sysusers", "systemd-tmpfiles", "udevadm",
          "journalctl", "sudoedit"}
# What these do is there only on a board, for root, or with a service.
NOT_RUN = {"lines", "bounce", "audit", "follow", "status", "call-off", "logbook"}

# A page of a phone, and the least height of a letter that is read on it, in its points.
PHONE = 390
LEAST_LETTER = 7.5


def blocks(kind: str) -> list[str]:
    return re.findall(rf"^```{kind}\n(.*?)^```$", README, re.S | re.M)


def commands() -> list[list[str]]:
    """Of the blocks of a shell: the words of each command, without sudo, comments and what joins them."""
    found = []
    for line in "".join(blocks("sh")).splitlines():
        for part in re.split(r"&&|;", re.sub(r"(^|\s)#.*", "", line)):
            words = [word for word in part.split() if not word.endswith("/dev/null")]
            words = words[1:] if words[:1] == ["sudo"] else words
            if words:
                found.append(words)
    return found


@functools.cache
def help_of(*words: str) -> str:
    told = subprocess.run([*words, "--help"], text=True, capture_output=True, check=True, cwd=TOP)
    return told.stdout


def options_in(words: list[str]) -> list[str]:
    return [word.split("=")[0] for word in words if re.fullmatch(r"--[a-z][a-z-]*(=.*)?", word)]


class Readme(unittest.TestCase):
    def assert_options(self, words: list[str], text: str) -> None:
        for option in options_in(words):
            if option != "--run" or "--run" in text:
                self.assertRegex(text, rf"(?<![\w-]){option}(?![\w-])", " ".join(words))

    def test_each_command_of_a_block_is_there_with_its_options(self):
        names = re.findall(r"^  ([a-z][a-z-]+)  ", help_of(str(NIGHTLATCH)), re.M)
        self.assertIn("logbook", names)
        self.assertGreater(len(commands()), 20)
        for words in commands():
            program = words[0]
            if program == "nightlatch":
                self.assertIn(words[1], names)
                self.assert_options(words, help_of(str(NIGHTLATCH), words[1]))
            elif program == "nightlatchd":
                self.assert_options(words, help_of(str(BUILD / "daemon/service/nightlatchd")))
            elif program.startswith("scripts/"):
                self.assertTrue(os.access(TOP / program, os.X_OK), program)
            elif not program.startswith("./"):
                self.assertIn(program, OTHERS)

    def test_each_command_in_a_sentence_is_there_with_its_options(self):
        spans = re.findall(r"`((?:sudo )?(?:nightlatch|nightlatchd|scripts/[a-z-]+)(?: [^`]*)?)`", README)
        self.assertGreater(len(spans), 20)
        for span in spans:
            words = span.removeprefix("sudo ").split()
            if words[0] == "nightlatch" and len(words) > 1:
                self.assert_options(words, help_of(str(NIGHTLATCH), words[1]))
            elif words[0].startswith("scripts/"):
                self.assertTrue(os.access(TOP / words[0], os.X_OK), span)
                if options_in(words):
                    self.assert_options(words, help_of(str(TOP / words[0])))

    def test_what_needs_no_board_runs_as_printed(self):
        shown = re.findall(r"^\$ (nightlatch .*)$", README, re.M)
        typed = [words for words in commands() if words[0] == "nightlatch" and len(words) > 2]
        printed = [" ".join(words) for words in typed] + shown
        ran = 0
        with tempfile.TemporaryDirectory() as folder:
            shutil.copytree(TOP / "config", pathlib.Path(folder, "config"))
            for command in printed:
                name, *words = command.split()[1:]
                if name in NOT_RUN:
                    continue
                done = subprocess.run([NIGHTLATCH, name, *words], cwd=folder, text=True, capture_output=True)
                self.assertEqual(done.returncode, 0, command + "\n" + done.stderr)
                ran += 1
        self.assertGreaterEqual(ran, 2)

    def test_each_configuration_is_one_that_the_service_takes(self):
        self.assertTrue(blocks("toml"))
        for text in blocks("toml"):
            with tempfile.NamedTemporaryFile("w", suffix=".toml") as file:
                file.write(text)
                file.flush()
                done = subprocess.run([NIGHTLATCH, "check", file.name], text=True, capture_output=True)
                self.assertIn(done.returncode, (0, 1), done.stdout + done.stderr)
                self.assertNotIn(": error:", done.stdout, text)

    def test_units_manuals_files_and_pictures_are_there_and_each_guide_is_named(self):
        units = {path.name for path in (BUILD / "systemd").glob("nightlatch*")}
        for unit in re.findall(r"nightlatch[a-z-]*\.(?:service|path|timer)", README):
            self.assertTrue(unit in units or (TOP / "systemd/examples" / unit).exists(), unit)
        for words in commands():
            if words[:3] == ["systemctl", "enable", "--now"]:
                for unit in words[3:]:
                    self.assertIn(unit + ".service", units)
        for name, section in re.findall(r"\b(nightlatch[a-z.-]*)\((\d)\)", README):
            page = f"{name}.{section}"
            self.assertTrue([*(TOP / "daemon").rglob(page), *(TOP / "daemon").rglob(page + ".in")], page)
        for page in (*(TOP / "daemon").rglob("*.7"), *(TOP / "daemon").rglob("*.7.in")):
            self.assertIn(page.name.removesuffix(".in").removesuffix(".7") + "(7)", README)
        for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", README):
            self.assertTrue((TOP / target).exists(), target)
        headings = {re.sub(r"[^a-z0-9 -]", "", line.lower()).strip().replace(" ", "-")
                    for line in re.findall(r"^#+ (.*)$", README, re.M)}
        for anchor in re.findall(r"\]\(#([^)]*)\)", README):
            self.assertIn(anchor, headings)

    def test_the_picture_of_a_hold_is_what_the_tool_draws(self):
        with tempfile.TemporaryDirectory() as folder:
            file = pathlib.Path(folder, "hold.svg")
            hold = "config/examples/one-hold"
            subprocess.run([NIGHTLATCH, "rehearse", "--config", hold + ".toml", "--narrow", "--svg", file,
                            hold + ".presses.toml"], cwd=TOP, check=True, stdout=subprocess.DEVNULL)
            self.assertEqual(file.read_text(), (TOP / "config/pictures/hold.svg").read_text())

    def test_the_letters_of_each_picture_can_be_read_on_a_phone(self):
        pictures = re.findall(r"\]\(([^)]+\.svg)\)", README)
        self.assertEqual(2, len(pictures))
        for picture in pictures:
            drawing = Drawing((TOP / picture).read_text())
            self.assertGreater(len(drawing.texts), 20)
            smallest = min(drawing.texts, key=lambda text: text.size)
            height = smallest.size * PHONE / drawing.width
            self.assertGreaterEqual(height, LEAST_LETTER, f"{picture}: {smallest}")

    def test_no_text_of_a_picture_meets_another_or_leaves_the_picture(self):
        for picture in re.findall(r"\]\(([^)]+\.svg)\)", README):
            drawing = Drawing((TOP / picture).read_text())
            page = (0, 0, drawing.width, drawing.height)
            for i, text in enumerate(drawing.texts):
                inside = text.box.left >= 0 and text.box.right <= page[2] and text.box.bottom <= page[3]
                self.assertTrue(inside, f"{picture}: {text}")
                for other in drawing.texts[:i]:
                    self.assertFalse(text.box.meets(other.box), f"{picture}: {text} and {other}")

    def test_no_wire_of_the_latch_crosses_a_text(self):
        drawing = Drawing((TOP / "config/pictures/latch.svg").read_text())
        self.assertGreater(len(drawing.strokes), 80)
        for text in drawing.texts:
            crossing = [stroke for stroke in drawing.strokes if text.box.meets(stroke)]
            self.assertEqual([], crossing, text.words)

    def test_the_drawing_of_the_latch_has_the_parts_that_the_circuit_is_computed_from(self):
        drawing = (TOP / "config/pictures/latch.svg").read_text()
        names = set(re.findall(r">((?:[A-Z]{1,2})\d[AB]?)(?:  [a-z +]+)?<", drawing))
        parts = "F1 Q1 Q2 Q3 R1 R2 R3 R4 R5 R6 R7 C1 D1 J1 SW1A SW1B TP1 TP2 TP3 TP4 TP5"
        self.assertEqual(set(parts.split()), names)
        for part in ("R1", "C1", "TP5"):
            self.assertIn(part, drawing[drawing.index("<desc"):drawing.index("</desc>")])


if __name__ == "__main__":
    unittest.main()
