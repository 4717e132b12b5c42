# SPDX-License-Identifier: MIT
"""What a person can be shown: each record by a name, and words that must stand on the screen then."""

from player import announced, lasting, not_running, state

LOCKED = {"code": "locked", "who": "tide logger", "why": "writing the tide table",
          "text": "Operation denied due to active block inhibitor"}

# Made when asked for, since a record has the time in it.
CASES = {
    "rest": (lambda: state("rest"), ""),
    "waiting": (lambda: state("waiting", level="pressed"), "Let the button go"),
    "holding": (lambda: lasting("holding", 1), "Hold on"),
    "ready": (lambda: lasting("ready", 2, stage="write now"), "Let go now"),
    "ready-off": (lambda: lasting("ready", 7, stage="off"), "it switches off"),
    "ready-last": (lambda: state("ready", stage="start again"), "it starts again"),
    "countdown": (lambda: lasting("countdown", 5, stage="off"), "Switching off"),
    "leaving": (lambda: state("leaving", stage="off", reason={"code": "asked"}), "Do not unplug yet"),
    "leaving-dry": (lambda: state("leaving", stage="off", dry=True, reason={"code": "asked"}), "A trial"),
    "refused": (lambda: state("refused", stage="off", reason=LOCKED), "writing the tide table"),
    "stuck": (lambda: state("stuck", reason={"code": "stuck"}), "let it go"),
    "fault": (lambda: state("fault", reason={"code": "line-unreadable", "rate": 2400}),
              "2400 edges a second"),
    "alarm": (lambda: state("rest", alarms=[{"name": "battery low", "due": True}]), "battery low!"),
    "unknown": (lambda: state("waving"), "Something else"),
    "not-running": (not_running, "Not running"),
    "announced": (lambda: announced("write now"), "“write now”"),
}
