#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""After: the same tide display, told by `nightlatch follow --json` what to show. See MOVING-IN.md."""

import json
import subprocess

SCREENS = {"holding": "hold", "ready": "let go", "countdown": "switching off, press to call it off",
           "leaving": "do not unplug yet", "refused": "not now", "stuck": "button stuck",
           "fault": "button fault", "waiting": "tide", "rest": "tide"}


def screen_of(record: dict, shown: str) -> str:
    if "announced" in record:
        return shown
    if not record["running"]:  # the machine goes down: what stood there still holds
        return shown if shown == SCREENS["leaving"] else "tide"
    return SCREENS.get(record["cue"], "tide")


def draw(screen: str) -> None:
    print(screen, flush=True)


def main() -> None:
    shown = ""
    with subprocess.Popen(["nightlatch", "follow", "--json"], stdout=subprocess.PIPE, text=True) as tool:
        for line in tool.stdout:  # a window's loop watches tool.stdout instead
            screen = screen_of(json.loads(line), shown)
            if screen != shown:
                draw(screen)
            shown = screen


if __name__ == "__main__":
    main()
