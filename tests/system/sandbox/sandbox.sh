#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# sandbox.sh CASE PREFIX NIGHTLATCHD NIGHTLATCH: starts systemd as PID 1 in name spaces of its own, on
# an overlay of this machine's root with the units of PREFIX in it, and runs case.sh CASE there.
set -euo pipefail

skip() { echo "not run here: $*"; exit 77; }
here=$(cd "$(dirname "$0")" && pwd)
[ "$(id -u)" = 0 ] || skip "needs root"
[ -x /usr/lib/systemd/systemd ] || skip "no systemd is installed"
{ unshare --mount --pid --fork --net --ipc --uts --cgroup true && unshare --user true; } 2>/dev/null ||
    skip "no name spaces, or within a chroot"

scratch=$(mktemp -d)
lab=$scratch/lab
mkdir "$lab" "$scratch/cgroup" "$scratch/layers"
cp -r "$2" "$lab/prefix"
cp "$3" "$4" "$here/case.sh" "$here/logbook.sh" "$here/inside.sh" "$lab"
cp "$here/../../../scripts/package.d/nightlatch.prerm" "$lab"

# In a group of its own, so that this machine's are left alone; gone again at the end.
mount -t cgroup2 cgroup2 "$scratch/cgroup" || { rm -rf "$scratch"; skip "no cgroup2"; }
group=$scratch/cgroup/nightlatch-sandbox.$$
mkdir "$group"
clean() {
    find "$group" -depth -type d -exec rmdir {} + 2>/dev/null || true
    umount "$scratch/cgroup" && rm -rf --one-file-system "$scratch"
}
trap clean EXIT

# shellcheck disable=SC2016  # the inner shell expands them
timeout --kill-after=5 200 bash -c 'echo $$ >"$1/cgroup.procs" && exec unshare --mount --pid --fork \
    --kill-child --net --ipc --uts --cgroup bash "$2/manager.sh" "$3" "$4"' \
    sandbox "$group" "$here" "$scratch" "$1" || true

# What a case found on a card that it had, since it could not ask after its own end.
[ ! -s "$lab/card/result" ] || cp "$lab/card/result" "$lab/card/told" "$lab"
[ -s "$lab/result" ] || { [ ! -e "$lab/no-overlay" ] || skip "no overlay of the root"; }
cat "$lab/told" 2>/dev/null || true
case $(cat "$lab/result" 2>/dev/null) in
held) ;;
*) tail -n 40 "$lab/journal" 2>/dev/null || true; echo "sandbox: $1 did not hold" >&2; exit 1 ;;
esac
