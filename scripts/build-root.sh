# shellcheck shell=bash
# SPDX-License-Identifier: MIT
# Of scripts/package and scripts/campaign.d/armhf_tests.sh: the Debian 12 root in which an architecture's
# programs are built. Comes after roots.sh.

# What the build needs, by scripts/package.d/control; ARCH's libraries, this machine's programs. Of
# libraries the target's alone: libfdt-dev and libcatch2-dev of two architectures exclude each other.
packages_for() {
    local arch=$1
    printf '%s\n' build-essential debhelper cmake ninja-build "pkgconf:$arch" python3 \
        libcli11-dev nlohmann-json3-dev "libgpiod-dev:$arch" "libsystemd-dev:$arch" \
        "libtomlplusplus-dev:$arch" "libfdt-dev:$arch" "zlib1g-dev:$arch"
    if [ "$arch" = "$native" ]; then
        echo lintian
    else
        printf '%s\n' "crossbuild-essential-$arch" "libcatch2-dev:$arch" qemu-user
    fi
}

# build_root ARCH FOLDER: uses it there.
build_root() {
    local architectures=$native packages kept
    [ "$1" = "$native" ] || architectures+=,$1
    mapfile -t packages < <(packages_for "$1")
    kept=$(kept_root "build-$1" 12 "$architectures" "${packages[@]}")
    use "$kept" "$2"
}
