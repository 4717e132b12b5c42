# SPDX-License-Identifier: MIT
"""An application that writes all the time, and the button: what it has acknowledged is on the disk."""

import re

import guest
from image import journal, text_of
from scenario import NotJudged, check, scenario
from scenarios.gestures import lose_supply, press_to_power_off

EXAMPLE = "/usr/share/nightlatch/examples/saving/tide-readings.py"
OFTEN = "/run/tide-readings.py"
READINGS = "/var/tide-readings"
CONSOLE = "/dev/ttyAMA0"
# What the login manager says when it did not wait any longer [systemd, logind-dbus.c].
GIVEN_UP = "inhibitor timeout is reached"


def acknowledged(board):
    """How many readings the application has said that it keeps: it says it to the outside."""
    kept = (re.fullmatch(r"kept (\d+)", line) for line in board.said)
    return max((int(found[1]) for found in kept if found), default=0)


def write_heavily(board, program):
    """The example, with as many readings as it takes, beside a program that keeps the disk busy."""
    guest.write(board, "/run/readings", "n=0\nwhile :; do n=$((n + 1)); echo \"reading $n\"; done")
    board.tell("systemd-run -q --unit=writer sh -c "
               "'while :; do dd if=/dev/zero of=/var/swell bs=64k count=64 conv=fsync; done'\n"
               "systemd-run -q --unit=tide bash -c "
               f"'sh /run/readings | python3 {program} {READINGS} >{CONSOLE}'")
    check(board.wait_said("protected", 60), "the application did not get its delay lock")
    check(board.wait_said("kept 100", 60), "the application keeps no readings")


def lost(board):
    """How many readings it acknowledged, and how many of them are not on the disk."""
    kept = acknowledged(board)
    there = text_of(board.disk, READINGS).splitlines()
    missing = sum(f"reading {number}" not in there[number - 1:number] for number in range(1, kept + 1))
    return kept, missing


@scenario("a hold while an application writes ten times a second: each reading that it acknowledged is "
          "on the disk when the power has gone")
def acknowledged_readings_are_saved(run):
    board = run.restored()
    board.tell(f"sed 's/^PERIOD = 600 .*/PERIOD = 0.1/' {EXAMPLE} >{OFTEN}\n"
               f"grep -qx 'PERIOD = 0.1' {OFTEN}")
    write_heavily(board, OFTEN)
    lose_supply(run, board, since=press_to_power_off(run, board))
    kept, missing = lost(board)
    run.note(f"{kept} readings acknowledged")
    check(kept > 100, f"only {kept} readings were acknowledged")
    waited = journal(board.disk, "_SYSTEMD_UNIT=systemd-logind.service", "-b")
    if missing and any(GIVEN_UP in said for said in waited):
        raise NotJudged("the login manager's five seconds were not enough here")
    check(not missing, f"{missing} of {kept} acknowledged readings are not on the disk")


@scenario("control: with the plug pulled the same application loses readings")
def pulled_plug_loses_readings(run):
    board = run.restored()
    write_heavily(board, EXAMPLE)
    board.cut()
    kept, missing = lost(board)
    check(missing, f"all {kept} readings are on the disk: the verdict cannot fail")
    run.note(f"{missing} of {kept} are lost")
