#!/bin/sh
# SPDX-License-Identifier: MIT
# units.sh CASE SOURCE-DIR [NIGHTLATCHD]: asks systemd's own programs about the files in systemd/.
# None of them needs a running systemd. Each case also shows that it can fail.
set -eu

units=$2/systemd
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

fail() {
    echo "units: $*" >&2
    exit 1
}

# Ends with 0 and silence if the unit has nothing that systemd-analyze finds fault with.
verify() {
    found=$(systemd-analyze verify --man=no --recursive-errors=no "$@" 2>&1) ||
        { echo "$found"; return 1; }
    # Some faults are warnings and leave the status at 0; other units' are not ours.
    ! echo "$found" | grep nightlatch
}

case $1 in
verify)
    # Copies: what a unit starts must exist for this, and nothing is installed yet.
    cp "$units"/*.service "$units"/*.path "$scratch"
    sed -i "s|^ExecStart=/usr/sbin/nightlatchd|ExecStart=$3|" "$scratch/nightlatch.service"
    for unit in "$scratch"/*.service "$scratch"/*.path; do
        verify "$unit" || fail "$(basename "$unit") has faults"
    done
    echo 'RestartSek=1s' >>"$scratch/nightlatch.service"
    ! verify "$scratch/nightlatch.service" >/dev/null || fail "a misspelt key was not noticed"
    ;;
exposure)
    # In tenths: 0.5, the best that a service can reach that has devices and a socket.
    exposure() { systemd-analyze security --offline=true --no-pager --threshold=5 "$1"; }
    exposure "$units/nightlatch.service" >"$scratch/out" ||
        { cat "$scratch/out"; fail "the sandbox has holes"; }
    # An ordinary service leaves the same out as one that starts early, which is judged on less.
    sed '/^DefaultDependencies=/d' "$units/nightlatch.service" >"$scratch/nightlatch.service"
    exposure "$scratch/nightlatch.service" >"$scratch/out" ||
        { cat "$scratch/out"; fail "the sandbox has holes"; }
    sed -i '/^PrivateNetwork=/d' "$scratch/nightlatch.service"
    ! exposure "$scratch/nightlatch.service" >/dev/null || fail "a hole was not noticed"
    ;;
accounts)
    planned=$(systemd-sysusers --dry-run --root="$scratch" "$units/sysusers.conf" 2>&1) ||
        fail "$planned"
    for wanted in "group 'gpio'" "group 'nightlatch'" "user 'nightlatch'"; do
        echo "$planned" | grep -q "$wanted" || fail "no $wanted in: $planned"
    done
    echo 'g' >"$scratch/bad.conf"
    ! systemd-sysusers --dry-run --root="$scratch" "$scratch/bad.conf" 2>/dev/null ||
        fail "a bad line was not noticed"
    ;;
catalog)
    mkdir -p "$scratch/usr/lib/systemd/catalog" "$scratch/var/lib/systemd/catalog"
    cp "$units/nightlatch.catalog" "$scratch/usr/lib/systemd/catalog"
    journalctl --root="$scratch" --update-catalog
    read_back=$(journalctl --root="$scratch" --list-catalog | wc -l)
    written=$(grep -c '^-- ' "$units/nightlatch.catalog")
    [ "$written" -gt 0 ] || fail "the catalog is empty"
    [ "$read_back" -eq "$written" ] || fail "$written entries are written, $read_back can be read"
    ! journalctl --root="$scratch" --list-catalog | grep -v 'nightlatch: .' ||
        fail "an entry has no Subject or no Defined-By"
    ;;
rules)
    # The group gpio need not exist where this is tested.
    rules() { udevadm verify --resolve-names=never "$1"; }
    rules "$units/40-nightlatch.rules"
    echo 'SUBSYSTEM=="leds" RUN+=' >"$scratch/bad.rules"
    ! rules "$scratch/bad.rules" >/dev/null 2>&1 || fail "a bad rule was not noticed"
    ;;
led-files)
    # The command of the LED rule, as udev runs it ($$ is a dollar sign [udev(7)]), on our files.
    sed -n "s/^SUBSYSTEM==\"leds\".*RUN+=\"\/bin\/sh -c '\(.*\)'\"$/\1/p" \
        "$units/40-nightlatch.rules" | sed 's/\$\$/$/g; s/\\"/"/g' >"$scratch/command"
    [ -s "$scratch/command" ] || fail "no command in the LED rule"
    mkdir "$scratch/bin" "$scratch/a led"
    printf '#!/bin/sh\necho "$@" >>%s/chgrp\n' "$scratch" >"$scratch/bin/chgrp"
    chmod +x "$scratch/bin/chgrp"
    for file in brightness trigger delay_on max_brightness; do
        : >"$scratch/a led/$file"
        chmod 644 "$scratch/a led/$file"
    done
    DEVPATH="/..$scratch/a led" PATH="$scratch/bin:$PATH" sh "$scratch/command"
    [ "$(cat "$scratch/chgrp")" = "nightlatch brightness
nightlatch trigger
nightlatch delay_on" ] || fail "wrong files were given away: $(cat "$scratch/chgrp")"
    modes=$(cd "$scratch/a led" && stat -c '%n %a' brightness trigger delay_on max_brightness)
    [ "$modes" = "brightness 664
trigger 664
delay_on 664
max_brightness 644" ] || fail "wrong modes: $modes"
    ;;
*)
    fail "no case $1"
    ;;
esac
