# SPDX-License-Identifier: MIT
"""clang-tidy, in three ways.

On what changed: a clean result is remembered outside the tree by a key over all that it depends on
(the file, our headers that it reaches, the settings, the command, the tool). On all, in batches as
the debug preset compiles them: the libraries' headers cost most of the time. On each file by itself:
only so the path analyser sees everything, because it passes over what a source includes."""

import hashlib
import json
import os
import re
import shutil
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple

# A run by hand or before a stop should answer within a minute; what is left over is said.
SECONDS = 35.0


def clang(tool: str) -> str:
    """The program of the reference version where it is installed beside others."""
    return next((name for name in (f"clang-{tool}-14", f"clang-{tool}") if shutil.which(name)),
                f"clang-{tool}")


def cache_folder(top: Path) -> Path:
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "nightlatch" / "check" / hashlib.sha256(str(top).encode()).hexdigest()[:16]


def configure(top: Path, tree: dict[str, str], cache: Path, unity: bool) -> list[dict]:
    """The compile commands as CMake gives them; configured again only when its files changed."""
    build = build_folder(cache, unity)
    digest = hashlib.sha256()
    for path in sorted(tree):
        if path.endswith(("CMakeLists.txt", ".cmake", ".in")) or path == "CMakePresets.json":
            digest.update(path.encode() + tree[path].encode())
    stamp = build / "configured"
    if not stamp.exists() or stamp.read_text() != digest.hexdigest():
        build.mkdir(parents=True, exist_ok=True)
        batches = ["-DCMAKE_UNITY_BUILD=ON", "-DCMAKE_UNITY_BUILD_BATCH_SIZE=8"] if unity else []
        subprocess.run(["cmake", "-G", "Ninja", "-S", top, "-B", build, "-DCMAKE_BUILD_TYPE=Debug",
                        "-DCMAKE_CXX_COMPILER=g++", "--log-level=ERROR", *batches],
                       check=True, stdout=subprocess.DEVNULL)
        stamp.write_text(digest.hexdigest())
    return json.loads((build / "compile_commands.json").read_text())


def build_folder(cache: Path, unity: bool) -> Path:
    return cache / "batches" / "build" if unity else cache / "build"


def sources_of(file: Path, top: Path) -> list[str]:
    """The file itself, or what it includes when CMake made it of several; by paths in the tree."""
    if not re.fullmatch(r"unity_\d+_cxx\.cxx", file.name):
        return [os.path.relpath(file, top)]
    included = re.findall(r'^#include "([^"]+)"', file.read_text(), re.M)
    return [os.path.relpath(name, top) for name in included]


def reached(path: str, tree: dict[str, str], seen: set[str]) -> set[str]:
    """Our own files that `path` includes, itself among them."""
    if path in seen:
        return seen
    seen.add(path)
    for name in re.findall(r'^\s*#\s*include\s*"([^"]+)"', tree[path], re.M):
        for folder in (os.path.dirname(path), "lib", ".", "tests"):
            found = os.path.normpath(os.path.join(folder, name))
            if found in tree:
                reached(found, tree, seen)
                break
    return seen


def key_of(path: str, command: str, tree: dict[str, str], tool: str) -> str:
    digest = hashlib.sha256((tool + command).encode())
    for name in sorted(reached(path, tree, set())):
        digest.update(name.encode() + b"\0" + tree[name].encode())
    for name in sorted(tree):
        if name.endswith(".clang-tidy"):
            digest.update(tree[name].encode())
    return digest.hexdigest()


def examine(path: Path, build: Path, *options: str) -> str:
    """What clang-tidy says about one file; empty if nothing."""
    run = subprocess.run([clang("tidy"), "--quiet", "-p", build, path, *options],
                         capture_output=True, text=True)
    # Its "N warnings generated" on stderr counts what it then suppresses in system headers.
    return (run.stdout + run.stderr).strip() if run.returncode else ""


def copy_settings(top: Path, cache: Path) -> None:
    """clang-tidy looks for them above a file, and the batches that CMake makes lie in the cache."""
    build = build_folder(cache, unity=True)
    for source, target in ((top, build), (top / "tests", build / "tests")):
        if (source / ".clang-tidy").exists():
            target.mkdir(parents=True, exist_ok=True)
            shutil.copy(source / ".clang-tidy", target)


class Job(NamedTuple):
    file: Path
    sources: list[str]  # of the tree
    build: Path
    options: list[str]
    key: str            # under which a clean result is remembered; empty: it is not

    def run(self) -> str:
        return examine(self.file, self.build, *self.options)


def file_jobs(top: Path, tree: dict[str, str], cache: Path) -> list[Job]:
    tool = subprocess.run([clang("tidy"), "--version"], capture_output=True, text=True).stdout
    jobs = {}
    for entry in configure(top, tree, cache, unity=False):
        path = os.path.relpath(os.path.join(entry["directory"], entry["file"]), top)
        # A source that is compiled twice, the proofs' core, is examined once.
        if path in tree and path not in jobs:
            jobs[path] = Job(top / path, [path], build_folder(cache, unity=False), [],
                             key_of(path, entry["command"], tree, tool))
    return list(jobs.values())


def batch_jobs(top: Path, tree: dict[str, str], cache: Path) -> list[Job]:
    entries, seen = configure(top, tree, cache, unity=True), set()
    copy_settings(top, cache)
    jobs = []
    # A batch includes sources, and is CMake's own.
    options = ["--checks=-clang-analyzer-*,-bugprone-suspicious-include"]
    for entry in entries:
        file = Path(entry["directory"]) / entry["file"]
        sources = [path for path in sources_of(file, top) if path in tree]
        if sources and not seen.issuperset(sources):
            seen.update(sources)
            jobs.append(Job(file, sources, build_folder(cache, unity=True), options, ""))
    return jobs


def run(top: Path, tree: dict[str, str], which: str) -> list[str]:
    """`which`: "changed", "all" or "each"."""
    cache = cache_folder(top)
    try:
        jobs = (batch_jobs if which == "all" else file_jobs)(top, tree, cache)
    except (subprocess.CalledProcessError, OSError) as error:
        return [f"the tree cannot be configured for clang-tidy: {error}"]
    clean = cache / "clean"
    clean.mkdir(parents=True, exist_ok=True)
    if which == "changed":
        jobs = [job for job in jobs if not (clean / job.key).exists()]
    stop = time.monotonic() + (SECONDS if which == "changed" else float("inf"))
    said, left = [], []

    def one(job: Job) -> None:
        if time.monotonic() > stop:
            left.extend(job.sources)
        elif complaint := job.run():
            said.append(complaint)
        elif job.key:
            (clean / job.key).touch()

    with ThreadPoolExecutor(len(os.sched_getaffinity(0))) as pool:
        list(pool.map(one, jobs))
    if left:
        said.append(f"clang-tidy has not yet seen {len(left)} changed files ({SECONDS:.0f} s were "
                    "up): run scripts/check again, or scripts/check --each")
    return said
