# SPDX-License-Identifier: MIT
"""What the service's unit refuses to whoever has taken the service over.

Which setting refuses what is systemd.exec(5)'s and systemd.resource-control(5)'s to say. Each row is
also tried outside the unit, by the same account and by root, where most of it succeeds: what is
refused there in the same way would be no witness for the unit.
"""

import guest
from scenario import check, scenario

PROBE = "/usr/lib/board/forbidden"
DROP_IN = f"/run/systemd/system/{guest.SERVICE}.d/forbidden.conf"
SAID = "/run/forbidden"
# The real unit but for its program, and for what a program that ends would make of it.
OTHER_PROGRAM = f"""[Service]
Type=oneshot
ExecStart=
ExecStart={PROBE}
Restart=no
WatchdogSec=0
TimeoutStartSec=5min
StandardOutput=file:{SAID}"""
# Open to everybody, so that it is not the file's mode that refuses. Nodes that the kernel has no device
# for are made all the same: whether they may be opened is decided before.
OPEN_TO_ALL = """for folder in /etc /usr /usr/bin /usr/lib /boot /var /opt /home /run; do
    mkdir -p -m 777 $folder/board-open
done
[ -e /dev/mem ] || mknod /dev/mem c 1 1
chmod 666 /dev/vda /dev/mem /dev/kmsg /dev/hwrng /sys/power/state"""

# By the system call filter, which kills or answers as the unit says.
FILTERED = {"EPERM", "SIGSYS"}
HIDDEN = {"ENOENT", "EACCES", "EROFS"}
READ_ONLY = {"EROFS"}
# What may come of each inside the unit, and what comes of it outside, by root.
FORBIDDEN = {
    "open the disk, mode 666": ({"EPERM"}, "done"),
    "open /dev/mem, mode 666": ({"EPERM"}, "ENXIO"),
    "open /dev/kmsg, mode 666": ({"EPERM", "EACCES"}, "done"),
    "open /dev/hwrng, mode 666": ({"EPERM"}, "done"),
    "make a device node": (FILTERED, "done"),
    "socket AF_INET": ({"EAFNOSUPPORT"}, "done"),
    "socket AF_NETLINK": ({"EAFNOSUPPORT"}, "done"),
    "socket AF_PACKET": ({"EAFNOSUPPORT"}, "EAFNOSUPPORT"),
    "write in /etc, mode 777": (READ_ONLY, "done"),
    "write in /usr, mode 777": (READ_ONLY, "done"),
    "write in /usr/bin, mode 777": (READ_ONLY, "done"),
    "write in /usr/lib, mode 777": (READ_ONLY, "done"),
    "write in /boot, mode 777": (READ_ONLY, "done"),
    "write in /var, mode 777": (READ_ONLY, "done"),
    "write in /opt, mode 777": (READ_ONLY, "done"),
    "write in /home, mode 777": (HIDDEN, "done"),
    "write in /run, mode 777": (READ_ONLY, "done"),
    "write in /dev/shm": (HIDDEN, "done"),
    "write in /run/lock": (HIDDEN, "done"),
    "open /sys/power/state, mode 666": (READ_ONLY, "done"),
    "open /proc/sysrq-trigger": (HIDDEN, "done"),
    "look at process 1": (HIDDEN, "done"),
    "run a file from its own folder": ({"EACCES"}, "done"),
    "run a file from /tmp": ({"EACCES"}, "done"),
    "set a set-user-ID bit": ({"EPERM"}, "done"),
    "memory to write and run": ({"EPERM", "EACCES"}, "done"),
    "setuid(0)": (FILTERED, "done"),
    "chroot": (FILTERED, "done"),
    "mount": (FILTERED, "done"),
    "unshare, a user name space": (FILTERED, "done"),
    "setns": (FILTERED, "done"),
    "ptrace process 1": (FILTERED, "done"),
    "clock_settime": (FILTERED, "done"),
    "adjtimex": (FILTERED, "done"),
    "sethostname": (FILTERED, "done"),
    "reboot": (FILTERED, "done"),
    "load a kernel module": (FILTERED, "ENOSYS"),
    "kexec_load": (FILTERED, "ENOSYS"),
    "bpf, a map": (FILTERED, "done"),
    "perf_event_open": (FILTERED, "ENOSYS"),
    "keyctl": (FILTERED, "done"),
    "add_key": (FILTERED, "done"),
    "personality": ({"EPERM"}, "done"),
    "the kernel's log": (FILTERED, "done"),
    "real-time scheduling": (FILTERED, "done"),
    "a higher priority": (FILTERED, "done"),
}
# Of these the board's kernel has nothing, so that outside the unit the same comes of it.
NO_CONTROL = {"socket AF_PACKET"}


def tried(text):
    rows = (line.split("\t") for line in text.splitlines())
    return {what: outcome for outcome, what in rows}


@scenario("from inside the real unit nothing that it does without can be reached, and outside it can")
def sandbox_refuses(run):
    board = run.restored()
    account = guest.account(board)
    board.tell(OPEN_TO_ALL)
    guest.write(board, DROP_IN, OTHER_PROGRAM)
    board.tell(f"systemctl stop {guest.SERVICE}; systemctl daemon-reload; systemctl start {guest.SERVICE}",
               300)
    inside = tried(board.tell(f"cat {SAID}"))
    alone = tried(board.tell(f"setpriv --reuid {account} --regid {account} --init-groups {PROBE}"))
    root = tried(board.tell(PROBE))
    run.note(f"{'':32} {'in the unit':14} {'its account':14} root")
    for what in root:
        run.note(f"{what:32} {inside.get(what, '-'):14} {alone.get(what, '-'):14} {root[what]}")
    check(set(inside) == set(alone) == set(root) == set(FORBIDDEN), "not all of it was tried")
    had = [f"{what}: {inside[what]}" for what, (allowed, _) in FORBIDDEN.items()
           if inside[what] not in allowed]
    check(not had, f"the unit does not refuse as meant: {'; '.join(had)}")
    odd = [f"{what}: {root[what]}" for what, (_, control) in FORBIDDEN.items() if root[what] != control]
    check(not odd, f"control: root, outside, has another answer: {'; '.join(odd)}")
    same = {what for what in FORBIDDEN if inside[what] == root[what]}
    check(same == NO_CONTROL, f"the unit is not what refuses: {', '.join(sorted(same))}")
