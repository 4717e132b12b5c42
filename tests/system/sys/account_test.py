# SPDX-License-Identifier: MIT
"""The account's name is the build's variable NIGHTLATCH_ACCOUNT: with another one every installed file
that names the account names that, and no text of ours says the usual name as if it were fixed."""

import pathlib
import re
import subprocess
import tempfile
import unittest

TOP = pathlib.Path(__file__).resolve().parents[3]
USUAL, OTHER = "nightlatch", "_pontoon"

# Each place where an installed file names the account, and how often.
PLACES = {
    "lib/systemd/system/nightlatch.service": ([r"^User=(.+)$", 1], [r"^Group=(.+)$", 1]),
    "lib/sysusers.d/nightlatch.conf": ([r"^u (\S+) ", 1], [r"^m (\S+) gpio$", 1]),
    "lib/udev/rules.d/40-nightlatch.rules": ([r"chgrp (\S+) ", 1],),
    "lib/systemd/catalog/nightlatch.catalog": ([r"the user (\S+) power", 1], [r"the group\s+(\S+)\?", 1]),
    "share/polkit-1/rules.d/50-nightlatch.rules": ([r'subject\.user == "(.+?)"', 1],),
    "share/nightlatch/nightlatch-override.rules": ([r'subject\.user == "(.+?)"', 1],),
    "share/polkit-1/actions/org.nightlatch.Nightlatch1.policy": ([r">unix-user:(.+?)<", 1],),
    "share/dbus-1/system.d/org.nightlatch.Nightlatch1.conf": ([r'user="((?!root).+?)"', 1],),
}
# How a text says an account's name: after one of these words, or as all of a string in a rule.
NAMED = re.compile(rf"""(?:\b(?:users?|groups?|accounts?)\s(?:is\s|named\s)?|User=|Group=|chgrp\s|chown\s|
                        unix-user:|\b(?:user|group)="|subject\.user\s==\s"|^[um]\s)
                        [`'"]?(?:\\fB|\\fI)?{USUAL}\b(?![-./])""", re.M | re.X)
# Where the bare name as a whole string is something else: a line's consumer, the program.
BARE = {"daemon/gpio/gpiod.hpp", "daemon/tool/cli.cpp", "daemon/tool/logbook/json.cpp",
        "daemon/tool/logbook/write.cpp",
        "lib/audit/button_line.cpp", "lib/audit/cues.cpp", "lib/logbook/record_text.cpp"}
SHOULD_BE_SEEN = [
    "User=nightlatch", "Group=nightlatch\n", "then chgrp nightlatch $$file", 'user="nightlatch"',
    'subject.user == "nightlatch"', "unix-user:nightlatch", "m nightlatch gpio", "the user nightlatch may",
    'no account nightlatch", so', "the group\nnightlatch?", "the group \"\n    \"nightlatch; say",
    "the account is nightlatch", "as user `nightlatch`", "the account\n.B nightlatch"]
IS_NOT_MEANT = ["sudo systemctl start nightlatch", "nightlatch.service", "an account of its own",
                "group of nightlatch-override.rules", "[user] nightlatch.toml"]


def named_in(text: str) -> list[str]:
    """A string literal in pieces is one, and a manual's fonts are left out."""
    text = re.sub(r"\n\.(?:B|I|BR|IR) ", " ", re.sub(r'"\s*\n\s*"', "", text))
    return [found[0] for found in NAMED.finditer(text)]


class Sources(unittest.TestCase):
    def test_each_way_to_say_it_would_be_seen(self):
        for text in SHOULD_BE_SEEN:
            self.assertTrue(named_in(text), text)
        for text in IS_NOT_MEANT:
            self.assertFalse(named_in(text), text)

    def test_no_text_of_ours_has_the_name_fixed(self):
        looked_at = 0
        for folder in ("lib", "daemon", "systemd", "config"):
            for path in sorted((TOP / folder).rglob("*")):
                if path.is_file() and path.suffix not in (".png", ".pyc"):
                    looked_at += 1
                    self.assertEqual(named_in(path.read_text()), [], path)
        self.assertGreater(looked_at, 300)


    def test_the_bare_name_is_no_string_where_it_could_be_the_accounts(self):
        sources = [path for folder in ("lib", "daemon") for path in (TOP / folder).rglob("*.[ch]pp")]
        self.assertEqual({str(path.relative_to(TOP)) for path in sources
                          if re.search(rf"[\"']{USUAL}[\"']", path.read_text())}, BARE)


class Installed(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.room = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.room.cleanup)
        cls.prefix = pathlib.Path(cls.room.name, "installed")
        build = pathlib.Path(cls.room.name, "build")
        for command in (["-S", TOP / "tests/system/sys/filled", "-B", build, f"-DNIGHTLATCH_ACCOUNT={OTHER}"],
                        ["--install", build, "--prefix", cls.prefix]):
            subprocess.run(["cmake", *command], check=True, capture_output=True)

    def test_each_place_has_the_name_that_was_given(self):
        for name, places in PLACES.items():
            text = (self.prefix / name).read_text()
            for pattern, times in places:
                self.assertEqual(re.findall(pattern, text, re.M), [OTHER] * times, (name, pattern))

    def test_no_installed_file_has_the_usual_name_or_a_variable_left(self):
        files = [path for path in self.prefix.rglob("*") if path.is_file()]
        self.assertGreater(len(files), len(PLACES))
        for path in files:
            self.assertEqual(named_in(path.read_text()), [], path)
            self.assertNotRegex(path.read_text(), r"@\w+@")


if __name__ == "__main__":
    unittest.main()
