# SPDX-License-Identifier: MIT
"""Every rule through every front end: a running board's files, a blob, an image.

usage: front_ends_test.py NIGHTLATCH AUDIT_PROBE

A defect that a front end can carry is found there, and only with an exit status that says so; one
that it cannot carry is never passed unseen. A unit with which nothing is wrong passes.
"""

import functools
import json
import os
import pathlib
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

sys.dont_write_bytecode = True
HERE = pathlib.Path(__file__).resolve().parent
sys.path.append(str(HERE.parent / "tool"))

import against_schema  # noqa: E402
from cases import BLOB, CASES, IMAGE, LIVE  # noqa: E402
from unit import Unit  # noqa: E402

TOOL, PROBE = sys.argv[1:3]
SCHEMA = against_schema.validator_of(HERE.parents[2] / "daemon/tool/audit/nightlatch-audit.schema.json")
spoiled = set()


def check_schema(front_end, report):
    wrong = (against_schema.problems(SCHEMA, report)
             or against_schema.too_lax_or_strict(SCHEMA, report, spoiled))
    if wrong:
        raise SystemExit(f"{front_end}: against the schema:\n" + "\n".join(wrong))


def never_met():
    """But what takes a logbook, which logbook_test.cpp has."""
    met = {name for name, _ in spoiled}
    return sorted(name for name in set(against_schema.described(SCHEMA.schema)) - met
                  if not name.startswith("witness."))


def audit(front_end, unit, folder):
    """Outcomes by rule."""
    if front_end == LIVE:
        command = [PROBE, unit.lay_live(folder), folder / "calls.json"]
    elif front_end == BLOB:
        command = [TOOL, "audit", "--json", "--tree", unit.lay_blob(folder),
                   "--config", folder / "unit.toml"]
    else:
        command = [TOOL, "audit", "--json", "--root", unit.lay_image(folder)]
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True)
    if done.returncode not in (0, 1, 2) or done.stderr or not done.stdout:
        raise SystemExit(f"{' '.join(map(str, command))}: {done.returncode}\n{done.stderr}")
    report = json.loads(done.stdout)
    check_schema(front_end, report)
    if front_end != LIVE and done.returncode != report["status"]:
        raise SystemExit(f"it ended with {done.returncode} and says {report['status']}")
    rules = {rule["id"]: rule for rule in report["rules"]}
    bad_configuration = rules["configuration"]["outcome"] == "finding"
    if front_end != LIVE and (report["status"] == 2) > bad_configuration:
        raise SystemExit("it ends with 2, and there is nothing wrong with the configuration")
    return rules


def told(rule):
    return rule["reason"] or "; ".join(finding["sentence"] for finding in rule["findings"])


@functools.cache
def audit_of(change, front_end):
    """Many cases share their good unit: it is audited once."""
    unit = Unit()
    if change:
        change(unit)
    with tempfile.TemporaryDirectory() as folder:
        return audit(front_end, unit, pathlib.Path(folder))


def check_rule(name, case, front_end):
    """What is not as it must be."""
    wrong = []
    for kind, change in (("bad", case.bad), ("good", case.good)):
        rule = audit_of(change, front_end)[name]
        outcome = rule["outcome"]
        carried = front_end in case.carries
        if kind == "bad" and carried and outcome != "finding":
            wrong.append(f"{front_end}: {name}: the bad unit gives {outcome}: {told(rule)}")
        if kind == "bad" and not carried and outcome == "pass":
            wrong.append(f"{front_end}: {name}: passed what it cannot see: {told(rule)}")
        passes = case.carries if case.passes is None else case.passes
        if kind == "good" and front_end in passes and outcome != "pass":
            wrong.append(f"{front_end}: {name}: the good unit gives {outcome}: {told(rule)}")
    return wrong


def main():
    wrong = []
    listed = subprocess.run([TOOL, "audit", "--rules"], capture_output=True, text=True, check=True)
    rules = {line.split()[0] for line in listed.stdout.splitlines()}
    wrong += [f"no case for the rule {name}" for name in sorted(rules - set(CASES))]
    wrong += [f"no rule for the case {name}" for name in sorted(set(CASES) - rules)]
    work = [(name, case, front_end) for name, case in CASES.items() if name in rules
            for front_end in (LIVE, BLOB, IMAGE)]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        for said in pool.map(lambda one: check_rule(*one), work):
            wrong += said
    wrong += [f"the schema's {name} was never met" for name in never_met()]
    print("\n".join(wrong))
    print(f"{len(rules)} rules through three front ends: {len(wrong)} wrong")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
