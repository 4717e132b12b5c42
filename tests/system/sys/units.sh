#!/bin/sh
# SPDX-License-Identifier: MIT
# units.sh CASE PREFIX [NIGHTLATCHD]: asks systemd's own programs about the files that are installed
# below PREFIX. None of them needs a running systemd. Each case also shows that it can fail.
set -eu

units=$2/lib/systemd/system
rules=$2/lib/udev/rules.d/40-nightlatch.rules
sysusers=$2/lib/sysusers.d/nightlatch.conf
catalog=$2/lib/systemd/catalog/nightlatch.catalog
account=$(sed -n 's/^User=//p' "$units/nightlatch.service")
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
    cp "$units"/*.service "$units"/*.path "$2"/share/nightlatch/*.service "$2"/share/nightlatch/*.timer \
        "$scratch"
    sed -i "s|^ExecStart=/usr/sbin/nightlatchd|ExecStart=$3|" "$scratch/nightlatch.service"
    sed -i -E "s#^(ExecStart|ExecStop)=/usr/bin/nightlatch#\1=$3#" "$scratch"/nightlatch-metrics.service \
        "$scratch"/nightlatch-started.service "$scratch"/nightlatch-ended.service
    for unit in "$scratch"/*.service "$scratch"/*.path "$scratch"/*.timer; do
        verify "$unit" || fail "$(basename "$unit") has faults"
    done
    echo 'RestartSek=1s' >>"$scratch/nightlatch.service"
    ! verify "$scratch/nightlatch.service" >/dev/null || fail "a misspelt key was not noticed"
    ;;
exposure)
    # In tenths, and no worse than they are: the service's devices, group and sockets are left; the
    # logbook's units' group, sockets, /proc, devices' names and the question whether the clock is set; that
    # the one that keeps the evidence is root, and the second route, too.
    exposure() { systemd-analyze security --offline=true --no-pager --threshold="$1" "$2"; }
    for unit in 4:nightlatch 9:nightlatch-evidence 9:nightlatch-started 8:nightlatch-ended \
        9:nightlatch-poweroff 9:nightlatch-reboot; do
        limit=${unit%%:*} name=${unit#*:}.service
        exposure "$limit" "$units/$name" >"$scratch/out" ||
            { cat "$scratch/out"; fail "the sandbox of $name has holes"; }
        # An ordinary service leaves the same out as one that starts early, which is judged on less.
        sed '/^DefaultDependencies=/d' "$units/$name" >"$scratch/$name"
        exposure "$limit" "$scratch/$name" >"$scratch/out" ||
            { cat "$scratch/out"; fail "the sandbox of $name has holes"; }
        for key in PrivateNetwork CapabilityBoundingSet ProtectSystem NoNewPrivileges; do
            sed "/^DefaultDependencies=/d; /^$key=/d" "$units/$name" >"$scratch/$name"
            ! exposure "$limit" "$scratch/$name" >/dev/null || fail "$name: no $key= was not noticed"
        done
    done
    ;;
accounts)
    planned=$(systemd-sysusers --dry-run --root="$scratch" "$sysusers" 2>&1) ||
        fail "$planned"
    for wanted in "group 'gpio'" "group 'systemd-journal'" "group '$account'" "user '$account'"; do
        echo "$planned" | grep -q "$wanted" || fail "no $wanted in: $planned"
    done
    echo 'g' >"$scratch/bad.conf"
    ! systemd-sysusers --dry-run --root="$scratch" "$scratch/bad.conf" 2>/dev/null ||
        fail "a bad line was not noticed"
    ;;
reach)
    # What the README's threats say of who can reach what is neither more nor less than the files do.
    given() { sed -n "s/^$1=//p" "$units/${2:-nightlatch}.service" | paste -sd ' '; }
    reach() {
        [ "$(given DeviceAllow)" = "char-gpiochip rw" ] || echo "devices: $(given DeviceAllow)"
        [ "$(given SupplementaryGroups)" = gpio ] || echo "groups: $(given SupplementaryGroups)"
        [ "$(given ReadWritePaths)" = -/sys/devices ] || echo "paths: $(given ReadWritePaths)"
        [ -z "$(given AmbientCapabilities)$(given CapabilityBoundingSet)" ] || echo capabilities
        for unit in nightlatch-started nightlatch-ended; do
            [ "$(given SupplementaryGroups $unit)" = systemd-journal ] || echo "groups of $unit"
            [ "$(given ReadWritePaths $unit)" = -/var/lib/nightlatch ] || echo "the logbook's paths"
            [ "$(given User $unit)" = "$account" ] || echo "another account"
            [ -z "$(given AmbientCapabilities $unit)$(given CapabilityBoundingSet $unit)" ] ||
                echo "capabilities of $unit"
        done
        grep -qx 'SUBSYSTEM=="gpio", KERNEL=="gpiochip\*", ACTION!="remove", GROUP="gpio", MODE="0660"' \
            "$rules" || echo "the chips' rule"
        # No ":=", which would hold against later rules [udev(7)], and distributions' begin with 50.
        ! grep -q ':=' "$rules" || echo "a rule that later ones cannot change"
        [ "$(basename "$rules" | cut -d - -f 1)" -lt 50 ] || echo "a rule that sorts late"
        ! grep -rhv '^ *//' "$1/share/polkit-1" | grep -q ignore-inhibit || echo "leave to pass locks"
    }
    found=$(reach "$2")
    [ -z "$found" ] || fail "more or less than is said: $found"
    cp -r "$2" "$scratch/installed"
    units=$scratch/installed/lib/systemd/system rules=$scratch/90-nightlatch.rules
    echo 'DeviceAllow=/dev/mem rw' >>"$units/nightlatch.service"
    echo 'ReadWritePaths=/var' >>"$units/nightlatch-started.service"
    echo 'CapabilityBoundingSet=CAP_CHOWN' >>"$units/nightlatch-ended.service"
    sed 's/GROUP="gpio"/GROUP:="gpio"/' "$2/lib/udev/rules.d/40-nightlatch.rules" >"$rules"
    cp "$2"/share/nightlatch/nightlatch-override.rules "$scratch/installed/share/polkit-1/rules.d"
    [ "$(reach "$scratch/installed" | wc -l)" -eq 7 ] || fail "a difference was not noticed"
    ;;
catalog)
    mkdir -p "$scratch/usr/lib/systemd/catalog" "$scratch/var/lib/systemd/catalog"
    cp "$catalog" "$scratch/usr/lib/systemd/catalog"
    journalctl --root="$scratch" --update-catalog
    read_back=$(journalctl --root="$scratch" --list-catalog | wc -l)
    written=$(grep -c '^-- ' "$catalog")
    [ "$written" -gt 0 ] || fail "the catalog is empty"
    [ "$read_back" -eq "$written" ] || fail "$written entries are written, $read_back can be read"
    ! journalctl --root="$scratch" --list-catalog | grep -v 'nightlatch: .' ||
        fail "an entry has no Subject or no Defined-By"
    # A package need not do that: Debian's systemd does, for what dpkg puts into that folder.
    triggers=/var/lib/dpkg/info/systemd.triggers
    [ ! -e "$triggers" ] || grep -qE '^interest(-noawait)? /usr/lib/systemd/catalog$' "$triggers" ||
        fail "systemd does not ask dpkg to be told of catalogs: the package must update it itself"
    ;;
rules)
    # The group gpio need not exist where this is tested.
    judge() { udevadm verify --resolve-names=never "$1"; }
    judge "$rules"
    echo 'SUBSYSTEM=="leds" RUN+=' >"$scratch/bad.rules"
    ! judge "$scratch/bad.rules" >/dev/null 2>&1 || fail "a bad rule was not noticed"
    ;;
led-files)
    # The command of the LED rule, as udev runs it ($$ is a dollar sign [udev(7)]), on our files.
    sed -n "s/^SUBSYSTEM==\"leds\".*RUN+=\"\/bin\/sh -c '\(.*\)'\"$/\1/p" \
        "$rules" | sed 's/\$\$/$/g; s/\\"/"/g' >"$scratch/command"
    [ -s "$scratch/command" ] || fail "no command in the LED rule"
    mkdir "$scratch/bin" "$scratch/a led"
    printf '#!/bin/sh\necho "$@" >>%s/chgrp\n' "$scratch" >"$scratch/bin/chgrp"
    chmod +x "$scratch/bin/chgrp"
    for file in brightness trigger delay_on max_brightness; do
        : >"$scratch/a led/$file"
        chmod 644 "$scratch/a led/$file"
    done
    DEVPATH="/..$scratch/a led" PATH="$scratch/bin:$PATH" sh "$scratch/command"
    [ "$(cat "$scratch/chgrp")" = "$account brightness
$account trigger
$account delay_on" ] || fail "wrong files were given away: $(cat "$scratch/chgrp")"
    modes=$(cd "$scratch/a led" && stat -c '%n %a' brightness trigger delay_on max_brightness)
    [ "$modes" = "brightness 664
trigger 664
delay_on 664
max_brightness 644" ] || fail "wrong modes: $modes"
    ;;
reload)
    # The unit's command, as systemd runs it, on a service and a check of our own.
    sed -n "s|^ExecReload=/bin/sh -c '\(.*\)'\$|\1|p" "$units/nightlatch.service" |
        sed "s|/usr/bin/nightlatch|$scratch/nightlatch|" >"$scratch/command"
    [ -s "$scratch/command" ] || fail "no ExecReload= of that form"
    for status in 0 1 2; do
        printf '#!/bin/sh\n[ "$*" = check ] && echo told && exit %s\n' "$status" \
            >"$scratch/nightlatch"
        chmod +x "$scratch/nightlatch"
        rm -f "$scratch/told"
        mkfifo "$scratch/ready"
        sh -c "trap 'echo >$scratch/told; exit' HUP; echo >$scratch/ready; while :; do sleep 1; done" &
        MAINPID=$!
        read -r _ <"$scratch/ready"
        rm "$scratch/ready"
        reloaded=0
        said=$(MAINPID=$MAINPID sh "$scratch/command" 2>&1) || reloaded=1
        wait "$MAINPID"
        [ -e "$scratch/told" ] || fail "check ended with $status: the service was not told"
        [ "$reloaded" -eq "$((status == 2))" ] ||
            fail "check ended with $status, the reload with $reloaded"
        [ -z "$said" ] || fail "the reload says: $said"
    done
    ;;
second-route)
    for way in poweroff reboot; do
        file=$scratch/$way-requested
        sed -n "s|^ExecCondition=/bin/sh -c '\(.*\)'\$|\1|p" "$units/nightlatch-$way.service" |
            sed "s|/run/nightlatch|$scratch|" >"$scratch/command"
        [ -s "$scratch/command" ] || fail "no ExecCondition= of that form"
        : >"$file"
        sh "$scratch/command" || fail "a request was not taken up"
        [ ! -e "$file" ] || fail "a request that was taken up is still there"
        # 1 to 254: nothing is done, and the unit has not failed [systemd.service(5)].
        status=0
        sh "$scratch/command" 2>/dev/null || status=$?
        [ "$status" -eq 1 ] || fail "a request that was taken back: $status"
        mkdir -p "$file/left over"
        status=0
        sh "$scratch/command" 2>/dev/null || status=$?
        [ "$status" -eq 1 ] || fail "a folder in the place of a request: $status"
        [ ! -e "$file" ] || fail "the folder would trigger the path again and again"
    done
    ;;
*)
    fail "no case $1"
    ;;
esac
