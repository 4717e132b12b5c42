#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# armhf_tests.sh FOLDER: cross-builds the unit tests for armhf in a Debian 12 root of their own, runs
# them there under Debian's qemu-user, and leaves what each program said in FOLDER: NAME.xml (Catch2's),
# NAME.status. Needs root. Of the tree as it is, not of the last commit.
set -euo pipefail

. "$(dirname "$0")/../roots.sh"
. "$(dirname "$0")/../build-root.sh"

out=$(realpath -m "${1:?armhf_tests.sh FOLDER}")
root=$work/root
build_root armhf "$root"
mkdir "$root/tree" "$root/said"
git -C "$tree" ls-files -z --cached --others --exclude-standard |
    tar -C "$tree" --null --ignore-failed-read -T - -c | tar -C "$root/tree" -x

cat >"$root/run" <<'TEXT'
set -eu
cmake -S /tree -B /build -G Ninja --toolchain scripts/toolchain.cmake -Wno-dev \
    -DNIGHTLATCH_TRIPLET=arm-linux-gnueabihf -DNIGHTLATCH_SYSTEM_TESTS=OFF -DNIGHTLATCH_WERROR=ON \
    -DCMAKE_BUILD_TYPE=None -DCMAKE_CXX_FLAGS='-O0 -Wno-psabi' \
    -DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=8
cmake --build /build --parallel "$(nproc)" --target tests/unit/all nightlatch-wait-released
find /build/tests/unit -type f -perm -u+x | sort >/programs
xargs -a /programs -P "$(nproc)" -I PROGRAM sh -c '
    cd "$(dirname PROGRAM)"; name=/said/$(basename PROGRAM); status=0
    qemu-arm PROGRAM --reporter xml >"$name.xml" 2>"$name.err" || status=$?
    echo $status >"$name.status"'
TEXT
mkdir -p "$out"
rm -f "$out"/*.xml "$out"/*.status "$out"/*.err
inside "$root" sh /run >"$out/log" 2>&1 || { tail -n 30 "$out/log" >&2; fail "see $out/log"; }
cp "$root"/said/* "$root/programs" "$out/"
