# SPDX-License-Identifier: MIT
"""A hand on the button, a real system behind it, and the supply that goes when the line rises."""

import guest
from guest import HOLD
from image import journal, needs_recovery
from qemu import BUTTON, BUZZER, LED, SUPPLY
from scenario import NotJudged, check, scenario

# How far the presses stay away from the stage's hold time.
CLEAR = 0.8
# The longest that the kernel keeps the post-halt line at one level before the last, and some.
NEXT_LEVEL = 10
# What systemd's login manager says when it takes the system down (sd-messages.h).
LOGIN_MANAGER_SHUTDOWN = "98268866d1d54a499c4e98921d93bc40"


def wait_pulse(board, number, timeout, since):
    """The rise of the post-halt line's active level of this number, the first is 1."""
    rise = board.wait_edge(SUPPLY, 1, timeout, since)
    check(rise, f"the post-halt line did not rise in {timeout} s")
    if number == 1:
        return rise
    fall = board.wait_edge(SUPPLY, 0, NEXT_LEVEL, rise.at)
    check(fall, "the post-halt line's first pulse had no end")
    return wait_pulse(board, number - 1, NEXT_LEVEL, fall.at)


def lose_supply(run, board, since, timeout=120, circuit="quick"):
    """Waits for the post-halt line, cuts the power when the circuit lets go, looks at the disk."""
    carried = run.bench.circuit(circuit)
    pulse = wait_pulse(board, carried.pulse, timeout, since)
    gone = board.cut(at=pulse.at + carried.lets_go_after)
    # All these moments are the outside's own, so the guest's jitter has no part in them.
    if any(edge.level == 0 and edge.at <= gone for edge in board.edges_of(SUPPLY, pulse.at)):
        raise NotJudged(f"the cut came {gone - pulse.at:.2f} s after the line rose: too late")
    check(not needs_recovery(board.disk), "the file system was cut off in use")
    risen = board.wait_edge(SUPPLY, 1, 0, since)
    run.note(f"line rose {risen.at - since:.2f} s later, cut {(gone - risen.at) * 1e3:.0f} ms "
             f"after that (pulse {carried.pulse}, which this circuit needs for "
             f"{carried.lets_go_after * 1e3:.0f} ms), disk clean")
    return risen


def press_to_power_off(run, board, clear=CLEAR):
    held, released = board.press_for(HOLD + clear)
    run.margin("held longer than the stage asks", held - HOLD)
    return released


@scenario("held 3 s and let go, the board goes down by its login manager, the post-halt line "
          "rises, and the disk is clean when the circuit then lets the supply go")
def held_and_released(run):
    board = run.restored()
    pressed_at = board.press()
    check(not guest.told(board, "decided"), "decided before the button was let go")
    released = board.at(pressed_at + HOLD + CLEAR, board.release)
    run.margin("held longer than the stage asks", released - pressed_at - HOLD)
    lose_supply(run, board, since=released)
    early = [edge for edge in board.edges_of(SUPPLY) if edge.at < released]
    check(not early, "the post-halt line moved while the button was held")
    by_login_manager = journal(board.disk, f"MESSAGE_ID={LOGIN_MANAGER_SHUTDOWN}", "-b")
    check(len(by_login_manager) == 1, "the login manager says nothing of one orderly shutdown")
    guest.check_asked_once(board)


@scenario("a circuit too slow for the kernel's first pulse lets go in the second, when `nightlatch "
          "circuit` says so, and the disk is clean then")
def slow_circuit_lets_go_in_the_second_pulse(run):
    board = run.restored()
    check(run.bench.circuit("slow").pulse == 2, "the slow circuit is not that slow")
    lose_supply(run, board, since=press_to_power_off(run, board), circuit="slow")
    levels = [edge.level for edge in board.edges_of(SUPPLY)]
    check(levels == [1, 0, 1], f"the line's levels until the supply went were {levels}")


@scenario("while the button is held the LED blinks by the kernel's timer, and at 3 s it stays on")
def led_follows_the_hold(run):
    board = run.restored()
    held, released = board.press_for(HOLD + CLEAR)
    run.margin("held longer than the stage asks", held - HOLD)
    pressed = released - held
    holding = [edge for edge in board.edges_of(LED, pressed) if edge.at < pressed + HOLD]
    rises = sum(edge.level for edge in holding)
    # 4 Hz over 3 s; the trigger's first and last half-period may fall outside.
    check(10 <= rises <= 13, f"the LED rose {rises} times in 3 s, 12 were due")
    at_ready = [edge for edge in board.edges_of(LED, pressed) if edge.at < released]
    check(at_ready and at_ready[-1].level == 1, "the LED was not on when letting go was due")
    check(released - at_ready[-1].at > 0.3, "the LED went on blinking when the stage was reached")
    lose_supply(run, board, since=released)


@scenario("let go too early, nothing happens, and the service says what was missing")
def released_too_early(run):
    board = run.restored()
    held, _ = board.press_for(HOLD - CLEAR)
    run.margin("held shorter than the stage asks", HOLD - held)
    run.note(guest.wait_told(board, "near_miss"))
    guest.check_nothing_asked(board)
    check(not board.edges_of(SUPPLY), "the post-halt line moved")


@scenario("held from power-on, nothing happens however long and on letting go; then a proper "
          "press works")
def held_from_power_on(run):
    board = run.booted(levels={BUTTON: 0})
    run.note(guest.wait_told(board, "stuck", 60))
    board.release()
    guest.wait_status(board, "rest")
    guest.check_nothing_asked(board)
    check(not board.edges_of(SUPPLY, board.resumed_at), "the post-halt line moved")
    lose_supply(run, board, since=press_to_power_off(run, board))


@scenario("an action of reboot comes back up, and the post-halt line stays low all the while")
def reboot_leaves_the_line_low(run):
    board = run.restored()
    before = board.tell("cat /proc/sys/kernel/random/boot_id")
    guest.configure(board, guest.base_config().replace('"power-off"', '"reboot"'))
    guest.wait_status(board, "rest")
    press_to_power_off(run, board)
    check(board.wait_reset(120), "the board was not reset in 120 s")
    run.metronome.stop()  # what it measured until here counts: the boot is not about time
    board.wait_booted()
    check(board.tell("cat /proc/sys/kernel/random/boot_id") != before, "it did not boot again")
    check(not any(edge.level for edge in board.edges_of(SUPPLY)), "the post-halt line rose")
    clean = board.tell("journalctl -k -b -q -o cat --grep 'vda.*recover' || true")
    check(not clean, f"the disk was not left in order: {clean}")


@scenario("a program that blocks the shutdown is named with its reason, and nothing goes down")
def block_lock_refuses(run):
    board = run.restored()
    board.tell("systemd-run -q --unit=logger systemd-inhibit --what=shutdown --mode=block "
               "--who='tide logger' --why='writing the tide table' sleep infinity\n"
               "until systemd-inhibit --list | grep -q 'tide logger'; do sleep 0.1; done")
    released = press_to_power_off(run, board)
    said = guest.wait_told(board, "refused")
    run.note(said)
    check("tide logger" in said and "writing the tide table" in said,
          "the refusal does not name the holder and its reason")
    check(not guest.going_down(board), "the board is going down all the same")
    check(not board.edges_of(SUPPLY), "the post-halt line moved")
    beeps = [edge for edge in board.edges_of(BUZZER, released) if edge.level]
    check(len(beeps) == 1, f"the buzzer sounded {len(beeps)} times, once was due")
    board.tell("systemctl stop logger")
    guest.wait_status(board, "rest")
    lose_supply(run, board, since=press_to_power_off(run, board))
