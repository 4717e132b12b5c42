# SPDX-License-Identifier: MIT
"""manual_test.py BUILD NIGHTLATCH NIGHTLATCHD: the manuals say what the programs do, no more and no less.
The programs are asked (--help, check); for the rest, the table that the program is built from is read."""

import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

from pages import TOP, entries, options_in, pages, plain

BUILD, NIGHTLATCH, NIGHTLATCHD = (pathlib.Path(sys.argv.pop(1)).resolve() for _ in range(3))
PAGES = pages(BUILD)
GENERAL, FORMAT, SERVICE, CIRCUIT = (PAGES[name] for name in ("nightlatch", "nightlatch.toml", "nightlatchd",
                                                             "nightlatch-circuit"))
# Options of programs that are not ours, where a page shows one.
OTHERS = {"--unbuffered", "--what", "--mode", "--why", "--who", "--now", "--output", "--directory", "--unit",
          "--catalog", "--list"}


def told(program: pathlib.Path, *words: str) -> str:
    return subprocess.run([program, *words], text=True, capture_output=True, check=True).stdout


COMMANDS = re.findall(r"^  ([a-z][a-z-]+)  ", told(NIGHTLATCH, "--help").split("Subcommands:")[1], re.M)
HELP = {name: told(NIGHTLATCH, name, "--help") for name in COMMANDS}


def options_of(help_text: str) -> set[str]:
    """Those that the program takes: not those that its examples and cautions name, too."""
    listed = help_text.split("Examples:")[0]
    return set(re.findall(r"^  (?:-h,)?(--[a-z][a-z-]*)", listed, re.M)) - {"--help", "--version"}


def own_page(command: str):
    return PAGES.get("nightlatch-" + command, GENERAL)


def statuses(help_text: str) -> dict[str, str]:
    words = " ".join(help_text.split("Exit status:")[1].split("\n\n")[0].split())
    parts = re.split(r"(?:^|[,;] )([0-2]) ", words)
    return {number: text.split(". ")[0].strip(" .") for number, text in zip(parts[1::2], parts[2::2])}


def check(text: str) -> subprocess.CompletedProcess:
    with tempfile.NamedTemporaryFile("w", suffix=".toml") as file:
        file.write(text)
        file.flush()
        return subprocess.run([NIGHTLATCH, "check", "--json", file.name], text=True, capture_output=True)


def unknown_keys(text: str) -> set[str]:
    found = json.loads(check(text).stdout)["found"]
    unknown = [one["key"] for one in found if one["text"].startswith(("unknown key", "is unknown"))]
    return {key.rsplit(".", 1)[-1] for key in unknown}


def keys_of(roff: str) -> list[str]:
    """The tags of a section that name keys; what stands inside .RS and .RE explains a value."""
    outside = re.sub(r"^\.RS$.*?^\.RE$", "", roff, flags=re.M | re.S)
    return [key for tag, _ in entries(outside) for key in re.split(r",\s*", plain(tag))]


class Commands(unittest.TestCase):
    def test_the_general_manual_has_each_command_and_no_other(self):
        self.assertGreater(len(COMMANDS), 8)
        description = GENERAL.section("DESCRIPTION").replace("\\-", "-")
        described = re.findall(r"^\.SS nightlatch (\S+)", description, re.M)
        self.assertEqual(set(COMMANDS), set(described))
        self.assertEqual(set(COMMANDS), set(self.synopses(GENERAL)))

    def synopses(self, page) -> dict[str, set[str]]:
        """Each command's options, in all of its forms."""
        found: dict[str, set[str]] = {}
        for form in re.split(r"^\.(?:br|PP)$", page.section("SYNOPSIS"), flags=re.M):
            words = plain(form).split()
            if len(words) > 1 and not words[1].startswith("-"):
                found.setdefault(words[1], set()).update(options_in(form))
        return found

    def test_options_and_synopsis_are_those_of_the_program(self):
        for command in COMMANDS:
            with self.subTest(command):
                takes = options_of(HELP[command])
                page = own_page(command)
                self.assertEqual(takes, self.synopses(page)[command])
                if page is not GENERAL:
                    listed = options_in("".join(tag for tag, _ in entries(page.section("OPTIONS"))))
                    self.assertEqual(takes, listed - {"--help"})

    def test_the_general_manual_lists_the_options_of_the_commands_without_a_page(self):
        listed = options_in("".join(tag for tag, _ in entries(GENERAL.section("OPTIONS"))))
        listed |= options_in(GENERAL.section("OPTIONS").split(".TQ")[1])
        takes = set().union(*(options_of(HELP[name]) for name in COMMANDS if own_page(name) is GENERAL))
        self.assertEqual(takes | {"--help", "--version"}, listed)

    def test_the_service_takes_the_options_of_its_manual(self):
        takes = options_of(told(NIGHTLATCHD, "--help"))
        self.assertIn("--dry-run", takes)
        listed = options_in("".join(tag for tag, _ in entries(SERVICE.section("OPTIONS"))))
        self.assertEqual(takes, listed)
        self.assertEqual(takes, options_in(SERVICE.section("SYNOPSIS")))

    def test_no_page_names_an_option_that_nothing_takes(self):
        ours = set().union(*map(options_of, HELP.values())) | options_of(told(NIGHTLATCHD, "--help"))
        for page in PAGES.values():
            with self.subTest(page.title):
                text = re.sub(r"^\.nf$.*?^\.fi$", "", page.roff, flags=re.M | re.S)  # drawings of circuits
                self.assertEqual(set(), options_in(text) - ours - OTHERS - {"--help", "--version"})

    def test_an_example_of_a_command_has_options_of_that_command(self):
        ran = 0
        for page in PAGES.values():
            for line in page.roff.replace("\\-", "-").splitlines():
                for name, rest in re.findall(r"nightlatch ([a-z-]+)((?: [^|;&>\"]+)?)", line):
                    if name in HELP:
                        ran += 1
                        self.assertLessEqual(options_in(rest.split("--run")[0]), options_of(HELP[name]), line)
        self.assertGreater(ran, 40)


class ExitStatus(unittest.TestCase):
    def assert_same(self, help_text: str, roff: str):
        by_help = statuses(help_text)
        by_page = {plain(tag): plain(text) for tag, text in entries(roff)}
        self.assertEqual({"0", "1", "2"}, set(by_help))
        self.assertEqual(set(by_help), set(by_page))
        for number, words in by_help.items():
            self.assertIn(words.lower(), by_page[number].lower())

    def test_each_command_s_is_in_its_manual_as_its_help_has_it(self):
        for command in COMMANDS:
            with self.subTest(command):
                head = "nightlatch " + command.replace("-", "\\-")
                self.assert_same(HELP[command], own_page(command).part("EXIT STATUS", head))

    def test_the_service_s_is_in_its_manual_as_its_help_has_it(self):
        self.assert_same(told(NIGHTLATCHD, "--help"), SERVICE.section("EXIT STATUS"))


class Keys(unittest.TestCase):
    def test_each_key_of_the_manual_is_one_that_the_program_knows(self):
        asked = 0
        for header in [head for head in FORMAT.sections() if head.startswith("[") and head != "[circuit]"]:
            keys = keys_of(FORMAT.section(header))
            asked += len(keys)
            text = header + "\n" + "".join(f"{key} = []\n" for key in [*keys, "no_such_key"])
            with self.subTest(header):
                self.assertEqual({"no_such_key"}, unknown_keys(text))
        self.assertGreater(asked, 40)

    def test_each_key_of_the_circuit_s_manual_is_one_that_the_program_knows(self):
        for header in ("[circuit]", "[circuit.hold_up]"):
            keys = keys_of(CIRCUIT.section("KEYS OF " + header))
            self.assertGreater(len(keys), 10)
            text = header + "\n" + "".join(f'{key} = "1 ohm"\n' for key in [*keys, "no_such_key"])
            with self.subTest(header):
                self.assertEqual({"no_such_key"}, unknown_keys(text))

    def test_the_complete_example_is_one_that_the_program_takes_and_has_every_section(self):
        example, = re.findall(r"^\.EX\n(.*?)^\.EE$", FORMAT.section("A COMPLETE EXAMPLE"), re.M | re.S)
        example = "\n".join(plain(line) if "\\" in line else line for line in example.splitlines()) + "\n"
        done = check(example)
        found = json.loads(done.stdout)
        self.assertTrue(found["fine"], done.stdout)
        self.assertEqual([], [one for one in found["found"] if one["severity"] in ("error", "warning")])
        headers = set(re.findall(r"^(\[.*?\]+)", example, re.M))
        self.assertEqual({head for head in FORMAT.sections() if head.startswith("[")}, headers)


class Tables(unittest.TestCase):
    def test_the_service_s_manual_has_each_fixed_limit_with_its_value(self):
        code = (TOP / "lib/core/limits.hpp").read_text().split("struct Limits")[0]
        limits = {name.replace("_", " "): " ".join([value.replace("'", ""), unit]).strip()
                  for name, value, unit in
                  re.findall(r"constexpr [\w:]+ (\w+) =\s+([\d']+)(ms|s|min|h)?;", code)}
        self.assertGreater(len(limits), 25)
        self.assertEqual(len(limits), len(re.findall(r"^constexpr", code, re.M)))
        row = r"^([a-z][a-z ]+)\t([\d, ]+(?:ms|s|min|h)?)\tT\{$"
        rows = re.findall(row, SERVICE.section("FIXED LIMITS"), re.M)
        self.assertEqual(limits, {name: value.replace(",", "") for name, value in rows})
        self.assertEqual(len(rows), len(set(rows)))

    def test_every_message_is_in_the_troubleshooting_and_no_other(self):
        table = (TOP / "daemon/sys/message_ids.hpp").read_text()
        code = re.findall(r'\{ports::Message::(\w+), "([0-9a-f]{32})"\}', table)
        page = PAGES["nightlatch-troubleshooting"]
        shown = re.findall(r"^\.SS \"(.*)\"\n\.RI \( (\w+) ,\n\.BR MESSAGE_ID=([0-9a-f]+) \)$",
                           page.section("MESSAGES"), re.M)
        self.assertEqual(code, [(name, number) for _, name, number in shown])
        catalog = (BUILD / "systemd/nightlatch.catalog").read_text()
        for subject, name, number in shown:
            entry, = re.findall(rf"^-- {number}\nSubject: (.*)\nDefined-By: nightlatch\n\n((?:(?!-- ).*\n)*)",
                                catalog, re.M)
            self.assertEqual(entry[0], plain(subject))
            text = plain(page.part("MESSAGES", subject))
            words = plain(entry[1].replace("`", "").replace(" - ", " * "))
            self.assertIn(re.sub(r"[*\s]+", " ", words).strip(), re.sub(r"[*\s]+", " ", text), name)

    def test_no_page_names_a_message_that_there_is_not(self):
        known = set(re.findall(r"[0-9a-f]{32}", (TOP / "daemon/sys/message_ids.hpp").read_text()))
        named = {number for page in PAGES.values() for number in re.findall(r"\b[0-9a-f]{32}\b", page.roff)}
        self.assertEqual(known, named)

    def test_the_drawing_s_parts_are_keys_of_the_circuit(self):
        drawing = (TOP / "config/pictures/latch.svg").read_text()
        drawn = set(re.findall(r">([RCDQ]\d)(?:  [a-z +]+)?<", drawing))
        rows = re.findall(r"^([A-Z]\d)\t([a-z_]+|\\-)\t", CIRCUIT.section("THE DRAWING"), re.M)
        self.assertEqual(sorted(drawn), sorted(designator for designator, _ in rows))
        keys = {key for _, key in rows} - {"\\-"}
        self.assertEqual(len(rows) - 1, len(keys))
        self.assertEqual(set(), unknown_keys("[circuit]\n" + "".join(f'{key} = "1 ohm"\n' for key in keys)))
        for key in keys:
            self.assertIn(key, keys_of(CIRCUIT.section("KEYS OF [circuit]")))
        self.assertIn("nightlatch/latch.svg", CIRCUIT.roff)


class Form(unittest.TestCase):
    def test_every_page_is_set_without_a_warning(self):
        self.assertGreaterEqual(len(PAGES), 11)
        for page in PAGES.values():
            with self.subTest(page.title):  # as man --warnings does
                done = subprocess.run(["groff", "-t", "-man", "-Tutf8", "-ww", "-z", page.file], text=True,
                                      capture_output=True)
                self.assertEqual((0, ""), (done.returncode, done.stderr))

    def test_every_page_of_ours_that_a_page_names_is_there(self):
        titles = {page.title for page in PAGES.values()}
        for page in PAGES.values():
            text = page.roff.replace("\\-", "-").replace("\\fR", "")
            named = re.findall(r"(nightlatch[a-z.-]*) ?\((\d)\)", text)
            self.assertLessEqual({f"{name}({section})" for name, section in named}, titles, page.title)

    def test_the_general_manual_and_the_general_help_name_every_other_page(self):
        titles = {page.title for page in PAGES.values()} - {GENERAL.title}
        for text in (plain(GENERAL.section("SEE ALSO")).replace(" ", ""), told(NIGHTLATCH, "--help")):
            self.assertEqual(titles, {title for title in titles if title in text})


if __name__ == "__main__":
    unittest.main()
