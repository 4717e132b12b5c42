# SPDX-License-Identifier: MIT
"""The Debian package on a running board: put in, upgraded, removed, purged.

What holds of a package is judged by others: dpkg (--audit, --verify), systemd and the bus, and by lists
of what is on the board before and after [Debian Policy, chapter 6 and section 9.2].
"""

import guest
from qemu import SUPPLY
from scenario import check, scenario
from scenarios.gestures import lose_supply, press_to_power_off

PACKAGE = "nightlatch"
# Nothing here is about time: held so much longer than is asked for that a slow machine can judge, too.
CLEAR = 10.0
CONFIGURATION = guest.base_config().replace('stuck_after = "8 s"', 'stuck_after = "60 s"')
NEW, OLD = "/root/packages/new.deb", "/root/packages/old.deb"
OLD_VERSION = "0.0.1"
# By scripts/board-package they differ between the two.
OLD_STOP, NEW_STOP = "7s", "5s"
SECOND_ROUTE = "nightlatch-poweroff.path nightlatch-reboot.path"
LOGBOOK_UNITS = "nightlatch-started.service nightlatch-ended.service"
LOGBOOK = "/var/lib/nightlatch/logbook.jsonl"
STRANGER = "visitor"
CALL_OFF = ("dbus-send --system --print-reply --dest=org.nightlatch.Nightlatch1 "
            "/org/nightlatch/Nightlatch1 org.nightlatch.Nightlatch1.CallOff")
REBOOT = "pkcheck --action-id org.freedesktop.login1.reboot --process"


def dpkg(board, words):
    """Runs it; returns how many seconds of the guest it took."""
    took = board.tell(f"set -e; began=$(date +%s%N)\nDEBIAN_FRONTEND=noninteractive dpkg {words} >&2\n"
                      "echo $((($(date +%s%N) - began) / 1000000))", 300).splitlines()[-1]
    unfinished = board.tell("dpkg --audit")
    check(not unfinished, f"after dpkg {words}: {unfinished}")
    return int(took) / 1000


def check_installed(board, version=None):
    """All there as the package has it, nothing failed."""
    changed = board.tell(f"dpkg --verify {PACKAGE}")
    check(not changed, f"dpkg finds another file than the package's: {changed}")
    found = board.tell(f"dpkg-query -W -f '${{db:Status-Status}} ${{Version}}' {PACKAGE}").split()
    wanted = version or board.tell(f"dpkg-deb -f {NEW} Version")
    check(found == ["installed", wanted], f"dpkg says of the package: {found}")
    failed = board.tell("systemctl --failed --plain --no-legend")
    check(not failed, f"units failed: {failed}")


def wait_at_rest(board):
    guest.wait_status(board, "rest")
    account = guest.account(board)
    running_as = board.tell(f"stat -c %U /proc/{guest.property_of(board, 'MainPID')}")
    check(running_as == account, f"the service runs as {running_as}, not as {account}")


def power_off_by_hand(run, board):
    lose_supply(run, board, since=press_to_power_off(run, board, CLEAR), timeout=300)


def enabled(board):
    """Of all units: those that a boot starts."""
    return board.tell("systemctl list-unit-files --plain --no-legend --state=enabled,enabled-runtime,masked "
                      "| awk '{ print $1, $2 }' | sort")


def running(run, deb=NEW):
    """A board on which somebody has installed the package, configured and started it."""
    board = run.restored()
    took = dpkg(board, f"-i {deb}")
    check_installed(board, OLD_VERSION if deb == OLD else None)
    guest.write(board, guest.CONFIG, CONFIGURATION)
    board.tell(f"systemctl enable --now {guest.SERVICE}")
    board.tell(f"systemctl start {LOGBOOK_UNITS}")  # as the next boot would
    wait_at_rest(board)
    return board, took


def recorded(board):
    """The kinds of the logbook's records, in order."""
    return board.tell(f"sed -n 's/.*\"kind\":\"\\([a-z]*\\)\".*/\\1/p' {LOGBOOK}").split()


def since_when(board):
    """Since when each unit has been active that an upgrade is to leave alone; one that is not, not at all."""
    return [board.tell(f"systemctl show -P ActiveEnterTimestampMonotonic {unit}")
            if board.ask(f"systemctl is-active -q {unit}")[0] == 0 else "0"
            for unit in f"{LOGBOOK_UNITS} {SECOND_ROUTE}".split()]


@scenario("installed, configured and enabled on a running board, a hold powers off")
def installed_and_off(run):
    board = run.restored()
    took = dpkg(board, f"-i {NEW}")
    check_installed(board)
    check(guest.property_of(board, "ActiveState") == "inactive", "it runs without a configuration")
    wanted = board.tell(f"systemctl is-enabled {guest.SERVICE}")
    check(wanted == "enabled", f"a boot would not start it: {wanted}")
    logbook = board.tell(f"systemctl is-enabled {LOGBOOK_UNITS}").split()
    check(logbook == ["enabled"] * 2, f"a boot would keep no logbook: {logbook}")
    second = board.ask(f"systemctl is-enabled {SECOND_ROUTE}")[1].split()
    check(second == ["disabled"] * 2, f"the second route is {second}")
    chip = board.tell("stat -c '%U:%G %a' /dev/gpiochip0")
    check(chip == "root:gpio 660", f"/dev/gpiochip0 is {chip}")
    bad = board.tell(f"systemd-analyze verify --man=no {guest.SERVICE} 2>&1", 120)
    check("nightlatch" not in bad, f"systemd-analyze says: {bad}")
    guest.write(board, guest.CONFIG, CONFIGURATION)
    began = board.now()
    board.tell(f"systemctl start {guest.SERVICE}")
    wait_at_rest(board)
    run.note(f"dpkg -i took {took:.1f} s of the guest's time, from the start to rest "
             f"{board.now() - began:.1f} s")
    complaints = board.tell(f"journalctl -b -q -o cat -p warning -u {guest.SERVICE}")
    check(not complaints, f"the service complains: {complaints}")
    power_off_by_hand(run, board)
    guest.check_asked_once(board)


@scenario("installed and configured, it is there after a boot, and a hold powers off")
def there_after_a_boot(run):
    board, _ = running(run)
    board.tell("systemctl --no-block reboot")
    check(board.wait_reset(120), "the board was not reset in 120 s")
    run.metronome.stop()
    board.wait_booted()
    wait_at_rest(board)
    check_installed(board)
    power_off_by_hand(run, board)


def policies(board):
    """What bus and polkit say: of a stranger who calls a countdown off, of the service that asks for a
    reboot."""
    _, said = board.ask(f"setpriv --reuid {STRANGER} --regid {STRANGER} --clear-groups {CALL_OFF}")
    status, _ = board.ask(f"{REBOOT} {guest.property_of(board, 'MainPID')}")
    return "polkit does not allow it" in said, status == 0


def upgrade(run, board):
    """To the new package, from the older one."""
    check(guest.property_of(board, "TimeoutStopUSec") == OLD_STOP, "the older unit is not in force")
    was = policies(board)
    check(was == (False, False), f"the older policies are not in force: {was}")
    before, config = guest.property_of(board, "MainPID"), board.tell(f"cat {guest.CONFIG}")
    board.tell(f"systemctl start {SECOND_ROUTE}")
    units_before = since_when(board)
    check("0" not in units_before, "control: the logbook's or the second route's units are not active")
    took = dpkg(board, f"-i {NEW}")
    check_installed(board)
    check(guest.property_of(board, "TimeoutStopUSec") == NEW_STOP, "the older unit is in force still")
    check(guest.property_of(board, "NeedDaemonReload") == "no", "systemd does not know the new unit")
    check(guest.property_of(board, "MainPID") not in ("0", before), "the older program runs on")
    check(board.tell(f"cat {guest.CONFIG}") == config, "the configuration was changed")
    check(board.tell(f"systemctl is-enabled {guest.SERVICE}") == "enabled", "it is not enabled any more")
    check(since_when(board) == units_before, "the logbook's or the second route's units were stopped, or "
          "started again")
    check(recorded(board) == ["started"], f"the upgrade was recorded: {recorded(board)}")
    run.note(f"the upgrade took {took:.1f} s of the guest's time")


@scenario("upgraded at rest, the new program, unit, bus policy and polkit rule are in force, configuration "
          "and enabling are kept, and a hold powers off")
def upgraded_at_rest(run):
    board, _ = running(run, OLD)
    board.tell(f"useradd -M {STRANGER}")
    upgrade(run, board)
    wait_at_rest(board)
    check(policies(board) == (True, True), f"the new policies are not in force: {policies(board)}")
    guest.check_nothing_asked(board)
    power_off_by_hand(run, board)


@scenario("upgraded while the button is held, nothing is asked however long it is held, and then a hold "
          "powers off")
def upgraded_while_pressed(run):
    board, _ = running(run, OLD)
    board.tell(f"useradd -M {STRANGER}")
    board.press()
    guest.wait_status(board, "holding")
    upgrade(run, board)
    guest.wait_status(board, "waiting")
    board.at(board.now() + guest.HOLD + 1, board.release)
    wait_at_rest(board)
    guest.check_nothing_asked(board)
    check(not board.edges_of(SUPPLY), "the post-halt line moved")
    power_off_by_hand(run, board)


def check_silent(board):
    """The button does nothing, and nobody holds its line."""
    held, _ = board.press_for(guest.HOLD + 1)
    check(not guest.going_down(board), f"held {held:.1f} s, the board is going down")
    line = board.tell("gpioinfo --chip gpiochip0 FRONT_BUTTON")
    check("consumer" not in line, f"somebody holds the button's line: {line}")


@scenario("removed, it stops and nobody holds the line; configuration and enabling come back with the "
          "package, and a hold powers off")
def removed_and_put_back(run):
    board, _ = running(run)
    board.tell(f"systemctl enable --now {SECOND_ROUTE}")
    dpkg(board, f"-r {PACKAGE}")
    left = board.tell("grep -s nightlatch /proc/[0-9]*/comm || true\n"
                      "systemctl list-units --plain --no-legend 'nightlatch*'")
    check(not left, f"after removing there is still: {left}")
    check(recorded(board) == ["started"], f"removing was recorded: {recorded(board)}")
    check(board.tell(f"cat {guest.CONFIG}") == CONFIGURATION.strip(), "the configuration is gone")
    check(not board.tell("systemctl --failed --plain --no-legend"), "a unit failed")
    check_silent(board)
    dpkg(board, f"-i {NEW}")
    check_installed(board)
    wait_at_rest(board)
    power_off_by_hand(run, board)


# What dpkg, the journal and the like keep of anything ever done, and what changes by itself.
NOT_OURS = ("/var/log", "/var/lib/dpkg/status-old", "/var/lib/dpkg/available", "/var/lib/dpkg/lock*",
            "/var/lib/dpkg/triggers", "/var/lib/systemd/timers", "/var/lib/systemd/random-seed",
            "/var/lib/systemd/catalog", "/etc/passwd-", "/etc/group-", "/etc/shadow-", "/etc/gshadow-",
            "/var/cache/ldconfig", "/run/systemd/journal", "/run/udev", "/run/systemd/units",
            "/run/log", "/run/systemd/generator*", "/run/systemd/sessions", "/run/systemd/users",
            "/run/systemd/inhibit")
ACCOUNTS = ("/etc/passwd", "/etc/group", "/etc/shadow", "/etc/gshadow")


def everything(board):
    """Each file with owner and mode, what the small ones in /etc hold, accounts, and what is enabled."""
    prune = " -o ".join(f"-path '{path}'" for path in NOT_OURS)
    files = board.tell(f"find / /run /dev -xdev \\( {prune} \\) -prune -o -type d -printf '%p %u:%g %m\\n' "
                       "-o ! -type s -printf '%p %u:%g %m %l\\n'", 120)
    texts = board.tell("find /etc -type f -size -64k -exec sha256sum {} + | awk '{ print $2, $1 }'", 120)
    lines = f"{files}\n{texts}\n{board.tell('getent passwd; getent group')}\n{enabled(board)}".splitlines()
    return {line for line in lines if len(line.split()) > 2 or not line.startswith(ACCOUNTS)}


def differences(before, after):
    return sorted(f"+ {line}" for line in after - before) + sorted(f"- {line}" for line in before - after)


def check_only_accounts_left(differing, account):
    """An account stays, since files elsewhere may be its own and another would get its number
    [wiki.debian.org/AccountHandlingInMaintainerScripts]; and so does the group of the chips, which are
    that group's until the next boot."""
    kept = (f"+ {account}:", "+ gpio:", "+ /dev/gpiochip", "- /dev/gpiochip")
    left = [line for line in differing if not line.startswith(kept)]
    check(not left, f"{len(left)} traces are left:\n" + "\n".join(left))
    return [line for line in differing if line.startswith(kept)]


@scenario("purged, nothing of it is left but its account and the chips' group: files, other accounts and "
          "enabled units are as before it was installed")
def purged_without_a_trace(run):
    board = run.restored()
    board.tell("systemctl start polkit")  # which is asked sooner or later, and then has folders of its own
    before = everything(board)
    dpkg(board, f"-i {NEW}")
    guest.write(board, guest.CONFIG, CONFIGURATION)
    board.tell(f"systemctl start {guest.SERVICE} {LOGBOOK_UNITS}")
    wait_at_rest(board)
    account, there = guest.account(board), differences(before, everything(board))
    check(any(line.startswith(f"+ {guest.CONFIG}") for line in there),
          f"control: the lists do not show what came: {there}")
    board.press_for(guest.HOLD / 3)
    guest.wait_told(board, "near_miss")
    dpkg(board, f"-P {PACKAGE}")
    check_silent(board)
    kept = check_only_accounts_left(differences(before, everything(board)), account)
    run.note(f"{len(before)} lines of files, accounts and units are as they were; installed, "
             f"{len(there)} differed. Still there: {'; '.join(kept)}")
