# SPDX-License-Identifier: MIT
"""A logbook on a disk of its own, whose every write the emulator logs, over some boots: what was
acknowledged, and what each flush has of it.

The disk cannot be marked from the guest; so the number of the log's entries, read outside when the
acknowledgement is seen there, is the mark.
"""

import hashlib
import pathlib
import re
import tempfile
from typing import NamedTuple

import image
import outside
import writelog
from records import records_in
from scenario import check

SIZE = "16M"
FOLDER_ON_DISK = "/logbook.jsonl"
FILES = {"/etc/fstab": f"/dev/vdb {outside.FOLDER} ext4 defaults 0 2\n",
         f"{outside.FOLDER}/.keep": "",
         "/etc/systemd/journald.conf.d/board.conf": "[Journal]\nStorage=volatile\nForwardToConsole=yes\n"}
# What is said when a record is on the disk [daemon/tool/logbook/tell.cpp], as the journal puts it on the
# console [journald.conf(5), ForwardToConsole], in its colours.
_SAID = re.compile(r"nightlatch\[\d+\]: (?:\x1b\[[0-9;:]*m)?"
                   r"(?:this is run (\d+);|run (\d+) is the logbook's first|run (\d+) ends)")


class Acknowledged(NamedTuple):
    run: int
    kind: str
    mark: int  # entries of the log when it was seen


def own_disk(bench, name):
    """An empty one for the logbook; its top folder is the account's, not root's."""
    accounts = image.text_of(bench.installed, "/etc/passwd")
    owner = re.search(r"^\w*nightlatch:[^:]*:(\d+:\d+):", accounts, re.M)[1]
    disk = bench.dir / f"{name}.logbook"
    image.make_ext4(disk, SIZE, owner)
    return disk


class Watched:
    """Disk and log of one machine."""

    def __init__(self, bench, name):
        self.disk, self.log = own_disk(bench, name), bench.dir / f"{name}.writes"
        self.before = self.disk.read_bytes()
        self.log.unlink(missing_ok=True)
        self.log.touch()
        self.seen, self.ends = [], []

    def entries_now(self):
        with self.log.open("rb") as log:
            return writelog.count(log)

    def hear(self, line):
        """A line on the machine's console."""
        if found := _SAID.search(line):
            mark = self.entries_now()
            started = found[1] or found[2]
            self.seen.append(Acknowledged(int(started or found[3]), "started" if started else "ended", mark))

    def boot_ends(self):
        self.ends.append(self.entries_now())

    def bytes_per_boot(self):
        with self.log.open("rb") as log:
            all_entries = list(writelog.entries(log))
        begins = [0, *self.ends[:-1]]
        return [writelog.written(all_entries[begin:end]) for begin, end in zip(begins, self.ends)]

    def discard(self):
        self.disk.unlink(missing_ok=True)
        self.log.unlink(missing_ok=True)


def file_at(state):
    """The logbook's file in a state of the disk, when e2fsck has put that in order."""
    with tempfile.TemporaryDirectory() as scratch:
        disk = pathlib.Path(scratch) / "state"
        disk.write_bytes(state)
        image.recovered(disk)
        return image.bytes_of(disk, FOLDER_ON_DISK)


def required_at(following, seen):
    """What a flush's disk has to have, by the number of entries up to the flush after it: a record that was
    acknowledged sooner than that was on the disk then, and no later flush can have put it there."""
    return {(one.run, one.kind) for one in seen if following is None or one.mark < following}


def check_every_flush(watched, read=file_at):
    """Tries the disk as it was at each flush; how many there were, and how many differed. `read` gives the
    logbook's file in a state of the disk."""
    with watched.log.open("rb") as log:
        flushes = [number for number, entry in enumerate(writelog.entries(log), 1) if entry.flushes]
    there = {}  # by a state's sum
    with watched.log.open("rb") as log:
        for (number, state), following in zip(writelog.flushed_states(watched.before, log),
                                              [*flushes, None]):
            sum_of_it = hashlib.sha256(state).digest()
            if sum_of_it not in there:
                records, _ = records_in(read(state))
                there[sum_of_it] = {(record["run"], record["kind"]) for record in records}
            lost = required_at(following, watched.seen) - there[sum_of_it]
            check(not lost, f"at the flush after {number} writes, acknowledged and not there: {sorted(lost)}")
    return len(flushes), len(there)
