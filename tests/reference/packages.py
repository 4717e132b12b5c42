# SPDX-License-Identifier: MIT
"""Debian's kernel packages, from this machine's own apt sources, into a cache outside of the tree.

No architecture is added to the system: apt works on a state directory of its own.
"""

import os
import shutil
import subprocess
import time
from pathlib import Path
from typing import NamedTuple

# The package of each architecture that depends on the newest kernel with device trees.
NEWEST = {"arm64": "linux-image-arm64", "armhf": "linux-image-armmp"}
CACHE = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "nightlatch/reference"
APT_SOURCE = Path(__file__).resolve().parents[2] / "scripts/apt-source"
A_DAY = 24 * 3600


class Kernel(NamedTuple):
    package: str
    version: str
    arch: str
    trees: Path  # the folder with its *.dtb


def release() -> str:
    for line in Path("/etc/os-release").read_text().splitlines():
        if line.startswith("VERSION_CODENAME="):
            return line.partition("=")[2].strip('"')
    raise SystemExit("reference: /etc/os-release names no release")


class Apt:
    """apt for one architecture and one suite."""

    def __init__(self, arch: str, suite: str):
        self.state = CACHE / "apt" / f"{suite}-{arch}"
        (self.state / "lists/partial").mkdir(parents=True, exist_ok=True)
        (self.state / "cache/archives/partial").mkdir(parents=True, exist_ok=True)
        (self.state / "status").touch()
        sources = subprocess.run([APT_SOURCE, suite], check=True, capture_output=True, text=True)
        form = "list" if sources.stdout.startswith("deb ") else "sources"
        (self.state / f"debian.{form}").write_text(sources.stdout)
        settings = {
            "APT::Architecture": arch, "APT::Architectures": arch, "APT::Sandbox::User": "",
            "Acquire::Languages": "none", "Dir::State": self.state,
            "Dir::State::lists": self.state / "lists", "Dir::State::status": self.state / "status",
            "Dir::Cache": self.state / "cache", "Dir::Etc::sourceparts": "/dev/null",
            "Dir::Etc::sourcelist": self.state / f"debian.{form}",
        }
        self.options = [word for name, value in settings.items() for word in
                        ("-o", f"{name}={value}")]

    def run(self, program: str, *words: str, cwd: Path | None = None) -> str:
        done = subprocess.run([program, *self.options, "-q", *words], cwd=cwd, text=True,
                              stdout=subprocess.PIPE, env={**os.environ, "LC_ALL": "C"})
        if done.returncode != 0:
            raise SystemExit(f"reference: {program} {' '.join(words)} failed")
        return done.stdout

    def update(self) -> None:
        stamp = self.state / "updated"
        if not stamp.exists() or time.time() - stamp.stat().st_mtime > A_DAY:
            self.run("apt-get", "update")
            stamp.touch()

    def field(self, package: str, name: str) -> str:
        for line in self.run("apt-cache", "show", "--no-all-versions", package).splitlines():
            if line.startswith(f"{name}: "):
                return line.partition(": ")[2]
        raise SystemExit(f"reference: apt knows no {name} of {package}")


def unpacked(apt: Apt, package: str, version: str) -> Path:
    """The folder with the package's trees; complete, or not there."""
    folder = CACHE / "trees" / f"{package}_{version.replace(':', '%3a')}"
    if folder.is_dir():
        return folder
    work = folder.with_suffix(".new")
    shutil.rmtree(work, ignore_errors=True)
    (work / "trees").mkdir(parents=True)
    apt.run("apt-get", "download", f"{package}={version}", cwd=work)
    (archive,) = work.glob("*.deb")
    with subprocess.Popen(["dpkg-deb", "--fsys-tarfile", archive], stdout=subprocess.PIPE) as data:
        done = subprocess.run(["tar", "-x", "-C", work / "trees", "--wildcards", "*.dtb"],
                              stdin=data.stdout)
    if done.returncode != 0 or data.returncode != 0:
        raise SystemExit(f"reference: {archive.name} could not be unpacked")
    (work / "trees").rename(folder)
    shutil.rmtree(work)
    return folder


def kernels(suite: str) -> list[Kernel]:
    found = []
    for arch, newest in NEWEST.items():
        apt = Apt(arch, suite)
        apt.update()
        package = apt.field(newest, "Depends").split()[0].rstrip(",")
        version = apt.field(package, "Version")
        found.append(Kernel(package, version, arch, unpacked(apt, package, version)))
    return found
