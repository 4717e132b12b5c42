# SPDX-License-Identifier: MIT
"""What the logbook's records are worth on the device itself: a disk of its own, whose writes are logged."""

import acknowledged
from qemu import SUPPLY
from scenario import check, scenario

BOOTS = 2
# What the two units may write to the device in a boot, in all: 64 KiB as tests/system/tool/written_test.py
# measures it, and 12 for unmounting a disk that has been written to (its journal's superblock again).
MOST_KIB = 76
UNITS = "nightlatch-started.service nightlatch-ended.service"


def with_own_disk(run, boots):
    """Boots a board so often, and once more without the two units; the watched disk of its logbook."""
    watched = acknowledged.Watched(run.bench, run.name)
    run.closing.callback(watched.discard)
    disk = run.bench.disk(run.name, acknowledged.FILES)
    board = run.switched_on("own", disk, second=watched.disk, write_log=watched.log)
    board.hear = watched.hear
    board.resume()
    board.wait_booted()
    for number in range(1, boots + 1):
        if number == boots:  # at this one's end they still write
            board.tell(f"systemctl disable {UNITS}")
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
    run.note(f"{boots} boots, {flushes} flushes, {states} different disks; all {len(heard)} records "
             "acknowledged before are there")
    *with_units, without = [count / 1024 for count in watched.bytes_per_boot()]
    run.note("KiB written to the device in a boot, with mounting and unmounting: "
             + ", ".join(f"{count:.0f}" for count in with_units) + f"; without the units: {without:.0f}")
    # At the first the file system is new as well: its journal and folder are written for the first time.
    kib = max(with_units[1:]) - without
    check(kib <= MOST_KIB, f"the units wrote {kib:.0f} KiB to the device in a boot")


@scenario(f"over {BOOTS} boots, at every flush of the logbook's disk, all records are there that were "
          f"acknowledged before; the units write at most {MOST_KIB} KiB to it in a boot")
def acknowledged_records_are_there(run):
    every_flush(run, BOOTS)
