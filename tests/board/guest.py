# SPDX-License-Identifier: MIT
"""What scenarios ask of the system inside the board, in the words of the trade."""

import pathlib
import re

from image import Failed, journal
from scenario import check

SERVICE = "nightlatch.service"
CONFIG = "/etc/nightlatch/nightlatch.toml"
HOLD = 3.0  # seconds; of the stage in the board's own configuration

_IDS = pathlib.Path(__file__).resolve().parent.parent.parent / "daemon/sys/message_ids.hpp"


def message_id(kind):
    """The number under which the service files messages of one kind: its own table is asked."""
    found = re.search(rf'Message::{kind}, "([0-9a-f]{{32}})"', _IDS.read_text())
    if not found:
        raise Failed(f"the service has no message of the kind {kind}")
    return found[1]


def write(board, path, text):
    board.tell(f"mkdir -p $(dirname {path})\ncat >{path} <<'END-OF-FILE'\n{text}\nEND-OF-FILE")


def base_config():
    """The configuration that every board starts with."""
    return (pathlib.Path(__file__).parent / ("config" + CONFIG)).read_text()


def configure(board, text):
    """Another configuration for the running service."""
    write(board, CONFIG, text)
    board.tell(f"systemctl restart {SERVICE}")


def told(board, kind):
    """The service's messages of one kind since boot."""
    text = board.tell(f"journalctl -b -q -o cat -u {SERVICE} MESSAGE_ID={message_id(kind)}")
    return text.splitlines()


def wait_told(board, kind, timeout=30, count=1):
    """Waits for the service to have said something of one kind `count` times; the last of them."""
    command = (f"journalctl -b -q -o cat -n all -f -u {SERVICE} MESSAGE_ID={message_id(kind)}")
    # head ends at the last line wanted, whatever becomes of the journalctl that follows on.
    text = board.tell(f"head -n {count} < <(timeout {timeout} {command})", timeout + 30)
    lines = text.splitlines()
    if len(lines) < count:
        raise Failed(f"the service said nothing of the kind {kind} in {timeout} s; it said:\n"
                     + board.tell(f"journalctl -b -q -o short-monotonic -u {SERVICE} | tail -n 15"))
    return lines[-1]


def wait_status(board, word, timeout=30):
    """Waits until the service's status line (systemctl status) begins with the word."""
    command = (f"until [[ $(systemctl show -P StatusText {SERVICE}) == {word}* ]]; do "
               "sleep 0.05; done")
    status, _ = board.ask(f"timeout {timeout} bash -c '{command}'", timeout + 30)
    if status:
        raise Failed(f"the service did not come to {word} in {timeout} s, its status: "
                     + property_of(board, "StatusText"))


def going_down(board):
    """Is the login manager preparing a shutdown?"""
    return board.tell("busctl get-property org.freedesktop.login1 /org/freedesktop/login1 "
                      "org.freedesktop.login1.Manager PreparingForShutdown") != "b false"


def check_nothing_asked(board):
    check(not told(board, "asked"), "the service asked for something")
    check(not going_down(board), "the board is going down")


def check_asked_once(board):
    """After the power has gone: the journal on its disk tells of one request."""
    asked = journal(board.disk, f"MESSAGE_ID={message_id('asked')}", "-b")
    check(len(asked) == 1, f"the service asked {len(asked)} times")


def property_of(board, name):
    return board.tell(f"systemctl show -P {name} {SERVICE}")


def account(board):
    """The service's own."""
    return property_of(board, "User")


class SimulatedChip:
    """A gpio-sim chip of one line in the guest (Linux admin-guide/gpio/gpio-sim.rst)."""

    def __init__(self, board, label="sim-chip", line="SIM_BUTTON"):
        self.board, self.label, self.line = board, label, line
        self.home = f"/sys/kernel/config/gpio-sim/{label}"
        board.tell(f"set -e; mkdir {self.home} {self.home}/bank {self.home}/bank/line0\n"
                   f"echo 1 >{self.home}/bank/num_lines; echo {label} >{self.home}/bank/label\n"
                   f"echo {line} >{self.home}/bank/line0/name")

    def plug(self):
        self.board.tell(f"echo 1 >{self.home}/live; udevadm settle")

    def unplug(self):
        self.board.tell(f"echo 0 >{self.home}/live")

    def device(self):
        return "/dev/" + self.board.tell(f"cat {self.home}/bank/chip_name")

    def name(self):
        return self.board.tell(f"cat {self.home}/bank/chip_name")

    def pull(self):
        """The attribute that is the wire to line 0."""
        return self.board.tell("echo /sys/devices/platform/"
                               f"$(cat {self.home}/dev_name)/gpiochip*/sim_gpio0/pull")

    def press(self):
        self.board.tell(f"echo pull-up >{self.pull()}")

    def release(self):
        self.board.tell(f"echo pull-down >{self.pull()}")

    def hold_with_guest_clock(self, seconds):
        """Press, hold, release in one command, so that the guest's own clock times the hold."""
        pull = self.pull()
        self.board.tell(f"echo pull-up >{pull}; sleep {seconds}; echo pull-down >{pull}")
