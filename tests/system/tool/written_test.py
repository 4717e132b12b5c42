# SPDX-License-Identifier: MIT
"""written_test.py NIGHTLATCH: what the logbook's two units write to the device in a boot, by the kernel's own
account of a loop device with ext4 [linux Documentation/block/stat.rst, "write sectors"]. 77: no loop device
here.

A boot that makes a new file needs more: ext4 alone writes 84 KiB where a program makes a file, syncs it and
its folder, and later appends to it, with nothing of ours in between (measured so)."""

import pathlib
import subprocess
import sys
import tempfile

MOST_KIB, MOST_KIB_NEW_FILE = 64, 136
BOOTS = 10  # so many go over the end of a block of 4 KiB twice
KEEP = 4    # runs to a file; then a new one is made


def run(*command: object) -> str:
    return subprocess.run([str(word) for word in command], check=True, capture_output=True, text=True).stdout


def main(tool: str) -> int:
    with tempfile.TemporaryDirectory() as scratch:
        image, folder = pathlib.Path(scratch, "image"), pathlib.Path(scratch, "mounted")
        folder.mkdir()
        with image.open("wb") as file:
            file.truncate(64 << 20)
        run("/usr/sbin/mke2fs", "-q", "-b", 4096, "-t", "ext4", image)
        written = []
        for boot in range(1, BOOTS + 1):
            try:
                run("mount", "-o", "loop", image, folder)
            except subprocess.CalledProcessError as error:
                print(f"no file system can be mounted here: {error.stderr}")
                return 77
            try:
                written.append(of_one_boot(tool, pathlib.Path(scratch, f"root{boot}"), folder, boot))
            finally:
                run("umount", folder)
    print(f"KiB a boot: {written}")
    with_new_file, others = written[::KEEP], [kib for i, kib in enumerate(written) if i % KEEP]
    print(f"with a new file: {max(with_new_file)}, at most {MOST_KIB_NEW_FILE}; "
          f"others: {max(others)}, at most {MOST_KIB}")
    return max(with_new_file) > MOST_KIB_NEW_FILE or max(others) > MOST_KIB


def of_one_boot(tool: str, root: pathlib.Path, folder: pathlib.Path, boot: int) -> int:
    device = pathlib.Path(run("findmnt", "-n", "-o", "SOURCE", folder).strip()).name

    def kib() -> int:
        run("sync", "-f", folder)
        return int(pathlib.Path(f"/sys/block/{device}/stat").read_text().split()[6]) // 2

    (root / "proc/sys/kernel/random").mkdir(parents=True)
    (root / "proc/sys/kernel/random/boot_id").write_text(f"{boot:032d}\n")
    (root / "proc/self").mkdir()
    (root / "proc/self/mountinfo").write_text("22 1 254:2 / / rw - ext4 /dev/root rw\n")
    config = root / "config.toml"
    config.write_text(f'[logbook]\npath = "{folder}/logbook.jsonl"\nkeep = {KEEP}\n')
    before = kib()
    for deed in ("--started", "--ended"):
        run(tool, "logbook", deed, "--root", root, "--config", config)
        run("sync", "-f", folder)  # what is written late is written between the two, as in a run of hours
    return kib() - before


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
