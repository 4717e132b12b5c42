# SPDX-License-Identifier: MIT
"""The audit on a running board: the stock tree passes, each broken tree yields what is meant."""

import json

import guest
from scenario import check, scenario

GPIO = "&{/pl061@9030000}"
CONFIG = guest.base_config() + """
[post_halt]
chip = "9030000.pl061"
line = "SUPPLY_RELEASE"
active = "high"
pulse = "150 ms"
"""

# This board has no watchdog: what the audit advises against a hang then.
SYSCTL = {"/etc/sysctl.d/60-panic.conf": "kernel.panic = 10\nkernel.panic_on_oops = 1\n"}

# name: (what is wrong, appended to the tree's source, verdict, the rules that must find something)
BROKEN = {
    "no_node": ("no post-halt node", "/ { /delete-node/ supply-release; };",
                "absent", {"post-halt-node"}),
    "disabled": ("a disabled post-halt node", '/ { supply-release { status = "disabled"; }; };',
                 "absent", {"post-halt-enabled"}),
    "wrong_line": ("another line in the node",
                   f"/ {{ supply-release {{ gpios = <{GPIO} 3 0>; }}; }};",
                   "contradicted", {"post-halt-line"}),
    "wrong_polarity": ("the other polarity in the node",
                       f"/ {{ supply-release {{ gpios = <{GPIO} 6 1>; }}; }};",
                       "contradicted", {"post-halt-polarity"}),
    "short_pulse": ("a pulse shorter than the circuit needs",
                    "/ { supply-release { active-delay-ms = <50>; }; };",
                    "contradicted", {"post-halt-pulse"}),
    "input": ("a line that is an input until the power-off",
              "/ { supply-release { input; }; };",
              "configured", {"post-halt-input"}),
    "second_node": ("a second post-halt node",
                    f'/ {{ another {{ compatible = "gpio-poweroff"; gpios = <{GPIO} 3 0>; }}; }};',
                    "contradicted", {"post-halt-single"}),
    "hog": ("a hog on the post-halt line",
            f"{GPIO} {{ taken {{ gpio-hog; gpios = <6 0>; output-low; }}; }};",
            "contradicted", {"post-halt-claimed"}),
    "key": ("a power key on the button line",
            f'/ {{ keys {{ compatible = "gpio-keys"; power {{ label = "power"; linux,code = <116>; '
            f"gpios = <{GPIO} 1 1>; }}; }}; }};",
            "configured", {"button-key"}),
    "led": ("an LED on the button line",
            f'/ {{ leds {{ other {{ label = "other"; gpios = <{GPIO} 1 0>; }}; }}; }};',
            "configured", {"button-led"}),
}


def audit(board, prefix=""):
    """The audit's JSON as root, or as the account that the prefix changes to."""
    status, text = board.ask(f"{prefix} nightlatch audit --json")
    check(status in (0, 1) and text.startswith("{"), f"the audit ended with {status}: {text}")
    report = json.loads(text)
    check(report["status"] == status, f"it ended with {status} but says {report['status']}")
    return report


def as_account(board):
    account = guest.account(board)
    return audit(board, f"setpriv --reuid {account} --regid {account} "
                        f"--groups {board.tell('getent group gpio | cut -d: -f3')}")


def found(report):
    """The rules that found something to act on."""
    return {rule["id"] for rule in report["rules"]
            if any(finding["severity"] != "note" for finding in rule["findings"])}


def unseen(report):
    return {rule["id"] for rule in report["rules"] if rule["outcome"] == "cannot-tell"}


def audited(run, extra):
    board = run.booted({guest.CONFIG: CONFIG, **SYSCTL}, extra=extra)
    return board, audit(board)


def check_account_agrees(board, report):
    """What root sees the service's account sees too, or says what it could not see."""
    mine = as_account(board)
    check(mine["verdict"] == report["verdict"],
          f"root: {report['verdict']}, the account: {mine['verdict']} ({mine['reason']})")
    silent = found(report) - found(mine) - unseen(mine)
    check(not silent, f"the account neither finds nor says that it cannot see {silent}")
    words = {"cannot-tell": "cannot tell"}.get(report["verdict"], report["verdict"])
    status = guest.property_of(board, "StatusText")
    check(f"post-halt line: {words}" in status, f"the service's own verdict: {status}")


@scenario("the stock tree passes the audit, for root and for the service's own account")
def audit_of_the_stock_tree(run):
    board, report = audited(run, "")
    check(report["verdict"] == "configured", f"{report['verdict']}: {report['reason']}")
    check(not found(report), f"found: {found(report)}\n{board.ask('nightlatch audit')[1]}")
    check(report["status"] == 0, "it ended with 1")
    check_account_agrees(board, report)
    passed = sum(rule["outcome"] == "pass" for rule in report["rules"])
    run.note(f"{passed} rules passed, cannot tell: {', '.join(sorted(unseen(report))) or 'none'}")


@scenario("with without_post_halt = \"refuse\" and a contradicted line a press is refused and says why")
def audit_refuses(run):
    _, extra, _, _ = BROKEN["wrong_polarity"]
    strict = CONFIG + '\n[leave]\nwithout_post_halt = "refuse"\n'
    board = run.booted({guest.CONFIG: strict}, extra=extra)
    guest.wait_status(board, "rest")
    held, _ = board.press_for(guest.HOLD + 0.8)
    run.margin("held longer than the stage asks", held - guest.HOLD)
    guest.wait_status(board, "refused")
    run.note(guest.wait_told(board, "refused"))
    guest.wait_status(board, "rest")
    guest.check_nothing_asked(board)


@scenario("kept facts are those of the next boot too, byte for byte, and what was changed shows")
def audit_against_the_boot_before(run):
    board = run.booted({guest.CONFIG: CONFIG, **SYSCTL})
    kept = board.tell("nightlatch audit --save /var/lib/unit.facts >/dev/null 2>&1\n"
                      "cat /var/lib/unit.facts")
    check("verdict = configured" in kept, f"kept: {kept}")
    chosen = board.tell("cat /sys/firmware/devicetree/base/chosen/rng-seed "
                        "/sys/firmware/devicetree/base/chosen/kaslr-seed | sha256sum")
    board.tell("systemctl reboot --no-block")
    check(board.wait_reset(120), "the board was not reset in 120 s")
    run.metronome.stop()
    board.wait_booted()
    status, told = board.ask("nightlatch audit --against /var/lib/unit.facts")
    check(status == 0 and "Nothing that matters has changed." in told, f"{status}: {told}")
    again = board.tell("nightlatch audit --save /var/lib/again.facts >/dev/null 2>&1\n"
                       "cat /var/lib/again.facts")
    check(again == kept, f"the files of two boots differ:\n{kept}\n{again}")
    board.tell("sed -i 's/^active = .*/active = \"low\"/' " + guest.CONFIG)
    status, told = board.ask("nightlatch audit --against /var/lib/unit.facts")
    check(status == 1 and "(then: configured)" in told and "config.post-halt-active" in told,
          f"{status}: {told}")
    run.note(f"{len(kept.splitlines())} facts, {len(kept)} bytes; /chosen then {chosen[:12]}")


def broken(name, what, extra, verdict, rules):
    def audit_of_a_broken_tree(run):
        board, report = audited(run, extra)
        check(found(report) == rules,
              f"found {found(report) or 'nothing'}, not {rules}\n{board.ask('nightlatch audit')[1]}")
        check(report["verdict"] == verdict, f"{report['verdict']}: {report['reason']}")
        check_account_agrees(board, report)
        run.note(next(finding["sentence"] for rule in report["rules"] if rule["id"] in rules
                      for finding in rule["findings"]))

    audit_of_a_broken_tree.__name__ = f"audit_{name}"
    scenario(f"{what}: the audit finds just that, the verdict is {verdict}")(audit_of_a_broken_tree)


for key, case in BROKEN.items():
    broken(key, *case)
