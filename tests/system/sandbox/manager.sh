#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# manager.sh SCRATCH CASE: by sandbox.sh, inside the name spaces. Becomes systemd.
set -euo pipefail

lab=$1/lab layers=$1/layers
mount --make-rprivate /
mount -t tmpfs tmpfs "$layers"
mkdir "$layers/upper" "$layers/work" "$layers/root"
root=$layers/root
mount -t overlay -o "lowerdir=/,upperdir=$layers/upper,workdir=$layers/work" overlay "$root" ||
    { touch "$lab/no-overlay"; exit 1; }

mount -t proc proc "$root/proc"
mount -t sysfs sysfs "$root/sys"
mountpoint -q "$root/sys/fs/cgroup" || mount -t tmpfs tmpfs "$root/sys/fs/cgroup" 2>/dev/null || true
mount -t cgroup2 cgroup2 "$root/sys/fs/cgroup"
for folder in run dev tmp; do mount -t tmpfs -o mode=0755 tmpfs "$root/$folder"; done
chmod 1777 "$root/tmp"
mkdir -m 1777 "$root/dev/shm"
mkdir "$root/dev/pts" "$root/dev/mqueue" "$root/lab" "$root/old"
mount -t devpts devpts "$root/dev/pts"
ln -s pts/ptmx "$root/dev/ptmx"
for node in null zero full random urandom tty; do
    : >"$root/dev/$node"
    mount --bind "/dev/$node" "$root/dev/$node"
done
mount --bind "$lab" "$root/lab"

# What is to be tested, and of this machine's own units only what brings a system up.
units=$root/etc/systemd/system
rm -rf "$units"
mkdir -p "$units" "$root/etc/nightlatch"
: >"$root/etc/fstab"
cp "$lab"/prefix/lib/systemd/system/* "$units"
cp "$lab/nightlatchd" "$root/usr/sbin/nightlatchd"
cp "$lab/nightlatch" "$root/usr/bin/nightlatch"
printf '[button]\nchip = "soc-gpio"\nline = "LID"\npressed = "low"\nbias = "pull-up"\n[[stage]]\n%s' \
    $'name = "off"\nhold = "3 s"\naction = "power-off"\n' >"$root/etc/nightlatch/nightlatch.toml"
chmod 644 "$root/etc/nightlatch/nightlatch.toml"
systemd-sysusers --root="$root" "$lab/prefix/lib/sysusers.d/nightlatch.conf"
systemd-tmpfiles --root="$root" --create "$lab/prefix/lib/tmpfiles.d/nightlatch-logbook.conf"
# A debug build looks for leaks as a tracer does, which the sandbox does not let it.
for unit in nightlatch nightlatch-started nightlatch-ended; do
    mkdir "$units/$unit.service.d"
    printf '[Service]\nEnvironment=ASAN_OPTIONS=detect_leaks=0\n' >"$units/$unit.service.d/leaks.conf"
done
for unit in systemd-udevd.service systemd-udevd-control.socket systemd-udevd-kernel.socket \
    systemd-udev-trigger.service systemd-sysctl.service systemd-remount-fs.service getty.target; do
    ln -s /dev/null "$units/$unit"
done
cat >"$units/case.service" <<TEXT
[Unit]
DefaultDependencies=no
Wants=sysinit.target
After=sysinit.target
IgnoreOnIsolate=yes
[Service]
Type=oneshot
ExecStart=/bin/bash /lab/case.sh $2
TEXT

cd "$root"
pivot_root . old
umount -l /old
exec env -i container=sandbox PATH=/usr/sbin:/usr/bin:/sbin:/bin \
    /usr/lib/systemd/systemd --system --unit=case.service --log-target=journal --show-status=no \
    </dev/null >/lab/console 2>&1
