#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Follows the button in Python, with nothing but `nightlatch follow --json`.

The tool reconnects by itself and says when there is no service; each line is complete by itself.
"""

import json
import subprocess
import time


def records():
    """Each record as it comes; the first comes at once."""
    with subprocess.Popen(["nightlatch", "follow", "--json"], stdout=subprocess.PIPE, text=True) as tool:
        try:
            for line in tool.stdout:
                yield json.loads(line)
        finally:
            tool.terminate()


def left(record: dict) -> str:
    """By the service's own clock, which is this machine's: so a progress bar needs no further record."""
    if record["until"] is None:
        return ""
    seconds = (record["until"] - time.clock_gettime_ns(time.CLOCK_MONOTONIC) // 1000) / 1e6
    return f", {max(seconds, 0):.1f} s left"


def in_words(record: dict) -> str:
    if "announced" in record:
        return f"announced: {record['announced']}"
    if not record["running"]:
        return f"not running: {record['why']}"
    reason = record["reason"] or {}
    # A code that this program does not know is "something else": say it as it is.
    why = f" ({reason['code']}: {reason.get('why') or reason.get('text') or ''})" if reason else ""
    stage = f" \"{record['stage']}\"" if record["stage"] else ""
    return f"{record['cue']}{stage}{left(record)}{why}"


if __name__ == "__main__":
    for one in records():
        print(in_words(one), flush=True)
