# SPDX-License-Identifier: MIT
"""Manual pages as a reader sees them: without roff's marks, by section, by entry."""

import pathlib
import re

TOP = pathlib.Path(__file__).resolve().parents[3]
ESCAPES = (("\\-", "-"), ("\\(dq", '"'), ("\\(aq", "'"), ("\\(bu", "*"), ("\\(lq", '"'), ("\\(rq", '"'),
           ("\\e", "\\"), ("\\&", ""), ("\\~", " "), ("\\ ", " "))


def plain(roff: str) -> str:
    """Words, the lines joined."""
    lines = []
    for line in roff.splitlines():
        if re.match(r"\.(BR|IR|RB|RI|BI) ", line):
            words = re.findall(r'"[^"]*"|\S+', line[4:])
            line = "".join(word.strip('"') for word in words)
        elif re.match(r"\.(B|I) ", line):
            line = line[3:].replace('"', "")
        elif line.startswith((".", "'")):
            line = ""
        lines.append(re.sub(r"\\f(.)", "", line))
    text = " ".join(lines)
    for escape, shown in ESCAPES:
        text = text.replace(escape, shown)
    return re.sub(r"\s+", " ", text).strip()


def options_in(text: str) -> set[str]:
    """The long options that a text of a page or of --help names."""
    return set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", re.sub(r"\\f.", "", text).replace("\\-", "-")))


class Page:
    def __init__(self, file: pathlib.Path):
        self.file, self.roff = file, file.read_text()
        self.name = file.name.rsplit(".", 1)[0]
        self.title = f"{self.name}({file.suffix[1:]})"

    def section(self, head: str) -> str:
        found = re.search(rf'^\.SH "?{re.escape(head)}"?\n(.*?)(?=^\.SH |\Z)', self.roff, re.M | re.S)
        if not found:
            raise AssertionError(f"{self.title} has no section {head}")
        return found[1]

    def sections(self) -> list[str]:
        return [head.strip('"') for head in re.findall(r"^\.SH (.*)$", self.roff, re.M)]

    def part(self, section: str, head: str) -> str:
        """What stands below .SS HEAD; of a page without that the whole section."""
        whole = self.section(section)
        found = re.search(rf'^\.SS "?{re.escape(head)}"?\n(.*?)(?=^\.SS |\Z)', whole, re.M | re.S)
        return found[1] if found else whole


def entries(roff: str) -> list[tuple[str, str]]:
    """Each .TP's tag and text, as they stand."""
    return re.findall(r"^\.TP\n(.*)\n((?:(?!\.TP$|\.SS |\.SH |\.PP$).*\n)*)", roff, re.M)


def pages(build: pathlib.Path) -> dict[str, Page]:
    files = [file for suffix in "1578" for folder in (TOP / "daemon", build / "daemon")
             for file in folder.rglob(f"nightlatch*.{suffix}")]
    return {page.name: page for page in map(Page, files)}
