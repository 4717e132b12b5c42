# SPDX-License-Identifier: MIT
"""Roots of other kinds than ext4: what of a run's end can be told there, and what cannot."""

import base64

import acknowledged
import outside
from image import f2fs_needs_recovery, needs_recovery
from qemu import SUPPLY
from records import records_in
from scenario import NotJudged, check, scenario
from scenarios.logbook import told

OVERLAY = "root=/dev/vda ro init=/usr/lib/board/overlay-init"
TO_CONSOLE = "systemd.journald.forward_to_console=1"


def end_in_order(board):
    since = board.power_off_from_inside()
    check(board.wait_edge(SUPPLY, 1, 120, since), "the post-halt line did not rise in 120 s")
    board.cut()


def records_of(board):
    """What the file holds, read by our own reader."""
    text = board.tell(f"base64 -w0 {outside.LOGBOOK}")
    return records_in(base64.b64decode(text))[0]


@scenario("a root of f2fs: a clean end is orderly; with the plug pulled after the run wrote that it ends, "
          "it is not")
def root_of_f2fs(run):
    disk = run.bench.f2fs_disk(run.name)
    root = f"root=/dev/vda rw {TO_CONSOLE}"
    end_in_order(run.another("first", disk, root=root))
    check(not f2fs_needs_recovery(disk), "control: after an orderly end the last checkpoint is no unmount's")
    board = run.another("second", disk, root=root)
    said = told(board)
    run.note(said["MESSAGE"])
    check(said.get("NIGHTLATCH_END") == "orderly", f"after an orderly end: {said['MESSAGE']}")
    board.power_off_from_inside()
    check(board.wait_said("run 2 ends", 60), "the board did not say that the run ends")
    board.cut()
    if not f2fs_needs_recovery(disk):
        raise NotJudged("it was unmounted before the plug was pulled")
    board = run.another("third", disk, root=root)
    said, records = told(board), records_of(board)
    run.note(said["MESSAGE"])
    ended = any((record["run"], record["kind"]) == (2, "ended") for record in records)
    check(said.get("NIGHTLATCH_END") == ("left" if ended else "lost"),
          f"{'ended' if ended else 'no end'} in the file, but: {said['MESSAGE']}")
    check(ended, "the record that was acknowledged is not there")


@scenario("under an overlay in memory it is told that the logbook does not last there; where it is on a "
          "disk of its own, that the end of a run cannot be known")
def root_under_an_overlay(run):
    disk = run.bench.disk(run.name)
    board = run.another("in-memory", disk, root=OVERLAY)
    check(board.tell("findmnt -n -o FSTYPE /") == "overlay", "control: the root is no overlay")
    said = told(board, "logbook_failed")["MESSAGE"]
    run.note(said)
    check("(overlay)" in said, "that it does not last is not told")
    board.cut()
    check(not needs_recovery(disk), "control: something was written to the disk")
    second = acknowledged.own_disk(run.bench, run.name)
    run.closing.callback(second.unlink)
    own = {"root": f"{OVERLAY} systemd.mount-extra=/dev/vdb:{outside.FOLDER}:ext4", "second": second}
    end_in_order(run.another("first", disk, **own))
    said = told(run.another("second", disk, **own))
    run.note(said["MESSAGE"])
    check(said.get("NIGHTLATCH_BEFORE") == "1" and said["NIGHTLATCH_END"] == "unknowable",
          f"of the run before it is said: {said['MESSAGE']}")
