#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Stands in for `nightlatch` in a test's PATH: tells what a Player (player.py) plays.

Knows follow --json, follow --run PROGRAM…, and call-off, by the service's interface for applications;
where the program ends with 0, so does this when the player ends it.
"""

import json
import os
import socket
import subprocess
import sys


def main(words: list[str]) -> int:
    connection = socket.socket(socket.AF_UNIX)
    connection.connect(os.environ["NIGHTLATCH_PLAYER"])
    connection.sendall(json.dumps(words).encode() + b"\n")
    played = connection.makefile("r", encoding="utf-8")
    if words == ["call-off"]:
        return int(played.readline())
    if words == ["follow", "--json"]:
        try:
            for line in played:
                print(line, end="", flush=True)
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # or Python complains once more when it ends
            return 2
        return 0
    if words[:2] == ["follow", "--run"]:
        for line in played:
            run(words[2:], json.loads(line))
        return 0
    print(f"nightlatch: the stand-in knows no {' '.join(words)}", file=sys.stderr)
    return 2


def run(command: list[str], record: dict) -> None:
    """One start for each record of the service, in order: told by the environment, and by the whole
    record on standard input. Nothing is run while there is no service."""
    if not record["running"]:
        return
    reason = record.get("reason") or {}
    told = {"CUE": record.get("cue"), "STAGE": record.get("stage"), "SINCE": record.get("since"),
            "UNTIL": record.get("until"), "REASON": reason.get("code"),
            "REASON_TEXT": reason.get("text"), "POST_HALT": record.get("post_halt"),
            "DRY": int(record.get("dry", False))}
    if "announced" in record:
        told = {"ANNOUNCED": record["announced"]}
    ours = {name: value for name, value in os.environ.items() if not name.startswith("NIGHTLATCH_")}
    theirs = {f"NIGHTLATCH_{name}": "" if value is None else str(value) for name, value in told.items()}
    subprocess.run(command, env={**ours, **theirs}, input=json.dumps(record) + "\n", text=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
