# SPDX-License-Identifier: MIT
"""The board's device tree: what QEMU would hand out, with board.dtsi appended."""

import pathlib
import subprocess

# The tree carries the processors: QEMU is asked with the very options it is started with later.
MACHINE = ["-M", "virt", "-cpu", "cortex-a53", "-smp", "2", "-m", "512"]
USED_TRANSPORTS = 4  # the last one is a second disk's, where there is one
ALL_TRANSPORTS = 32
FRAGMENT = pathlib.Path(__file__).with_name("board.dtsi")


def build(out, extra=""):
    """Writes the board's device tree blob to `out`; `extra` is more source at the end."""
    dumped = out.with_suffix(".dumped")
    machine = [MACHINE[0], f"{MACHINE[1]},dumpdtb={dumped}", *MACHINE[2:]]
    bare = ["-nodefaults", "-nic", "none", "-display", "none"]
    subprocess.run(["qemu-system-aarch64", *machine, *bare], check=True, capture_output=True)
    text = subprocess.run(["dtc", "-q", "-I", "dtb", "-O", "dts", str(dumped)], check=True,
                          capture_output=True, text=True).stdout
    # The kernel probes every transport, used or not, and a probe takes its time under emulation.
    unused = "\n".join(f"/delete-node/ virtio_mmio@{0xa000000 + 0x200 * n:x};"
                       for n in range(USED_TRANSPORTS, ALL_TRANSPORTS))
    source = f"{text}\n/ {{\n{unused}\n}};\n{FRAGMENT.read_text()}\n{extra}"
    subprocess.run(["dtc", "-q", "-I", "dts", "-O", "dtb", "-o", str(out)], input=source,
                   check=True, text=True)
    dumped.unlink()
