# SPDX-License-Identifier: MIT
"""Disk images of the board, read and written without mounting anything and without being root."""

import json
import os
import pathlib
import shlex
import shutil
import subprocess
import tempfile

ENVIRONMENT = {**os.environ, "PATH": os.environ["PATH"] + ":/usr/sbin:/sbin"}


class Failed(Exception):
    """What a scenario promises did not come true."""


def copy(source, target):
    subprocess.run(["cp", "--sparse=always", "--reflink=auto", str(source), str(target)],
                   check=True)
    target.chmod(0o600)


def _debugfs(image, commands):
    return subprocess.run(["debugfs", "-w", "-f", "-", str(image)], input="\n".join(commands),
                          check=True, text=True, capture_output=True, env=ENVIRONMENT).stdout


def put_tree(image, tree):
    """Lays a directory over the image's root; everything in it becomes root's."""
    commands, wanted = [], []
    for path in sorted(pathlib.Path(tree).rglob("*")):
        name = "/" + str(path.relative_to(tree))
        if path.is_symlink():
            commands += [f"rm {name}", f"symlink {name} {os.readlink(path)}"]
        elif path.is_dir():
            commands.append(f"mkdir {name}")
        else:
            mode = 0o100755 if path.stat().st_mode & 0o100 else 0o100644
            commands += [f"rm {name}", f"write {shlex.quote(str(path))} {name}",
                         f"sif {name} mode {mode:#o}", f"sif {name} uid 0", f"sif {name} gid 0"]
        wanted.append(name)
    # debugfs goes on after an error (a directory that is there already is one): so look.
    listing = _debugfs(image, commands + [f"testi {name}" for name in wanted])
    lost = [name for name in wanted if f"Inode for {name} does not exist" in listing]
    found = listing.count(" is marked in use")
    if lost or found < len(wanted):
        raise RuntimeError(f"{image}: only {found} of {len(wanted)} files were put: {lost}")


def text_of(image, path):
    """A file on the image; empty where there is none."""
    done = subprocess.run(["debugfs", "-R", f"cat {path}", str(image)], check=True, text=True,
                          capture_output=True, env=ENVIRONMENT)
    return done.stdout


def needs_recovery(image):
    """True when the journal holds what the file system does not: it was not unmounted in order."""
    text = subprocess.run(["dumpe2fs", "-h", str(image)], check=True, capture_output=True,
                          text=True, env=ENVIRONMENT).stdout
    features = next(line for line in text.splitlines() if line.startswith("Filesystem features:"))
    return "needs_recovery" in features.split()


def journal(image, *match):
    """The messages of the journal that lies on the image."""
    return [entry["MESSAGE"] for entry in journal_entries(image, *match)]


def journal_entries(image, *match):
    """The journal that lies on the image, with all fields, read with this machine's tools."""
    with tempfile.TemporaryDirectory() as scratch:
        _debugfs(image, [f"rdump /var/log/journal {scratch}"])
        command = ["journalctl", "-q", "-o", "json", "--directory", f"{scratch}/journal", *match]
        text = subprocess.run(command, check=True, text=True, capture_output=True).stdout
    return [json.loads(line) for line in text.splitlines()]


def merge(target, *trees):
    """Copies directories over one another, keeping links."""
    for tree in trees:
        shutil.copytree(tree, target, symlinks=True, dirs_exist_ok=True)
