# SPDX-License-Identifier: MIT
"""hardening_test.py static-pie|static UNHARDENED PROGRAM…: what readelf says of each program: a position of
its own at each start, relocations that are read-only once it runs, a guard on the stack, checked calls
into the C library. The last program is static, and at a fixed address where the C library has no -static-pie
(armhf's). UNHARDENED has none of it, which must be seen."""

import subprocess
import sys

GUARDED = "it has no stack protector"
CHECKED = "it makes no checked call (_FORTIFY_SOURCE)"
PLACED = "it is not a position-independent program"
READ_ONLY = "its relocations stay writable (GNU_RELRO)"
BOUND = "its symbols are bound late (no BIND_NOW)"
LINKED = "it is linked dynamically"


def readelf(option: str, program: str) -> str:
    return subprocess.run(["readelf", "--wide", option, program], check=True, text=True,
                          capture_output=True, env={"LC_ALL": "C", "PATH": "/usr/bin:/bin"}).stdout


def symbols(program: str) -> set[str]:
    """Without their versions."""
    lines = readelf("--symbols", program).splitlines()
    return {line.split()[7].split("@")[0] for line in lines if len(line.split()) > 7}


def faults(program: str) -> set[str]:
    header, segments, dynamic = (readelf(option, program)
                                 for option in ("--file-header", "--program-headers", "--dynamic"))
    names = symbols(program)
    held = {
        GUARDED: "__stack_chk_fail" in names,
        CHECKED: any(name.startswith("__") and name.endswith("_chk") for name in names),
        PLACED: "DYN" in header and " PIE" in dynamic,
        READ_ONLY: "GNU_RELRO" in segments,
        BOUND: "BIND_NOW" in dynamic or " NOW" in dynamic,
        LINKED: "NEEDED" not in dynamic and "INTERP" not in segments,
    }
    return {fault for fault, holds in held.items() if not holds}


def main(kind: str, unhardened: str, *programs: str) -> int:
    bad = faults(unhardened)
    missed = {GUARDED, CHECKED, PLACED, READ_ONLY, BOUND} - bad
    found = [f"of {unhardened} it was not seen: {fault}" for fault in sorted(missed)]
    for program in programs:
        static = set() if kind == "static-pie" else {PLACED, BOUND}
        allowed = static if program == programs[-1] else {LINKED}
        found += [f"{program}: {fault}" for fault in sorted(faults(program) - allowed)]
    if kind != "static-pie":
        print(f"{programs[-1]} is at a fixed address: the C library has no -static-pie")
    print("\n".join(found) or f"{len(programs)} programs, and each has all of it")
    return bool(found)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
