#!/bin/bash
# SPDX-License-Identifier: MIT
# inside.sh: what whoever has taken the service over may do, and what not: one line a deed, "can" or
# "cannot". Run in the unit in the service's place, and as root without it, where all can be done.
set -u

try() {
    local deed=$1
    shift
    if "$@" >/dev/null 2>&1; then echo "can $deed"; else echo "cannot $deed"; fi
}
# Each account its own file: another's could not be written anywhere.
write() { echo x >"$1/written-$UID"; }
run_copy_in() { cp /bin/true "$1/copied-$UID" && "$1/copied-$UID"; }
socket() { perl -e 'socket(my $s, shift, shift, 0) or exit 1' "$@"; }
# [linux include/linux/socket.h] 1 is AF_UNIX, 2 AF_INET, 16 AF_NETLINK; 1 a stream, 3 raw.

try "write its run-time folder" write /run/nightlatch
try "write the logbook" write /var/lib/nightlatch
try "write /tmp" write /tmp
try "write /var/tmp" write /var/tmp
try "use local sockets" socket 1 1
try "write /dev/shm" write /dev/shm
try "write /run/lock" write /run/lock
try "write /run" write /run
try "write /etc" write /etc
try "write /usr" write /usr
try "write /var/lib" write /var/lib
try "write /home" write /home
try "write the kernel's settings" sh -c 'cat /proc/sys/vm/swappiness >/proc/sys/vm/swappiness'
try "run what it wrote to its run-time folder" run_copy_in /run/nightlatch
try "run what it wrote to /tmp" run_copy_in /tmp
try "run what it wrote to /var/tmp" run_copy_in /var/tmp
try "run what it wrote to the logbook" run_copy_in /var/lib/nightlatch
try "use the network" socket 2 1
try "talk to the kernel by netlink" socket 16 3
try "read /etc/shadow" cat /etc/shadow
try "read the journal" sh -c 'cat /run/log/journal/*/system.journal || cat /var/log/journal/*/system.journal'
try "look into /root" ls /root
try "see other programs" test -d /proc/1
try "signal other programs" kill -0 1
try "make a device node" mknod /run/nightlatch/node c 1 3
try "mount" mount -t tmpfs tmpfs /mnt
try "make name spaces" unshare --mount true
try "make a set-user-id program" sh -c 'cp /bin/true /run/nightlatch/s && chmod u+s /run/nightlatch/s'
try "take real-time priority" chrt -f 1 true
try "name the machine anew" sh -c 'hostname >/run/nightlatch/h && hostname -F /run/nightlatch/h'
try "change owners" sh -c ': >/run/nightlatch/o && chown 12345 /run/nightlatch/o'
