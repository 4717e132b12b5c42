# SPDX-License-Identifier: MIT
"""The unit tests' programs, built for the board's processor and run on it."""

import xml.etree.ElementTree as ElementTree

from scenario import check, scenario

FOLDER = "/usr/lib/board/tests"
LONGEST = 600  # seconds for one program, which takes one on a developer's machine
# Cases that fail there for a reason that is not theirs: tried all the same and not counted. One that
# passes is no longer to be listed.
NO_DTC = "it starts dtc and fdtoverlay, which that root has not"
CANNOT = {f"devicetree_overlay_test: {name}": NO_DTC for name in (
    "overlays are applied as fdtoverlay applies them, in their order",
    "a base without labels, and a label or path that it has not, are told apart",
    "an overlay much larger than its base finds room")}


def outcomes(program, status, report):
    """Of each case, whether it passed: a program that says nothing, or ends badly, is a case that failed."""
    try:
        cases = list(ElementTree.fromstring(report).iter("TestCase"))
    except ElementTree.ParseError:
        cases = []
    ends = {case.get("name"): case.find("OverallResult") for case in cases}
    passed = {f"{program}: {name}": end is not None and end.get("success") == "true"
              and end.get("skips", "0") == "0" for name, end in ends.items()}
    if not passed or (status and all(passed.values())):
        passed[f"{program}: its end, with status {status}: {report[-300:]}"] = False
    return passed


@scenario("the unit tests' programs, built for this processor, pass on it")
def unit_tests_pass(run):
    board = run.restored()
    programs = board.tell(f"ls {FOLDER}").split()
    check(programs, "no program is there")
    passed = {}
    for program in programs:
        began = board.now()
        status, report = board.ask(f"cd /tmp && {FOLDER}/{program} --reporter xml 2>/dev/null", LONGEST)
        ended = outcomes(program, status, report)
        passed |= ended
        run.note(f"{program:28} {sum(ended.values()):4} of {len(ended):4} passed "
                 f"{board.now() - began:6.1f} s")
    for name, reason in CANNOT.items():
        run.note(f"cannot run there: {name}: {reason}")
    failed = [name for name, good in passed.items() if not good and name not in CANNOT]
    check(not failed, f"{len(failed)} failed: " + "; ".join(failed))
    again = [name for name in CANNOT if passed.get(name, True)]
    check(not again, f"listed as one that cannot run there, but passes or is gone: {again}")
    run.note(f"{sum(passed.values())} cases of {len(programs)} programs passed, {len(CANNOT)} cannot run "
             "there")
