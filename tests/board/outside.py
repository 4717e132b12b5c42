# SPDX-License-Identifier: MIT
"""What a board's disk says of the logbook and of how the run ended, asked from outside: with e2fsprogs and
our own reader of lines, before the board is switched on again and puts all in order."""

import pathlib
import tempfile
from typing import NamedTuple

import image
from records import key_of, records_in
from scenario import check

FOLDER = "/var/lib/nightlatch"
LOGBOOK = f"{FOLDER}/logbook.jsonl"
# What e2fsck says when the journal held what the file system did not [e2fsprogs, e2fsck/journal.c].
RECOVERING = "recovering journal"


class Disk(NamedTuple):
    needs_recovery: bool
    records: list
    rest: bytes  # what is no whole line

    def last_run(self):
        return max((record["run"] for record in self.records), default=0)

    def ended(self, run):
        return any((record["run"], record["kind"]) == (run, "ended") for record in self.records)

    def end_of(self, run):
        """What the next boot has to say of it."""
        if not self.ended(run):
            return "lost"
        return "left" if self.needs_recovery else "orderly"


def recovered_content(disk, path):
    """What e2fsck says of a copy, and the file as it is there then."""
    with tempfile.TemporaryDirectory() as scratch:
        copy = pathlib.Path(scratch) / "copy"
        image.copy(disk, copy)
        said = image.recovered(copy)
        return said, image.bytes_of(copy, path)


def look_at(disk, path=LOGBOOK):
    """At a root of ext4 that lost its supply, or was let go of in order."""
    needs_recovery = image.needs_recovery(disk)
    said, content = recovered_content(disk, path)
    # Two witnesses, of whom one reads a flag and one the journal itself.
    check((RECOVERING in said) == needs_recovery,
          f"needs_recovery is {needs_recovery}, and e2fsck says: {said}")
    return Disk(needs_recovery, *records_in(content))


def keys(records):
    return [key_of(record) for record in records]
