#!/bin/bash
# SPDX-License-Identifier: MIT
# case.sh CASE: under the sandbox's systemd. Writes "held" to /lab/result, or why not to /lab/told.
set -u
exec >/lab/told 2>&1

ends() {
    journalctl --no-pager >/lab/journal 2>&1
    echo "$1" >/lab/result
    systemctl --force --force poweroff
    exit
}
fail() { echo "$*"; ends broken; }
shown() { systemctl show --property "$1" --value nightlatch.service; }
account=$(sed -n 's/^User=//p' /etc/systemd/system/nightlatch.service)
as_account() { setpriv --reuid "$account" --regid "$account" --clear-groups "$@"; }
# A case waits for what another program does: ask again until it is so, a minute at most.
await() {
    for _ in {1..600}; do "$@" && return; sleep 0.1; done
    fail "in vain awaited: $*"
}
drop_in() {
    mkdir -p "/run/systemd/system/nightlatch.service.d"
    cat >"/run/systemd/system/nightlatch.service.d/$1.conf"
    systemctl daemon-reload
}

service_starts() {
    systemctl start nightlatch || fail "the service does not start"
    [ "$(stat -c '%U %a' /run/nightlatch)" = "$account 700" ] || fail "the run-time folder is others'"
    grep -q '^CapBnd:[[:space:]]*0*$' "/proc/$(shown MainPID)/status" || fail "it has capabilities"
    systemctl reload nightlatch || fail "it cannot be reloaded"
    cp /etc/nightlatch/nightlatch.toml /run/good
    echo '[buton]' >>/etc/nightlatch/nightlatch.toml
    ! systemctl reload nightlatch || fail "a reload of a bad file is not a failure"
    cp /run/good /etc/nightlatch/nightlatch.toml
    systemctl reload nightlatch || fail "it cannot be reloaded after a bad file"
    first=$(shown MainPID)
    kill -KILL "$first"
    # shellcheck disable=SC2317  # await calls it
    started_again() { [ "$(shown MainPID)" != "$first" ] && [ "$(shown ActiveState)" = active ]; }
    await started_again
    systemctl stop nightlatch
    chmod o+w /etc/nightlatch/nightlatch.toml
    ! systemctl start nightlatch || fail "a configuration that others may write is taken"
}

deeds_in_the_unit() {
    drop_in inside <<'TEXT'
[Service]
Type=oneshot
Restart=no
WatchdogSec=0
ExecReload=
ExecStart=
ExecStart=/bin/bash /lab/inside.sh
StandardOutput=file:/run/deeds
TEXT
    systemctl start nightlatch || fail "the deeds did not come to their end"
    cat /run/deeds
}

shut_from_inside() {
    mkdir -p /run/nightlatch
    /bin/bash /lab/inside.sh >/lab/outside
    ! grep cannot /lab/outside || fail "what root cannot do here either would prove nothing"
    rm -rf /run/nightlatch
    deeds_in_the_unit >/lab/deeds
    [ "$(wc -l </lab/deeds)" -eq "$(wc -l </lab/outside)" ] || fail "a deed is missing"
    [ "$(sed -n 's/^can //p' /lab/deeds)" = "write its run-time folder
write /tmp
write /var/tmp
use local sockets" ] || fail "whoever takes the service over $(sed -n 's/^can /can /p' /lab/deeds)"
    uid=$(id -u "$account")
    for file in /tmp/written-$uid /var/tmp/written-$uid; do
        [ ! -e "$file" ] || fail "its temporary folders are everybody's"
    done
}

root_without_polkit() {
    drop_in root </lab/prefix/share/nightlatch/root.conf
    systemctl start nightlatch || fail "the service does not start as root"
    grep -q '^Uid:[[:space:]]*0' "/proc/$(shown MainPID)/status" || fail "it is not root"
    grep -q '^CapBnd:[[:space:]]*0*$' "/proc/$(shown MainPID)/status" || fail "it has capabilities"
    systemctl stop nightlatch
    deeds_in_the_unit >/lab/deeds
    for deed in "use the network" "run what it wrote to its run-time folder" "write /etc" mount; do
        grep -qx "cannot $deed" /lab/deeds || fail "as root it can $deed"
    done
    logbook_as_root
}

# The targets themselves are stand-ins that leave a mark: this system goes on.
second_route() {
    for way in poweroff reboot; do
        printf '[Unit]\nDefaultDependencies=no\nWants=mark-%s.service\n' $way \
            >/etc/systemd/system/$way.target
        printf '[Unit]\nDefaultDependencies=no\n[Service]\nType=oneshot\nExecStart=/bin/touch /run/%s\n' \
            $way >/etc/systemd/system/mark-$way.service
    done
    systemctl daemon-reload
    systemctl start nightlatch nightlatch-poweroff.path nightlatch-reboot.path || fail "no paths"
    # A folder in the place of a request is none, and must not stand in the way of one.
    as_account sh -c 'cd /run/nightlatch && mkdir new && : >new/file && mv new poweroff-requested'
    await test ! -e /run/nightlatch/poweroff-requested
    [ ! -e /run/poweroff ] || fail "a folder was taken for a request"
    for way in reboot poweroff; do
        as_account touch /run/nightlatch/$way-requested
        await test -e /run/$way
        await test ! -e /run/nightlatch/$way-requested
    done
}

# shellcheck source=tests/system/sandbox/logbook.sh
. /lab/logbook.sh
case $1 in
service-starts) service_starts ;;
shut-from-inside) shut_from_inside ;;
root-without-polkit) root_without_polkit ;;
second-route) second_route ;;
logbook-evidence) logbook_evidence ;;
logbook-units) logbook_units ;;
end-at-shutdown) end_at_shutdown ;;
end-not-by-hand) end_not_by_hand ;;
package-removed) package_removed ;;
*) fail "no case $1" ;;
esac
ends held
