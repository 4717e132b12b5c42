# SPDX-License-Identifier: MIT
"""A board for a developer's own hands: commands go to the guest, pins answer to words."""

import time

from image import Failed

HELP = """Every line is run as root on the board, except these:
  :press SECONDS   hold the button that long        :pins    what the outputs did so far
  :down  :up       press and let go by hand         :log     where the console is
  :line N LEVEL    drive an input line (1 or 0)     :cut     pull the plug and leave"""


def _pins(machine, words):
    match words:
        case [":press", seconds]:
            held, _ = machine.press_for(float(seconds))
            print(f"held {held:.3f} s")
        case [":down"]:
            machine.press()
        case [":up"]:
            machine.release()
        case [":line", line, level]:
            machine.set_line(int(line), int(level))
        case [":pins"]:
            print("\n".join(str(edge) for edge in machine.edges))
        case [":log"]:
            print(machine.log)
        case _:
            print(HELP)


def run(bench):
    with bench.power_on("shell") as machine:
        machine.resume()
        began = time.monotonic()
        machine.wait_booted()
        print(f"booted in {time.monotonic() - began:.1f} s\n{HELP}")
        while machine.process.poll() is None:
            try:
                text = input("board# ").strip()
            except EOFError:
                break
            if text == ":cut":
                break
            try:
                if text.startswith(":"):
                    _pins(machine, text.split())
                elif text:
                    status, output = machine.ask(text, 600)
                    print(output, end="" if output.endswith("\n") else "\n")
                    if status:
                        print(f"(status {status})")
            except (Failed, ValueError) as trouble:
                print(trouble)
    bench.discard("shell")
    return 0
