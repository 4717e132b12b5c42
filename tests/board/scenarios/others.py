# SPDX-License-Identifier: MIT
"""Shutdowns that somebody else asks for while a finger is on the button, and the plug pulled."""

import guest
from image import needs_recovery
from qemu import SUPPLY
from scenario import check, scenario
from scenarios.gestures import lose_supply, press_to_power_off

HELPER = "/usr/lib/systemd/system-shutdown/nightlatch-wait-released"
# What it says on the console when it finds the button pressed [daemon/guard/wait_released.cpp].
WAITING = "the button is still pressed"
# How long the button stays down from then on, shorter than the helper waits (20 s).
LONGER = 8.0
# How long the button must read released before the helper lets the system go: the configuration's
# longest, so that what the helper waits for cannot be taken for the machine's jitter.
RELEASE = 1.0
# Longer than the login manager waits for a delay lock (5 s) and the services need to end.
LONG_HOLD = 14.0


def hold_through_a_poweroff(board):
    """Button down, then somebody's `systemctl poweroff`; returns when that was asked."""
    board.press()
    guest.wait_status(board, "holding")
    return board.power_off_from_inside()


@scenario("with the button held through somebody else's power-off, the line waits for the release")
def others_power_off_waits_for_the_release(run):
    board = run.restored()
    guest.configure(board, guest.base_config().replace(
        'debounce = "30 ms"', f'debounce = {{ press = "30 ms", release = "{RELEASE:.0f} s" }}'))
    guest.wait_status(board, "rest")
    asked = hold_through_a_poweroff(board)
    check(board.wait_said(WAITING, 120), "nothing waited for the button at the last moment")
    early = board.wait_edge(SUPPLY, 1, LONGER, since=asked)
    check(early is None, "the post-halt line rose under the finger" + (
        f", {early.at - asked:.2f} s after the request" if early else ""))
    check(board.process.poll() is None, "the board went off under the finger")
    released = board.release()
    risen = lose_supply(run, board, since=released)
    waited = risen.at - released
    check(waited > RELEASE / 2, f"the line rose {waited:.2f} s after the release already")
    # A machine that stalls only makes the wait longer, which is not a margin.
    run.margin("line rose when the release had lasted", min(waited, RELEASE) - RELEASE / 2)


@scenario("control: without the helper at the last moment the line does rise under the finger")
def without_the_helper_the_line_rises_too_early(run):
    board = run.restored()
    board.tell(f"rm {HELPER}")
    asked = hold_through_a_poweroff(board)
    early = board.wait_edge(SUPPLY, 1, LONG_HOLD, since=asked)
    check(early, f"the line did not rise in {LONG_HOLD:.0f} s, so the scenario with the helper "
                 "shows nothing")
    run.note(f"rose {early.at - asked:.2f} s after the request, the button still down")
    run.margin("rose before the end of the hold", LONG_HOLD - (early.at - asked))


@scenario("where there is no login manager, a hold takes the second route and goes down in order")
def second_route_without_a_login_manager(run):
    board = run.restored()
    board.tell("rm /usr/share/dbus-1/system-services/org.freedesktop.login1.service\n"
               "systemctl mask --now systemd-logind.service\nsystemctl reload dbus.service")
    guest.wait_status(board, "rest")
    lose_supply(run, board, since=press_to_power_off(run, board))


@scenario("control: a plug pulled in the middle of writing leaves a disk that needs recovery")
def pulled_plug_is_noticed(run):
    board = run.restored()
    board.tell("systemd-run -q --unit=writer sh -c "
               "'while :; do date >>/var/tide; cp /var/tide /var/tide.old; sync; done'\n"
               "until [ -s /var/tide.old ]; do sleep 0.1; done")
    board.cut()
    check(needs_recovery(board.disk), "the disk reads clean: the verdict cannot fail")
