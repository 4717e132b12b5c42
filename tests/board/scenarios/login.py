# SPDX-License-Identifier: MIT
"""Login managers and journals that do not do their part: the button has its way all the same."""

import guest
from scenario import check, scenario
from scenarios.gestures import lose_supply, press_to_power_off

LOGIN_MANAGER = "systemd-logind.service"
# Longer than anything here takes; ended by the scenario itself.
STALL = 120


@scenario("a login manager that is masked counts as none: a hold takes the second route")
def masked_login_manager(run):
    board = run.restored()
    board.tell(f"systemctl mask --now {LOGIN_MANAGER}")
    # What activates it on the bus is still there: the bus tries, and systemd declines.
    status, said = board.ask("busctl call org.freedesktop.login1 /org/freedesktop/login1 "
                             "org.freedesktop.DBus.Peer Ping")
    check(status != 0, f"the login manager answers: {said}")
    run.note(said.strip())
    guest.wait_status(board, "rest")
    lose_supply(run, board, since=press_to_power_off(run, board))


@scenario("while a suspend is stalled a hold is refused in words that name the sleep; when that is "
          "over a hold works")
def stalled_suspend(run):
    board = run.restored()
    guest.write(board, "/run/systemd/system/systemd-suspend.service.d/stall.conf",
                f"[Service]\nExecStart=\nExecStart=/bin/sleep {STALL}")
    board.tell("systemctl daemon-reload\n"
               "busctl call org.freedesktop.login1 /org/freedesktop/login1 "
               "org.freedesktop.login1.Manager Suspend b false\n"
               "until systemctl -q is-active systemd-suspend.service || "
               "[[ $(systemctl show -P ActiveState systemd-suspend) == activating ]]; "
               "do sleep 0.1; done")
    guest.wait_status(board, "rest")
    press_to_power_off(run, board)
    said = guest.wait_told(board, "refused")
    run.note(said)
    check("sleep" in said, "the refusal does not name the sleep")
    check(not guest.going_down(board), "the board is going down all the same")
    board.tell("systemctl kill systemd-suspend.service")  # a stop would wait for the start's end
    guest.wait_status(board, "rest")
    lose_supply(run, board, since=press_to_power_off(run, board))


@scenario("with the journal stopped and its socket full the service starts anew, and a hold still "
          "powers off")
def stuck_journal(run):
    board = run.restored()
    board.tell("systemctl kill -s STOP systemd-journald.service\n"
               "echo MESSAGE=tide >/run/entry\n"
               "for count in $(seq 5000); do\n"
               "    timeout 1 logger --journald=/run/entry || exit 0\n"
               "done\n"
               "exit 1  # never full: the scenario would show nothing", 300)
    board.tell(f"timeout 60 systemctl restart {guest.SERVICE}", 90)
    guest.wait_status(board, "rest")
    # A board that has just filled a journal has a longer jitter.
    lose_supply(run, board, since=press_to_power_off(run, board, clear=3.0), timeout=300)
