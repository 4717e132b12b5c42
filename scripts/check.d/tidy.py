# SPDX-License-Identifier: MIT
"""clang-tidy on what changed: a clean result is remembered outside the tree by a key over all that
it depends on (the file, our headers that it reaches, the settings, the command, the tool)."""

import hashlib
import json
import os
import re
import shutil
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

# A run by hand or before a stop should answer within a minute; what is left over is said.
SECONDS = 35.0


def clang(tool: str) -> str:
    """The program of the reference version where it is installed beside others."""
    return next((name for name in (f"clang-{tool}-14", f"clang-{tool}") if shutil.which(name)),
                f"clang-{tool}")


def cache_folder(top: Path) -> Path:
    base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "nightlatch" / "check" / hashlib.sha256(str(top).encode()).hexdigest()[:16]


def configure(top: Path, tree: dict[str, str], cache: Path) -> list[dict]:
    """The compile commands as CMake gives them; configured again only when its files changed."""
    build = cache / "build"
    digest = hashlib.sha256()
    for path in sorted(tree):
        if path.endswith(("CMakeLists.txt", ".cmake", ".in")) or path == "CMakePresets.json":
            digest.update(path.encode() + tree[path].encode())
    stamp = build / "configured"
    if not stamp.exists() or stamp.read_text() != digest.hexdigest():
        build.mkdir(parents=True, exist_ok=True)
        subprocess.run(["cmake", "-G", "Ninja", "-S", top, "-B", build, "-DCMAKE_BUILD_TYPE=Debug",
                        "-DCMAKE_CXX_COMPILER=g++", "--log-level=ERROR"],
                       check=True, stdout=subprocess.DEVNULL)
        stamp.write_text(digest.hexdigest())
    return json.loads((build / "compile_commands.json").read_text())


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


def examine(path: Path, build: Path) -> str:
    """What clang-tidy says about one file; empty if nothing."""
    run = subprocess.run([clang("tidy"), "--quiet", "-p", build, path],
                         capture_output=True, text=True)
    # Its "N warnings generated" on stderr counts what it then suppresses in system headers.
    return (run.stdout + run.stderr).strip() if run.returncode else ""


def run(top: Path, tree: dict[str, str], everything: bool) -> list[str]:
    cache = cache_folder(top)
    try:
        commands = configure(top, tree, cache)
    except (subprocess.CalledProcessError, OSError) as error:
        return [f"the tree cannot be configured for clang-tidy: {error}"]
    tool = subprocess.run([clang("tidy"), "--version"], capture_output=True, text=True).stdout
    clean = cache / "clean"
    clean.mkdir(parents=True, exist_ok=True)
    jobs = {}
    for entry in commands:
        path = os.path.relpath(os.path.join(entry["directory"], entry["file"]), top)
        if path in tree:
            key = key_of(path, entry["command"], tree, tool)
            if everything or not (clean / key).exists():
                jobs[path] = key
    stop = time.monotonic() + (float("inf") if everything else SECONDS)
    said, left = [], []

    def one(job: tuple[str, str]) -> None:
        path, key = job
        if time.monotonic() > stop:
            left.append(path)
        elif complaint := examine(top / path, cache / "build"):
            said.append(complaint)
        else:
            (clean / key).touch()

    with ThreadPoolExecutor(len(os.sched_getaffinity(0))) as pool:
        list(pool.map(one, jobs.items()))
    if left:
        said.append(f"clang-tidy has not yet seen {len(left)} changed files ({SECONDS:.0f} s were "
                    "up): run scripts/check again, or scripts/check --all")
    return said
