# SPDX-License-Identifier: MIT
"""How a run ended, said at the next boot, beside what its disk said from outside in between."""

import json

import guest
import outside
from image import Failed, copy
from qemu import SUPPLY
from scenario import NotJudged, check, scenario

# Who finds out that the root was not left in order.
WAYS = {
    "mounted by kernel": {"root": "root=/dev/vda rw"},
    "checked by systemd": {"root": "root=/dev/vda ro"},
    "checked by initramfs": {"root": "root=/dev/vda ro", "initramfs": True},
}
FSTAB = "/dev/vda / ext4 defaults 0 1"
# As on many a board's image: nothing is left of the journal of the boot before.
VOLATILE = "mkdir -p /etc/systemd/journald.conf.d\n" \
    "printf '[Journal]\\nStorage=volatile\\nForwardToConsole=yes\\n' " \
    ">/etc/systemd/journald.conf.d/board.conf\n" \
    "systemctl restart systemd-journald.service && rm -rf /var/log/journal"
FIRST_ENDS = "run 1 ends"  # a restored board has begun its first
# How long after the button was let go of the plug is pulled, in seconds; the shutdown has begun then, and
# has not got far.
GOING_DOWN = 0.5


def told(board, kind="run_started"):
    """The last message of that kind of this boot, with its fields; the tool says it."""
    # Early in a boot journalctl says on stderr that it knows no such boot yet, and the agent sends both.
    command = f"journalctl -b -q -o json MESSAGE_ID={guest.message_id(kind)} 2>/dev/null | tail -n 1"
    status, text = board.ask(f"timeout 30 bash -c 'until x=$({command}); [[ $x ]]; do sleep 0.1; done; "
                             "printf %s \"$x\"'", 60)
    if status:
        raise Failed(f"no {kind} in the journal:\n" + board.ask(
            "journalctl -b -q -o short-monotonic -u 'nightlatch*' | tail -n 20")[1])
    return json.loads(text)


def look_again(run, disk, way, **parts):
    """Switches a board with that disk on, and asks what it says of the run before."""
    parts |= WAYS[way]
    if parts.pop("initramfs", False):
        parts["initramfs"] = run.bench.initramfs()
    board = run.another(way.split()[-1], disk, **parts)
    return board, told(board)


def prepared(run):
    """A board as restored, with a journal that is gone with the memory."""
    board = run.restored()
    guest.write(board, "/etc/fstab", FSTAB)
    board.tell(VOLATILE)
    return board


def judge(run, disk, ways, expected=None):
    """Boots copies of a disk, each in one way, and compares what each says with the disk from outside."""
    found = outside.look_at(disk)
    number = found.last_run()
    check(number > 0, f"there is no record on the disk, but {found.rest!r}")
    end = found.end_of(number)
    if expected and end != expected:
        raise NotJudged(f"the disk says {end}, so this was no pulled plug for {expected}")
    for way in ways:
        again = disk.with_suffix(".again")
        copy(disk, again)
        board, said = look_again(run, again, way)
        board.cut()
        again.unlink()
        check(said.get("NIGHTLATCH_BEFORE") == str(number),
              f"it does not speak of run {number}: {said['MESSAGE']}")
        run.note(f"{way}: {said['MESSAGE']}")
        check(said["NIGHTLATCH_END"] == end, f"{way}: {said['NIGHTLATCH_END']}, but from outside {end}")
    return found


@scenario("the plug is pulled while the button is held: the run is lost, as the disk says from outside")
def plug_pulled_in_a_hold(run):
    board = prepared(run)
    board.cut(at=board.press() + guest.HOLD / 2)
    judge(run, board.disk, ["checked by initramfs"], "lost")


@scenario("the plug is pulled as the board begins to go down: the run is lost")
def plug_pulled_going_down(run):
    board = prepared(run)
    _, released = board.press_for(guest.HOLD + 0.8)
    board.cut(at=released + GOING_DOWN)
    judge(run, board.disk, ["checked by systemd"], "lost")


@scenario("the plug is pulled after the run wrote that it ends, and before its disk is in order: never "
          "orderly, whoever recovers it: kernel, systemd's check, or the initramfs's")
def plug_pulled_after_the_end(run):
    board = prepared(run)
    board.press_for(guest.HOLD + 0.8)
    check(board.wait_said(FIRST_ENDS, 60), "the board did not say that the run ends")
    board.cut()
    judge(run, board.disk, WAYS, "left")


# That the kernel's own mount finds an orderly end so is seen in logbook_told.py.
@scenario("the plug is pulled when the post-halt line has risen: orderly, whether systemd or the initramfs "
          "checks the disk")
def plug_pulled_after_the_line(run):
    board = prepared(run)
    _, released = board.press_for(guest.HOLD + 0.8)
    check(board.wait_edge(SUPPLY, 1, 120, released), "the post-halt line did not rise in 120 s")
    board.cut()
    judge(run, board.disk, ["checked by systemd", "checked by initramfs"], "orderly")
