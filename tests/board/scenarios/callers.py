# SPDX-License-Identifier: MIT
"""CallOff before a real polkit and a real login manager: who may, who may not, and what is said.

Who is at the appliance is the login manager's to say: on a seat without virtual terminals the newest
session is the active one [sd-login(3), org.freedesktop.login1(5)].
"""

import guest
from follower import configured, in_countdown
from scenario import check, scenario

GRACE = 120.0  # longer than all of it takes
CALL = ("dbus-send --system --print-reply --dest=org.nightlatch.Nightlatch1 "
        "/org/nightlatch/Nightlatch1 org.nightlatch.Nightlatch1.CallOff")
DENIED = "org.freedesktop.DBus.Error.AccessDenied"
# At the appliance; there before, and still logged in; logged in elsewhere; not logged in; not logged
# in, and granted by the example's rule.
KEEPER, VISITOR, REMOTE, STRANGER, LOGGER = "keeper", "visitor", "remote", "stranger", "tide-logger"
ACTION = "org.nightlatch.Nightlatch1.call-off"
# For the visitor, so that there is something to ask for: the account's own password.
PASSWORD_RULE = f"""polkit.addRule(function (action, subject) {{
    if (action.id == "{ACTION}" && subject.user == "{VISITOR}") {{
        return polkit.Result.AUTH_SELF;
    }}
}});"""
# Becomes a program for which polkit's own agent stands by on the terminal [pkttyagent(1)].
WITH_AGENT = """mkfifo /tmp/agent.$$
pkttyagent --process $$ --notify-fd 9 9>/tmp/agent.$$ &
cat /tmp/agent.$$  # ends when the agent is known to polkit
exec "${@/OWN_PID/$$}" """
# What the agent writes before it asks.
ASKING = "AUTHENTICATING"


class Session:
    """A login of an account, as PAM makes it, with a shell that does what it is told."""

    def __init__(self, board, account, seat=""):
        self.board, self.account = board, account
        self.asks, self.says = (f"/run/{account}.{end}" for end in ("asks", "says"))
        where = f"-p Environment=XDG_SEAT={seat}" if seat else ""
        guest.write(board, f"/run/{account}.shell", f"""exec <>{self.asks} 1<>{self.says} 2>&1
echo $XDG_SESSION_ID
while read -r words; do sh -c "$words"; echo "status $?"; done""")
        board.tell(f"mkfifo {self.asks} {self.says}; chown {account} {self.asks} {self.says}\n"
                   f"systemd-run -q --unit=session-of-{account} -p User={account} -p PAMName=login "
                   f"{where} bash /run/{account}.shell")
        self.id = board.tell(f"head -n 1 {self.says}")

    def ask(self, command):
        text = self.board.tell(f"echo '{command}' >{self.asks}\n"
                               f"while read -r line; do echo \"$line\"; [[ $line != 'status '* ]] || "
                               f"break; done <{self.says}")
        *said, status = text.splitlines()
        return int(status.split()[1]), "\n".join(said)

    def is_active(self):
        return self.board.tell(f"loginctl show-session {self.id} -P Active") == "yes"


class NoSession:
    """A service's way: an account without a login."""

    def __init__(self, board, account):
        self.board, self.account = board, account

    def ask(self, command):
        return self.board.ask(f"setpriv --reuid {self.account} --regid {self.account} --clear-groups "
                              f"{command}")


def logged_in(board):
    """Everybody, in the order in which they come."""
    board.tell("\n".join(f"useradd -M {account}" for account in
                         (KEEPER, VISITOR, REMOTE, STRANGER, LOGGER)))
    board.tell("cp /usr/share/nightlatch/nightlatch-call-off.rules /etc/polkit-1/rules.d/")
    visitor = Session(board, VISITOR, "seat0")
    check(visitor.is_active(), "the only session at the appliance is not active")
    keeper = Session(board, KEEPER, "seat0")
    check(keeper.is_active() and not visitor.is_active(), "the later session did not take the seat")
    return keeper, visitor, Session(board, REMOTE)


def check_denied(board, caller):
    status, said = caller.ask(CALL)
    check(status != 0 and said.startswith(f"Error {DENIED}: polkit does not allow it"),
          f"{caller.account}: status {status}: {said}")
    status, said = caller.ask("nightlatch call-off")
    check(status == 1 and "refused: only root, the active local session" in said,
          f"{caller.account}: status {status}: {said}")
    state = board.tell("nightlatch status --json")
    check('"countdown"' in state, f"{caller.account} was refused, but the countdown is over: {state}")


def check_asks_nobody(board, visitor):
    """The service never has a password asked for, where another program does."""
    guest.write(board, "/etc/polkit-1/rules.d/60-visitor.rules", PASSWORD_RULE)
    guest.write(board, "/run/with-agent", WITH_AGENT)
    board.tell("systemctl reload polkit.service")

    def on_a_terminal(command):
        return visitor.ask(f'timeout 10 script -qec "bash /run/with-agent {command}" /dev/null </dev/null')

    _, said = on_a_terminal(f"pkcheck --allow-user-interaction --action-id {ACTION} --process OWN_PID")
    check(ASKING in said, f"control: with an agent polkit asks for a password, but here: {said}")
    status, said = on_a_terminal("nightlatch call-off")
    check(status == 1 and "refused" in said and ASKING not in said, f"status {status}: {said}")


def check_called_off(board, follower, caller):
    status, said = caller.ask("nightlatch call-off")
    check((status, said.strip()) == (0, "Called off."), f"{caller.account}: status {status}: {said}")
    follower.wait_cue("rest")
    uid = board.tell(f"id -u {caller.account}")
    named = board.tell(f"journalctl -b -q -o cat -u {guest.SERVICE} -n 1 --grep 'that called off'")
    check(f"uid {uid} that called off" in named, f"{caller.account} is uid {uid}, the journal: {named}")
    return named


@scenario("a countdown is called off by whoever is at the appliance and by an account that the example "
          "rule names, whom the journal then names; others are refused")
def who_may_call_off(run):
    board, follower = configured(run, GRACE)
    keeper, visitor, remote = logged_in(board)
    in_countdown(board, follower)
    for caller in (visitor, remote, NoSession(board, STRANGER)):
        check_denied(board, caller)
    check_asks_nobody(board, visitor)
    run.note(check_called_off(board, follower, keeper))
    status, said = keeper.ask(CALL)
    check(status != 0 and "Error.NothingToCallOff" in said, f"at rest: status {status}: {said}")
    in_countdown(board, follower)
    run.note(check_called_off(board, follower, NoSession(board, LOGGER)))
    guest.check_nothing_asked(board)
