# SPDX-License-Identifier: MIT
"""The packages of the last commit for all three architectures, and what Debian's own tools say of them.
Needs root, and a mirror."""

import subprocess

import kept
from part import PROGRAMS, Result, Size
from stage import TOP

SIZE = Size(1, 0, "run", fixed=True)
INSTEAD = "it builds six times; CI's own step has the package for amd64, twice, and lintian"
PROMISE = ("built in two folders: the same bytes; lintian of Debian 12 and 13 finds nothing; on both it "
           "installs without a network and rehearses within 30 s, and purged it leaves nothing")
MEASURES = (*PROGRAMS, "config", "systemd", "LICENSE", "README.md", "scripts/package", "scripts/package.d",
            "scripts/roots.sh", "scripts/build-root.sh", "scripts/try-package")


def run(_amount: int) -> Result:
    debs = kept.ROOM / "packages"
    machine = subprocess.run(["dpkg", "--print-architecture"], check=True, capture_output=True,
                             text=True).stdout.strip()
    makes = [TOP / "scripts/package", "--twice", "--lint=13", "--out", debs]
    steps = [*[[*makes, architecture] for architecture in ("amd64", "arm64", "armhf")],
             [TOP / "scripts/try-package", "--debs", debs, "12", "13"],
             [TOP / "scripts/try-package", "--debs", debs, "--piuparts", "12", "13"]]
    broken = []
    for step in steps:
        words = " ".join(str(word) for word in step[1:])
        if subprocess.run(step).returncode != 0:
            broken.append(f"{step[0].name} {words} failed")
    built = sorted(debs.glob("nightlatch_*.deb"))
    sizes = ", ".join(f"{deb.stem.rpartition('_')[2]} {deb.stat().st_size / 2**20:.1f} MiB" for deb in built)
    return Result(f"{len(built)} packages: {sizes}; tried on {machine}", broken)
