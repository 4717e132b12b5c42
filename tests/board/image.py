# SPDX-License-Identifier: MIT
"""Disk images of the board, read and written without mounting anything and without being root."""

import json
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import tempfile

ENVIRONMENT = {**os.environ, "PATH": os.environ["PATH"] + ":/usr/sbin:/sbin"}


F2FS_BYTES = 1 << 30  # what it sets aside leaves of 512 MiB too little


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


def put_files(image, files):
    """Lays `files` (path to text) over the image."""
    with tempfile.TemporaryDirectory() as scratch:
        for path, text in files.items():
            target = pathlib.Path(scratch + path)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(text)
        put_tree(image, scratch)


def bytes_of(image, path):
    """A file on the image; empty where there is none."""
    return subprocess.run(["debugfs", "-R", f"cat {path}", str(image)], check=True,
                          capture_output=True, env=ENVIRONMENT).stdout


def text_of(image, path):
    return bytes_of(image, path).decode()


def make_ext4(image, size, owner="0:0"):
    """An empty one of that size ("16M"); its top folder is the owner's (UID:GID)."""
    subprocess.run(["mke2fs", "-q", "-F", "-t", "ext4", "-b", "4096",
                    "-E", f"lazy_itable_init=0,root_owner={owner}", str(image), size],
                   check=True, capture_output=True, env=ENVIRONMENT)


def make_f2fs(image, target):
    """What an ext4 image holds, in f2fs. Files keep their owners, so only root can."""
    if os.getuid():
        raise RuntimeError("a root file system of f2fs can be filled by root only")
    with tempfile.TemporaryDirectory() as scratch:
        _debugfs(image, [f"rdump / {scratch}"])
        made = pathlib.Path(scratch + ".f2fs")
        with made.open("wb") as file:
            file.truncate(F2FS_BYTES)
        for command in (["mkfs.f2fs", "-q", str(made)], ["sload.f2fs", "-P", "-f", scratch, str(made)]):
            subprocess.run(command, check=True, capture_output=True, env=ENVIRONMENT)
    shutil.move(made, target)


def needs_recovery(image):
    """True when the journal holds what the file system does not: it was not unmounted in order."""
    text = subprocess.run(["dumpe2fs", "-h", str(image)], check=True, capture_output=True,
                          text=True, env=ENVIRONMENT).stdout
    features = next(line for line in text.splitlines() if line.startswith("Filesystem features:"))
    return "needs_recovery" in features.split()


def f2fs_needs_recovery(image):
    """True when the checkpoint that it goes by is not an unmount's [linux fs/f2fs/f2fs_fs.h,
    CP_UMOUNT_FLAG; f2fs-tools print the flags]."""
    text = subprocess.run(["dump.f2fs", "-d", "1", str(image)], check=True, capture_output=True, text=True,
                          env=ENVIRONMENT).stdout
    return " unmount" not in re.search(r"checkpoint state = .*", text)[0]


def recovered(image):
    """What a check says of a copy, which it puts in order; the copy is the file system as the next boot
    would have it."""
    done = subprocess.run(["e2fsck", "-fy", str(image)], text=True, capture_output=True, env=ENVIRONMENT)
    if done.returncode & ~1:  # 1: it mended something [e2fsck(8)]
        raise RuntimeError(f"{image}: e2fsck ended with {done.returncode}: {done.stdout}{done.stderr}")
    return done.stdout


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
