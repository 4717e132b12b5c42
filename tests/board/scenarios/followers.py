# SPDX-License-Identifier: MIT
"""What an application is told over the bus is what a bystander sees, and when the bus or the service
goes away it is told that, too."""

import guest
from follower import CLEAR, SEEN, configured, hold, in_countdown
from guest import SERVICE
from qemu import BUZZER, LED, SUPPLY
from scenario import MARGIN_IN_JITTERS, NotJudged, check, scenario

AGREES = 0.02
TRIES = 3  # of one gesture, until the emulator has kept time through one; and of one that was judged
GRACE = 2.0
LONG_GRACE = 60.0
SHORT_GRACE = 8.0
# Later than the 500 ms before which a press is taken for the release's bounce, longer than the 100 ms
# that it has to last [nightlatch.toml(5)].
EARLIEST, AGAIN, AGAIN_FOR = 0.5, 0.8, 0.4


def call_off(board):
    """A hold that another press calls off."""
    pressed, released = hold(board)
    again = board.at(released + AGAIN, board.press)
    board.at(again + AGAIN_FOR, board.release)
    return pressed, released


GESTURES = {
    "called off": (call_off, ["holding", "ready", "countdown", "waiting", "rest"]),
    "asked": (hold, ["holding", "ready", "countdown", "leaving", "refused"]),
}


def changes(records):
    """The first record of each cue that came, oldest first."""
    before, first = None, []
    for record in records:
        cue = record.get("cue")
        first += [record] if cue != before else []
        before = cue
    return first


def seen_by_a_bystander(board, since):
    edges = board.edges_of(LED, since) + board.edges_of(BUZZER, since)
    return sorted((edge for edge in edges if (edge.line, edge.level) in SEEN.values()),
                  key=lambda edge: edge.at)


def differences(metronome, told, edges, pressed):
    """How far each cue's two stamps are from what the outside saw: what it is, and seconds."""
    for record, edge in zip(told, edges):
        seen = metronome.in_guest(edge.at)
        # A hold is told from its press on, though no lamp can be lit before that has settled.
        due = metronome.in_guest(pressed) if record["cue"] == "holding" else seen
        yield f"{record['cue']}, told", record["now"] / 1e6 - seen
        yield f"{record['cue']}, since", record["since"] / 1e6 - due


def play(run, follower, name):
    """One gesture: when it was pressed, the jitter from then on, and the slowest echo."""
    gesture, cues = GESTURES[name]
    mark = len(run.metronome.offsets)
    pressed, _ = gesture(follower.board)
    follower.wait_cue(cues[-1])
    return pressed, run.metronome.jitter(mark), max(run.metronome.echoes[mark:])


def stamps_apart(run, follower, name, pressed):
    """How far the stamps of that gesture's cues are from the outside's."""
    _, cues = GESTURES[name]
    told = changes(record for record in follower.told()
                   if record["now"] / 1e6 > run.metronome.in_guest(pressed))
    check([record.get("cue") for record in told] == cues, f"{name}: the follower was told {told}")
    edges = seen_by_a_bystander(follower.board, pressed)
    check([(edge.line, edge.level) for edge in edges] == [SEEN[cue] for cue in cues],
          f"{name}: seen from outside was {edges}")
    return list(differences(run.metronome, told, edges, pressed))


def played_in_time(run, follower, name):
    """Plays a gesture until the emulator has kept time, and a program in it, too: a follower is no
    faster than the metronome's. When it was pressed."""
    tried = []
    for _ in range(TRIES):
        pressed, jitter, echo = play(run, follower, name)
        tried.append(f"{jitter * 1e3:.1f} ({echo * 1e3:.0f})")
        if jitter * MARGIN_IN_JITTERS <= AGREES and echo <= AGREES:
            run.note(f"{name}: jitter (slowest echo) {tried[-1]} ms")
            return pressed
    raise NotJudged(f"{name}: jitters (slowest echoes) of {', '.join(tried)} ms, where "
                    f"{AGREES / MARGIN_IN_JITTERS * 1e3:.0f} ({AGREES * 1e3:.0f}) are the most")


def far_apart(run, follower, name):
    pressed = played_in_time(run, follower, name)
    apart = stamps_apart(run, follower, name, pressed)
    run.note(f"{name}: " + "; ".join(f"{what} {seconds * 1e3:+.1f} ms" for what, seconds in apart))
    return {what for what, seconds in apart if abs(seconds) > AGREES}


def agreement(run, follower, name):
    """A stamp that is wrong, or late by what a program does, is so each time. What the emulator does
    (it may translate a piece of code again while the metronome is not looking) is not."""
    far = far_apart(run, follower, name)
    for _ in range(TRIES - 1):
        if far:
            far &= far_apart(run, follower, name)
    check(not far, f"{name}: more than {AGREES * 1e3:.0f} ms apart, each time: {', '.join(sorted(far))}")


@scenario("hold, ready, let go, called off or asked for and refused: what a bystander sees of each cue and "
          "what a follower is told of it are within 20 ms of each other")
def follower_agrees_with_a_bystander(run):
    board, follower = configured(run, GRACE)
    board.tell("systemd-run -q --unit=logger systemd-inhibit --what=shutdown --mode=block "
               "--who='tide logger' --why='writing the tide table' sleep infinity\n"
               "until systemd-inhibit --list | grep -q 'tide logger'; do sleep 0.1; done")
    run.margin("pressed again after the release's bounce", AGAIN - EARLIEST)
    for name in GESTURES:
        # Once unmeasured: the emulator translates each piece of code when it first runs.
        play(run, follower, name)
        agreement(run, follower, name)


def check_still_up(board):
    guest.check_nothing_asked(board)
    check(not board.edges_of(SUPPLY), "the post-halt line moved")


@scenario("the bus restarted in a countdown: a follower says that there is none and then finds the same "
          "countdown, which can be called off over the new bus; the delay lock is taken anew")
def bus_restarted_in_a_countdown(run):
    board, follower = configured(run, LONG_GRACE)
    service = guest.property_of(board, "MainPID")
    _, before = in_countdown(board, follower)
    board.tell("systemctl restart dbus.service")
    follower.wait_absent("no bus")
    after = follower.wait_cue("countdown")
    check([before[key] for key in ("since", "until", "stage")] ==
          [after[key] for key in ("since", "until", "stage")],
          f"it was {before} and is {after}")
    run.note(f"told again {(after['now'] - before['now']) / 1e6:.1f} s after the first time")
    board.tell("nightlatch call-off")
    follower.wait_cue("rest")
    check(guest.property_of(board, "MainPID") == service, "the service went away with the bus")
    # systemd 257's login manager does not look for a new bus by itself.
    board.tell("systemctl restart systemd-logind.service\n"
               "timeout 30 sh -c 'until systemd-inhibit --list --no-legend | grep -qw nightlatch; "
               "do sleep 0.1; done'")
    check_still_up(board)


@scenario("the service restarted, or killed, in a countdown: a follower says that it is gone and then "
          "what the new one shows; the countdown is over, nothing goes down, and a hold works")
def service_gone_in_a_countdown(run):
    board, follower = configured(run, SHORT_GRACE)
    for command in ("restart", "kill -s KILL"):
        service = guest.property_of(board, "MainPID")
        released, before = in_countdown(board, follower)
        board.tell(f"systemctl {command} {SERVICE}")
        gone = follower.wait_absent("no service")
        run.margin(f"{command}: gone before the countdown's end", (before["until"] - gone["now"]) / 1e6)
        follower.wait_cue("rest")
        board.at(released + SHORT_GRACE + CLEAR, board.now)
        check(guest.property_of(board, "MainPID") not in ("0", service), f"{command}: the same service")
        check(follower.told()[-1].get("cue") == "rest", f"{command}: last told {follower.told()[-1]}")
        check_still_up(board)
    in_countdown(board, follower)
    board.tell("nightlatch call-off")
    follower.wait_cue("rest")
    check_still_up(board)
