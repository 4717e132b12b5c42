# SPDX-License-Identifier: MIT
"""A battery monitor's line beside the button: a level that lasts asks, and asks in its own time."""

import guest
from guest import HOLD
from qemu import BATTERY, SUPPLY
from scenario import check, scenario
from scenarios.gestures import CLEAR, lose_supply

LASTING = 3.0
LOW, FINE = 0, 1  # of the battery's line, which is active low


def with_alarm(run, action="power-off"):
    board = run.restored()
    guest.configure(board, guest.base_config() + f"""
[[alarm]]
name = "battery low"
chip = "9030000.pl061"
line = "BATTERY_LOW"
active = "low"
lasting = "{LASTING:.0f} s"
action = "{action}"
""")
    guest.wait_status(board, "rest")
    return board


def battery(board, level):
    return board.set_line(BATTERY, level)


def lasts(board, level, seconds):
    """That level on the battery's line for so long; returns when it was over."""
    begun = battery(board, level)
    return board.at(begun + seconds, board.now)


def announced(board):
    """How often the alarm has come due; its coming and its announcement are told one after the other."""
    return sum(line.startswith("announcing") for line in guest.told(board, "decided"))


@scenario("a battery that is low for a moment is not an alarm; low for as long as was set, the board goes "
          "down by itself")
def lasting_level_powers_off(run):
    board = with_alarm(run)
    run.margin("low shorter than the alarm's time", CLEAR)
    lasts(board, LOW, LASTING - CLEAR)
    lasts(board, FINE, LASTING + CLEAR)
    guest.check_nothing_asked(board)
    low = battery(board, LOW)
    risen = lose_supply(run, board, since=low)
    check(risen.at - low > LASTING, "the line rose before the level had lasted")
    guest.check_asked_once(board)


@scenario("hysteresis: a battery that recovers for a moment and drops again is still the same alarm, "
          "and a new one only after it has been well for as long")
def recovering_battery_does_not_flap(run):
    board = with_alarm(run, action="announce")
    run.margin("well shorter than the alarm's time", CLEAR)
    lasts(board, LOW, LASTING + CLEAR)
    check(announced(board) == 1, f"due {announced(board)} times after the first low level")
    for _ in range(2):
        lasts(board, FINE, LASTING - CLEAR)
        lasts(board, LOW, LASTING + CLEAR)
    check(announced(board) == 1, f"due {announced(board)} times: a short recovery made it anew")
    lasts(board, FINE, LASTING + CLEAR)
    lasts(board, LOW, LASTING + CLEAR)
    check(announced(board) == 2, f"due {announced(board)} times after a recovery that lasted")
    guest.check_nothing_asked(board)
    check(guest.property_of(board, "StatusText").startswith("rest"), "the button's state changed")


@scenario("an alarm that comes due under a finger is asked at once, the press is spent, and one "
          "request goes out for both")
def alarm_and_button_at_once(run):
    board = with_alarm(run)
    pressed = board.press()
    battery(board, LOW)  # due when the stage is reached, or nearly
    guest.wait_told(board, "asked")
    run.note(guest.told(board, "decided")[-1])
    released = board.at(pressed + HOLD + CLEAR, board.release)
    lose_supply(run, board, since=released)
    guest.check_asked_once(board)


@scenario("a battery low from power-on is ignored, as set, and the button works beside it")
def low_from_power_on_is_ignored(run):
    board = with_alarm_from_boot(run)
    lasts(board, LOW, 2 * LASTING)
    guest.check_nothing_asked(board)
    check(not board.edges_of(SUPPLY, board.resumed_at), "the post-halt line moved")
    held, released = board.press_for(HOLD + CLEAR)
    run.margin("held longer than the stage asks", held - HOLD)
    lose_supply(run, board, since=released)


def with_alarm_from_boot(run):
    """The service starts anew, as in a boot, with the battery's line low already."""
    board = run.restored()
    battery(board, LOW)
    board.tell("systemctl stop nightlatch && rm -rf /run/nightlatch/alarms")
    guest.configure(board, guest.base_config() + f"""
[[alarm]]
name = "battery low"
chip = "9030000.pl061"
line = "BATTERY_LOW"
active = "low"
lasting = "{LASTING:.0f} s"
""")
    guest.wait_status(board, "rest")
    return board
