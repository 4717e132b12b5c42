# SPDX-License-Identifier: MIT
"""What the logbook's records are worth on the device itself: a disk of its own, whose writes are logged."""

import acknowledged
from qemu import SUPPLY
from scenario import check, scenario

BOOTS = 3
# What a boot may write to the device, in all.
MOST_KIB = 64


def with_own_disk(run, boots):
    """Boots a board so often; the watched disk of its logbook."""
    watched = acknowledged.Watched(run.bench, run.name)
    run.closing.callback(watched.discard)
    disk = run.bench.disk(run.name, acknowledged.FILES)
    board = run.switched_on("own", disk, second=watched.disk, write_log=watched.log)
    board.hear = watched.hear
    board.resume()
    board.wait_booted()
    for number in range(1, boots):
        board.power_off_from_inside("reboot")
        check(board.wait_reset(120, number), "the board was not reset in 120 s")
        watched.boot_ends()
        board.wait_booted()
    since = board.power_off_from_inside()
    check(board.wait_edge(SUPPLY, 1, 120, since), "the post-halt line did not rise in 120 s")
    watched.boot_ends()
    board.cut()
    return watched


def every_flush(run, boots):
    watched = with_own_disk(run, boots)
    wanted = [(number, kind) for number in range(1, boots + 1) for kind in ("started", "ended")]
    heard = [(one.run, one.kind) for one in watched.seen]
    check(heard == wanted, f"acknowledged on the console: {heard}")
    flushes, states = acknowledged.check_every_flush(watched)
    kib = [count / 1024 for count in watched.bytes_per_boot()]
    run.note(f"{boots} boots, {flushes} flushes, {states} different disks; all {len(heard)} records "
             "acknowledged before are there")
    run.note("KiB written to the device in a boot, mounting and unmounting and all: "
             + ", ".join(f"{count:.0f}" for count in kib))
    check(max(kib) <= MOST_KIB, f"a boot wrote {max(kib):.0f} KiB to the device")


@scenario(f"over {BOOTS} boots, at every flush of the logbook's disk, all records are there that were "
          f"acknowledged before; a boot writes at most {MOST_KIB} KiB to it")
def acknowledged_records_are_there(run):
    every_flush(run, BOOTS)
