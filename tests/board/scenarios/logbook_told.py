# SPDX-License-Identifier: MIT
"""What the logbook tells a person: why it was slow, and whether the supply was seen to go."""

import guest
from scenario import check, scenario
from scenarios.gestures import lose_supply, press_to_power_off
from scenarios.logbook import told

SLOW = 3  # seconds; far more than anything else takes to stop
WORDS = "rail to 0 V, 2.1 s"


def check_slow_unit(board, said):
    text = board.tell("nightlatch logbook")
    check("tide-pump.service" in text, f"the slow unit is not named:\n{text}")
    took = int(said["NIGHTLATCH_TOOK_USEC"]) / 1e6
    check(took > SLOW, f"it took {took:.1f} s to go down")


def check_refused(run, board):
    status, text = board.ask(f"nightlatch logbook --witnessed '{WORDS}'")
    run.note(text.strip())
    check(status != 0, "it was taken after a run that was lost")
    status, text = board.ask("nightlatch logbook")
    check(status == 1 and text.startswith("lost"), f"status {status} after a lost run:\n{text}")
    check(WORDS in text, f"the words of before are gone:\n{text}")


@scenario(f"with a journal that stays, the next boot names the unit that took {SLOW} s to stop; a person's "
          "word that the supply went is taken and kept, and refused after a run that was lost")
def slow_unit_and_witness(run):
    board = run.restored()
    guest.write(board, "/etc/systemd/system/tide-pump.service",
                f"[Service]\nExecStart=/bin/sleep infinity\nExecStop=/bin/sleep {SLOW}")
    board.tell("systemctl daemon-reload && systemctl start tide-pump.service")
    lose_supply(run, board, since=press_to_power_off(run, board))
    board = run.another("again", board.disk)
    said = told(board)
    run.note(said["MESSAGE"])
    check(said["NIGHTLATCH_END"] == "orderly", "control: the run before was not orderly")
    check_slow_unit(board, said)
    run.note(board.tell(f"nightlatch logbook --witnessed '{WORDS}'"))
    check(WORDS in board.tell("nightlatch logbook"), "the words are not told")
    board.tell("sync")
    board.cut()
    board = run.another("lost", board.disk)
    check(told(board)["NIGHTLATCH_END"] == "lost", "control: the run before was not lost")
    check_refused(run, board)
