# shellcheck shell=bash
# SPDX-License-Identifier: MIT
# For scripts that work in a Debian root of their own: such a root is made once from this machine's
# own mirror, kept outside the tree, and laid below a folder of what differs for every use (overlayfs), or
# copied where the file system cannot have that (a container's own root).

tree=$(git -C "$(dirname "${BASH_SOURCE[0]}")" rev-parse --show-toplevel)
native=$(dpkg --print-architecture)
say() { printf '%s: %s\n' "$(basename "$0")" "$*"; }
fail() { say "$*" >&2; exit 1; }
[ "$(id -u)" = 0 ] || fail "making a root file system needs root: run it with sudo"
command -v mmdebstrap >/dev/null || fail "mmdebstrap is missing: apt-get install mmdebstrap"

roots=${XDG_CACHE_HOME:-$HOME/.cache}/nightlatch/roots
mkdir -p "$roots"
work=$(mktemp -d "$roots/work.XXXXXX")
trap 'rm -rf --one-file-system "$work"' EXIT

# suite_of RELEASE: the name that the archive has for it.
suite_of() {
    case $1 in
    12) echo bookworm ;;
    13) echo trixie ;;
    *) fail "there is no root of Debian $1: name 12 or 13" ;;
    esac
}

# Debian 12 has libgpiod 1.6 and Catch2 2, other interfaces, and an emulator that lacks openat2(2). Of
# what is linked from the backports' archives a board needs none.
from_backports='Package: libgpiod*:any libcatch2-dev:any src:debhelper src:qemu
Pin: release n=bookworm-backports
Pin-Priority: 600'

# kept_root NAME RELEASE ARCHITECTURES PACKAGE...: prints where it lies; `fresh` makes it anew.
kept_root() {
    local name=$1 release=$2 architectures=$3 suite list kept sources=()
    shift 3
    suite=$(suite_of "$release")
    list=$(printf '%s\n' "$@" | sort -u | paste -sd ,)
    kept=$roots/$name-$(printf '%s' "$suite $architectures $list $from_backports" | sha256sum | cut -c1-16)
    if [ "${fresh:-no}" = no ] && [ -e "$kept" ]; then
        printf '%s\n' "$kept"
        return
    fi
    say "making a Debian $release root: $name" >&2
    printf '%s\n' "$from_backports" >"$work/preferences"
    for suite in "$suite" $([ "$release" != 12 ] || echo bookworm-backports); do
        "$tree/scripts/apt-source" "$suite" >"$work/$suite.source"
        sources+=("$work/$suite.source")
    done
    mmdebstrap --quiet --mode=root --variant=apt --architectures="$architectures" --format=directory \
        --dpkgopt=force-unsafe-io \
        --setup-hook="cp '$work/preferences' \"\$1/etc/apt/preferences.d/nightlatch\"" \
        ${list:+--include="$list"} "$(suite_of "$release")" "$work/$name" "${sources[@]}" >&2
    rm -rf --one-file-system "$kept"
    mv "$work/$name" "$kept"
    printf '%s\n' "$kept"
}

# laid_over LOWER UPPER ROOT: the mount; UPPER.work is its own.
laid_over() { mount -t overlay overlay "$3" -o "lowerdir=$1,upperdir=$2,workdir=$2.work"; }
export -f laid_over

can_lay_over() {
    local try=$work/try
    mkdir -p "$try"/{lower,upper,upper.work,root}
    # shellcheck disable=SC2016  # the inner shell expands them
    unshare --mount bash -c 'mount --make-rprivate / && laid_over "$1/lower" "$1/upper" "$1/root"' \
        try "$try" 2>/dev/null
}

# use KEPT FOLDER: from now on the folder stands for a root of its own; it holds what differs from the
# kept one (or all of it), which stays as it is. What is put there is in the root, and what the root
# gets is there.
use() {
    mkdir -p "$2"
    if can_lay_over; then ln -s "$1" "$2.kept"; else cp -a "$1/." "$2"; fi
}

# inside FOLDER COMMAND...: in name spaces of its own, so that nothing stays mounted and no process is
# left, however it ends; without a network, except where `online` says so.
inside() {
    local without=(--net)
    [ "${online:-no}" = no ] || without=()
    mkdir -p "$1.work" "$1.root"
    # shellcheck disable=SC2016  # the inner shell expands them
    unshare --mount --pid "${without[@]}" --fork --kill-child bash -eu -c '
        root=$1.root
        mount --make-rprivate /
        if [ -e "$1.kept" ]; then
            laid_over "$(readlink "$1.kept")" "$1" "$root"
        else
            mount --bind "$1" "$root"
        fi
        mount -t proc proc "$root/proc"
        mount --rbind /dev "$root/dev"
        mount -t tmpfs tmpfs "$root/tmp"
        shift
        exec env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/root TERM=dumb LANG=C.UTF-8 \
            chroot "$root" "$@"' inside "$@"
}
