# SPDX-License-Identifier: MIT
"""audit --save and --against as commands, on a blob: what they write, say and end with.

usage: against_test.py NIGHTLATCH
"""

import json
import os
import pathlib
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
HERE = pathlib.Path(__file__).resolve().parent
sys.path.append(str(HERE.parent / "tool"))

import against_schema  # noqa: E402
from unit import Unit  # noqa: E402

TOOL = sys.argv[1]


def audit(folder, unit, *words):
    blob = unit.lay_blob(folder)
    return subprocess.run([TOOL, "audit", "--tree", blob, "--config", folder / "unit.toml", *words],
                          capture_output=True, text=True, timeout=60)


def expect(what, is_so, done):
    if not is_so:
        raise SystemExit(f"not so: {what}\nstatus {done.returncode}\n{done.stdout}{done.stderr}")


def other_line():
    unit = Unit()
    unit.tree = unit.tree.replace("gpios = <&gpio 6 0>", "gpios = <&gpio 7 0>")
    return unit


def kept_and_compared(folder):
    kept = folder / "unit.facts"
    plain = audit(folder, Unit())
    done = audit(folder, Unit(), "--save", kept)
    expect("--save leaves the report and its exit status as they are",
           (done.stdout, done.returncode) == (plain.stdout, plain.returncode), done)
    expect("it says on standard error what it kept", f"kept in {kept}" in done.stderr, done)
    lines = kept.read_text().splitlines()
    expect("its lines are sorted, after the format's", lines[1:] == sorted(lines[1:])
           and lines[0] == "format = nightlatch-audit-facts 1", done)
    done = audit(folder, Unit(), "--against", kept)
    expect("the same unit is as it was", done.returncode == 0
           and "Nothing that matters has changed." in done.stdout, done)
    done = audit(folder, other_line(), "--against", kept)
    expect("another line is told, with then and now", done.returncode == 1
           and "node.line: The kernel drives another line." in done.stdout
           and "then: /soc/gpio@9030000 line 6" in done.stdout
           and "(then: cannot-tell)" in done.stdout, done)
    expect("it is one screen", len(done.stdout.splitlines()) <= 24, done)
    done = audit(folder, other_line(), "--against", kept, "--json")
    told = json.loads(done.stdout)
    expect("a program is told the same", done.returncode == 1 and not told["as_it_was"]
           and [one["key"] for one in told["changed"]] == ["node.line"], done)


def as_published(folder):
    schema = against_schema.validator_of(
        HERE.parents[2] / "daemon/tool/audit/nightlatch-audit-against.schema.json")
    kept = folder / "unit.facts"
    audit(folder, Unit(), "--save", kept)
    lines = kept.read_text().splitlines(keepends=True)
    not_seen_then = [line.partition(" = ")[0] + " = ?\n" if line.startswith("node.") else line
                     for line in lines]
    seen_then = [line.replace(" = ?\n", " = pontoon\n") for line in lines]
    met = set()
    for text in map("".join, (lines, not_seen_then, seen_then, lines[:1])):
        kept.write_text(text)
        done = audit(folder, other_line(), "--against", kept, "--json")
        wrong = against_schema.problems(schema, json.loads(done.stdout)) \
            or against_schema.too_lax_or_strict(schema, json.loads(done.stdout), met)
        expect(f"a program is told in the published form: {wrong}", not wrong, done)
    never = set(against_schema.described(schema.schema)) - {name for name, _ in met}
    expect(f"every member of the form was met, not {sorted(never)}", not never, done)


def refused(folder):
    fifo, long, none = folder / "fifo", folder / "long", folder / "none.facts"
    os.mkfifo(fifo)
    long.write_bytes(b"format = nightlatch-audit-facts 1\n" + b"a" * 65_536)
    foreign = folder / "foreign"
    foreign.write_text("root:x:0:0::/root:/bin/sh\n")
    for file, says in ((fifo, ""), (long, "larger than 64 KiB"), (none, "not there"), ("/dev/zero", ""),
                       (foreign, "foreign:1: this is not a file of `audit --save`"), (folder, "")):
        done = audit(folder, Unit(), "--against", file)
        expect(f"{file} is refused with a sentence", done.returncode == 2 and says in done.stderr
               and not done.stdout and len(done.stderr.splitlines()) == 1
               and "root:x" not in done.stderr, done)
    done = audit(folder, Unit(), "--save", folder / "no" / "such")
    expect("a file that cannot be written is told", done.returncode == 2
           and "cannot write" in done.stderr and not done.stdout, done)
    done = audit(folder, Unit(), "--save", "a", "--against", "b")
    expect("both at once are a wrong command line", done.returncode == 2, done)


for case in (kept_and_compared, as_published, refused):
    with tempfile.TemporaryDirectory() as place:
        case(pathlib.Path(place))
print("audit --save and --against: what they promise holds")
