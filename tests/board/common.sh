# SPDX-License-Identifier: MIT
# Sourced by scripts/board-*. Everything the board builds is kept outside the tree, under a name
# made of what went into it: a changed input is another name, so nothing stale is ever used.

set -euo pipefail

board_self=$(readlink -f "$0")
board_root=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
board_cache=${NIGHTLATCH_CACHE:-${XDG_CACHE_HOME:-$HOME/.cache}/nightlatch}
mkdir -p "$board_cache"

say() { printf '%s: %s\n' "${0##*/}" "$*" >&2; }
die() { say "$*"; exit 1; }

# need COMMAND PACKAGE: a missing tool is named with the package that brings it.
need() {
    command -v "$1" >/dev/null || PATH=$PATH:/usr/sbin:/sbin command -v "$1" >/dev/null ||
        die "needs $1: install the package $2 (scripts/setup --with board brings all of them)"
}

# key FILE-OR-WORD…: a short name for the contents of the files and the words themselves.
key() {
    local item
    for item in "$@"; do
        if [ -f "$item" ]; then sha256sum <"$item"; else printf '%s\n' "$item"; fi
    done | sha256sum | cut -c1-16
}
