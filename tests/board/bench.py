# SPDX-License-Identifier: MIT
"""Makes boards for the scenarios: builds what they consist of, boots once, restores often."""

import functools
import hashlib
import os
import pathlib
import subprocess
import tempfile
from typing import NamedTuple

import devicetree
import image
from circuit import SupplyCircuit
from qemu import Machine, Parts, SUPPLY

HERE = pathlib.Path(__file__).parent
ROOT = HERE.parent.parent

# Left out of the boot: they cost seconds under emulation and this board has no work for them.
MASKED = """modprobe@.service systemd-hwdb-update.service ldconfig.service
systemd-journal-catalog-update.service systemd-sysusers.service systemd-timesyncd.service
systemd-networkd.service systemd-resolved.service systemd-tpm2-setup.service
systemd-tpm2-setup-early.service systemd-pcrmachine.service systemd-pcrphase.service
systemd-pcrphase-sysinit.service systemd-update-done.service systemd-firstboot.service
getty.target serial-getty@.service apt-daily.timer apt-daily-upgrade.timer dpkg-db-backup.timer
e2scrub_all.timer e2scrub_reap.service fstrim.timer""".split()
BOARD_UNITS = ["board-agent.service", "board-metronome.service"]
MACHINE_ID = "6d0d5f2c3f9b4d0a9c1b7e5a4f3e2d1c"

# What the package's own scripts do when it is installed. tests/board/packages installs the package.
INSTALL = """set -e
systemd-sysusers
systemd-tmpfiles --create
systemctl daemon-reload
udevadm control --reload
systemctl enable nightlatch.service nightlatch-poweroff.path nightlatch-reboot.path
systemctl enable nightlatch-evidence.service nightlatch-started.service nightlatch-ended.service"""


def cache():
    base = os.environ.get("XDG_CACHE_HOME") or pathlib.Path.home() / ".cache"
    return pathlib.Path(os.environ.get("NIGHTLATCH_CACHE") or pathlib.Path(base) / "nightlatch")


def _script(name, *words):
    """Runs one of the scripts; what it prints last on stdout is where its result lies."""
    done = subprocess.run([ROOT / "scripts" / name, *words], stdout=subprocess.PIPE, text=True)
    if done.returncode:
        raise SystemExit(f"board: {name} failed, see above")
    return pathlib.Path(done.stdout.strip().splitlines()[-1])


def _key(tree, words):
    """A name made of all that is in a directory, and of the words."""
    digest = hashlib.sha256(words.encode())
    for path in sorted(pathlib.Path(tree).rglob("*")):
        digest.update(str(path.relative_to(tree)).encode())
        if path.is_symlink():
            digest.update(os.readlink(path).encode())
        elif path.is_file():
            digest.update(oct(path.stat().st_mode).encode() + path.read_bytes())
    return digest.hexdigest()[:16]


class Stock(NamedTuple):
    """What the boards of a bench have on their disk."""
    name: str
    rootfs: pathlib.Path
    programs: pathlib.Path  # those of the board that are run on this machine: their root
    trees: list             # laid over the root file system, one after the other
    install: str            # then done on the board, once


def with_service():
    """Our programs and units as the build installs them, with a configuration."""
    rootfs, stage = _script("board-rootfs"), _script("board-build")
    return Stock("service", rootfs, stage, [stage, HERE / "config"], INSTALL)


def with_packages(suite):
    """Debian and nothing of ours, but for packages that lie in /root/packages."""
    rootfs, made = _script("board-rootfs", "--suite", suite), _script("board-package")
    # The package's files are to be there as on any Debian, its documents too.
    return Stock(f"packages-{suite}", rootfs, made / "programs", [made / "disk"],
                 "rm /etc/dpkg/dpkg.cfg.d/99mmdebstrap")


def with_unit_tests():
    """The tests' programs, and what they read, where they were compiled to look for it."""
    rootfs, made = _script("board-rootfs"), _script("board-tests")
    return Stock("unit-tests", rootfs, made, [made], "tar -C / -xf /root/tests.tar && rm /root/tests.tar")


class Bench:
    """Keeps its files in one directory: consoles of every machine stay there until the next run."""

    def __init__(self, stock):
        _script("setup", "--with", "board")
        self.kernel, self.stock = _script("board-kernel"), stock()
        self.dir = cache() / "board-run"
        self.dir.mkdir(parents=True, exist_ok=True)
        for old in self.dir.iterdir():
            old.unlink()
        self.tree = self.dir / "board.dtb"
        devicetree.build(self.tree)
        self.memory = None
        self.installed = self._install()

    def _install(self):
        """An image with the guest's files and the stock in it, installed by a boot of its own."""
        stock, rootfs, _, trees, install = self.stock
        with tempfile.TemporaryDirectory() as scratch:
            units = pathlib.Path(scratch) / "etc/systemd/system"
            image.merge(scratch, HERE / "guest", *trees)
            wants = units / "multi-user.target.wants"
            wants.mkdir()
            for unit in BOARD_UNITS:
                (wants / unit).symlink_to(f"/etc/systemd/system/{unit}")
            for unit in MASKED:
                (units / unit).symlink_to("/dev/null")
            for name, text in {"machine-id": MACHINE_ID, "hostname": "board"}.items():
                (units.parent.parent / name).write_text(text + "\n")
            key = _key(scratch, rootfs.name + install)
            installed = cache() / f"installed-{stock}-{key}.img"
            if installed.exists():
                return installed
            for old in cache().glob(f"installed-{stock}-*.img"):
                old.unlink()
            image.copy(rootfs, self.dir / "installing.img")
            image.put_tree(self.dir / "installing.img", scratch)
        with self.switch_on("installing", self.dir / "installing.img") as machine:
            machine.resume()
            machine.wait_booted()
            machine.tell(install)
            self.power_off(machine)
        if image.needs_recovery(machine.disk):
            raise SystemExit("board: installing did not end with a clean disk")
        return machine.disk.rename(installed)

    def power_off(self, machine):
        """An orderly end that no scenario is about."""
        machine.power_off_from_inside()
        edge = machine.wait_edge(SUPPLY, 1, 120)
        if edge is None:
            raise SystemExit(f"board: the board did not power off, see {machine.log}")
        machine.cut()

    def switch_on(self, name, disk, **parts):
        """A board with that disk, about to be switched on; `parts` are further ones of qemu.Parts."""
        return Machine(Parts(self.kernel, parts.pop("tree", self.tree), disk, self.dir / f"{name}.console",
                             **parts))

    def _scratch(self, name):
        return self.dir / f"{name}.img"

    def disk(self, name, files=None):
        """A disk with what is installed on it, and `files` (path to text) laid over that."""
        disk = self._scratch(name)
        image.copy(self.installed, disk)
        if files:
            image.put_files(disk, files)
        return disk

    def f2fs_disk(self, name):
        """The same in a file system of another kind."""
        made = self.installed.with_suffix(".f2fs")
        if not made.exists():
            for old in cache().glob("installed-*.f2fs"):
                old.unlink()
            image.make_f2fs(self.installed, made)
        disk = self._scratch(name)
        image.copy(made, disk)
        return disk

    def initramfs(self):
        """What the root file system's own tools made for it."""
        return self.stock.rootfs.with_suffix(".initrd")

    def power_on(self, name, files=None, extra=""):
        """A board about to be switched on: `files` (path to text) laid over its disk, `extra` source
        at the end of its device tree."""
        tree = self.tree
        if extra:
            tree = self.dir / f"{name}.dtb"
            devicetree.build(tree, extra)
        return self.switch_on(name, self.disk(name, files), tree=tree)

    def restore(self, name):
        """A board that booted long ago: the memory of one boot, again for every scenario."""
        memory, disk = self.dir / "booted.memory", self.dir / "booted.img"
        if self.memory is None:
            with self.power_on("booted") as machine:
                machine.resume()
                machine.wait_booted()
                machine.save(memory, self.dir / "booted.disk", image.copy)
            disk.unlink()
            self.memory = memory
        disk = self._scratch(name)
        image.copy(self.dir / "booted.disk", disk)
        return self.switch_on(name, disk, memory=memory)

    @functools.cache
    def circuit(self, name):
        """The supply circuit of that name, as it behaves on this board's post-halt line."""
        return SupplyCircuit(self.stock.programs, name)

    def discard(self, name):
        self._scratch(name).unlink(missing_ok=True)
