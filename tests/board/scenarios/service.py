# SPDX-License-Identifier: MIT
"""The installed service as the system sees it: account, sandbox, restarts, chips that come and go."""

import guest
from guest import SimulatedChip
from scenario import NotJudged, check, scenario
from scenarios.gestures import lose_supply, press_to_power_off

SIMULATED = """[button]
chip = "sim-chip"
line = "SIM_BUTTON"
pressed = "high"

[[stage]]
name = "off"
hold = "1 s"
action = "power-off"
"""
STORM_SECONDS = 12
# Of one processor, over a storm that is let go of after two seconds and then tried again.
STORM_CPU_SHARE = 0.5


@scenario("installed from its own files the service runs in its own account, without capabilities, "
          "and no unit failed")
def runs_unprivileged(run):
    board = run.restored()
    check(guest.property_of(board, "ActiveState") == "active", "the service is not active")
    pid = guest.property_of(board, "MainPID")
    status = dict(line.split(":", 1) for line in
                  board.tell(f"cat /proc/{pid}/status").splitlines())
    uid = status["Uid"].split()[0]
    account = board.tell(f"getent passwd {uid} | cut -d: -f1")
    check(uid != "0" and account, f"it runs as uid {uid} ({account})")
    for kind in ("CapEff", "CapPrm", "CapBnd", "CapAmb"):
        check(int(status[kind], 16) == 0, f"it has capabilities: {kind}{status[kind]}")
    check(status["NoNewPrivs"].strip() == "1", "it may gain privileges")
    check(status["Seccomp"].strip() == "2", "no system call filter is on")
    failed = board.tell("systemctl --failed --plain --no-legend")
    check(not failed, f"units failed: {failed}")
    chip = board.tell("stat -c '%U:%G %a' /dev/gpiochip0")
    check(chip == "root:gpio 660", f"/dev/gpiochip0 is {chip}")
    complaints = board.tell(f"journalctl -b -q -o cat -p warning -u {guest.SERVICE}")
    check(not complaints, f"the service complains: {complaints}")
    line = board.tell("gpioinfo --chip gpiochip0 FRONT_BUTTON")
    check("nightlatch" in line, f"nobody of ours holds the button's line: {line}")
    run.note(f"account {account}, chip {chip}")


@scenario("killed in the middle of a hold, the service comes back and takes the rest for no press")
def killed_in_a_hold(run):
    board = run.restored()
    pressed = board.press()
    guest.wait_status(board, "holding")
    before = guest.property_of(board, "MainPID")
    board.tell(f"systemctl kill -s KILL {guest.SERVICE}")
    guest.wait_status(board, "waiting")
    check(guest.property_of(board, "MainPID") not in ("0", before), "it did not come back")
    board.at(pressed + 2 * guest.HOLD, board.release)
    guest.wait_status(board, "rest")
    guest.check_nothing_asked(board)
    lose_supply(run, board, since=press_to_power_off(run, board))


@scenario("a bad file at a reload fails as a command, leaves the settings in force and stays in the "
          "status; a good one is taken over")
def reload_takes_good_files_only(run):
    board = run.restored()
    guest.write(board, guest.CONFIG, guest.base_config().replace('"3 s"', '"3 moons"'))
    status, _ = board.ask(f"systemctl reload {guest.SERVICE}")
    check(status != 0, "the reload of a bad file succeeded as a command")
    guest.wait_told(board, "reload_failed")
    guest.wait_status(board, "rest*moons")
    run.note(guest.property_of(board, "StatusText"))
    guest.write(board, guest.CONFIG, guest.base_config().replace('"3 s"', '"1 s"'))
    board.tell(f"chmod o+w {guest.CONFIG}")
    status, _ = board.ask(f"systemctl reload {guest.SERVICE}")
    check(status != 0, "the reload of a file that anybody may write succeeded as a command")
    board.tell(f"chmod o-w {guest.CONFIG}")
    board.tell(f"systemctl reload {guest.SERVICE}")
    guest.wait_told(board, "reloaded")
    guest.wait_status(board, "rest")
    check("cannot be used" not in guest.property_of(board, "StatusText"), "the status still complains")
    held, released = board.press_for(2.0)
    run.margin("held longer than the new hold time", held - 1.0)
    run.margin("held shorter than the old hold time", guest.HOLD - held)
    lose_supply(run, board, since=released)


def with_simulated_button(run, more=""):
    """A board whose service watches a simulated chip instead of the real one; `more` is for its
    [button] section."""
    board = run.restored()
    chip = SimulatedChip(board)
    chip.plug()
    guest.configure(board, SIMULATED.replace("\n\n", f"\n{more}\n\n", 1))
    guest.wait_status(board, "rest")
    return board, chip


@scenario("a chip that goes and comes again is a fault in between, and then a press works")
def chip_goes_and_comes(run):
    board, chip = with_simulated_button(run)
    before = int(guest.property_of(board, "NRestarts"))
    opened = len(guest.told(board, "line_back"))
    chip.unplug()
    run.note(guest.wait_told(board, "line_fault"))
    guest.wait_status(board, "fault")
    chip.plug()
    run.note(guest.wait_told(board, "line_back", 60, opened + 1))
    guest.wait_status(board, "rest")
    check(int(guest.property_of(board, "NRestarts")) == before, "the service was restarted")
    guest.check_nothing_asked(board)
    chip.hold_with_guest_clock(1.4)
    lose_supply(run, board, since=board.now())


@scenario("a floating line is a fault that costs little, and the service recovers from it")
def storm_is_a_fault(run):
    board, chip = with_simulated_button(run)
    pull = chip.pull()
    used = int(guest.property_of(board, "CPUUsageNSec"))
    made = board.tell(f"board-probe drive {pull} {STORM_SECONDS} nightlatch", STORM_SECONDS + 60)
    chip.release()
    rate = int(dict(line.split("=") for line in made.splitlines())["per_second"])
    if rate < 2000:
        raise NotJudged(f"only {rate} edges/s were made: that is not a storm")
    share = (int(guest.property_of(board, "CPUUsageNSec")) - used) / 1e9 / STORM_SECONDS
    faults = guest.told(board, "line_fault")
    check(faults, "no fault was said")
    check(share < STORM_CPU_SHARE, f"the service used {share:.0%} of a processor")
    guest.wait_status(board, "rest", 120)
    guest.check_nothing_asked(board)
    run.note(f"{rate} edges/s for {STORM_SECONDS} s: {share:.1%} of a processor; {faults[0]}")
    chip.hold_with_guest_clock(1.4)
    lose_supply(run, board, since=board.now())
