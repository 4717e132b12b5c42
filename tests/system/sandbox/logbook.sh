# shellcheck shell=bash
# SPDX-License-Identifier: MIT
# Part of case.sh: the logbook's two units, with a stand-in for the tool that they run.

folder=/var/lib/nightlatch
started=nightlatch-started.service ended=nightlatch-ended.service
of_unit() { systemctl show --property "$1" --value "$2"; }
records() { cat $folder/logbook.jsonl; }
told() { grep -qx -e "$1" $folder/told; }

# It notes how it was called, and what is to be done in its place.
stand_in() {
    cat >/usr/bin/nightlatch
    chmod 755 /usr/bin/nightlatch
}

note_only() {
    stand_in <<'TEXT'
#!/bin/bash
echo "$@" >>/var/lib/nightlatch/told
TEXT
}

# What a boot holds back until the unit has been started.
ordered_before() { of_unit Before "$1" | tr ' ' '\n' | sort | paste -sd ' '; }

# The end's program at a start: here nothing stops.
end_at_start() {
    mkdir -p /run/systemd/system/$ended.d
    printf '[Service]\nExecStart=/usr/bin/nightlatch logbook --ended\n' \
        >/run/systemd/system/$ended.d/start.conf
    systemctl daemon-reload
}

# Root's own folder, as Debian's initramfs makes it.
logbook_evidence() {
    local unit=nightlatch-evidence.service kept=/run/nightlatch-boot
    mkdir -m 700 /run/initramfs
    echo "tide: recovering journal" >/run/initramfs/fsck.log
    systemctl enable $unit || fail "it cannot be enabled"
    [ "$(of_unit Before $unit | tr ' ' '\n' | grep -c systemd-)" = 3 ] || fail "it comes too late"
    systemctl start $unit || fail "it fails: $(journalctl --no-pager -u $unit)"
    [ -e $kept/looked ] || fail "it did not come to its end"
    [ "$(stat -c '%U %a' $kept)" = "root 755" ] || fail "the folder is others'"
    as_account cat $kept/fsck.log | grep -q "recovering journal" ||
        fail "the account cannot read what was kept"
    ! as_account cat /run/initramfs/fsck.log || fail "control: it could before"
    systemctl stop $unit
    [ -e $kept/looked ] || fail "what was kept does not stay"
}

logbook_units() {
    systemctl enable $started $ended || fail "they cannot be enabled"
    [ "$(ordered_before $started)" = "shutdown.target" ] || fail "something waits for $started"
    [ "$(ordered_before $ended)" = "nightlatch-started.service nightlatch.service shutdown.target" ] ||
        fail "another waits for $ended"
    [ "$(of_unit TimeoutStopUSec $ended)" = 5s ] || fail "it holds a shutdown up for longer"
    systemctl list-dependencies --plain sysinit.target | grep -q $started || fail "no boot starts it"
    [ "$(stat -c '%U:%G %a' $folder)" = "${account:?}:$account 755" ] || fail "the folder is others'"
    systemctl start nightlatch || fail "the service does not start"
    systemctl stop nightlatch
    [ -s /run/nightlatch/run ] || fail "the service leaves no summary of its run"
    echo summary >/run/nightlatch/run
    chown "$account" /run/nightlatch/run
    systemctl start $started || fail "the start is not recorded"
    records | grep -q '"kind":"started"' || fail "there is no start: $(records)"
    [ "$(stat -c '%U %a' $folder/logbook.jsonl)" = "$account 644" ] || fail "the file is others'"
    systemctl stop $started
    stand_in <<'TEXT'
#!/bin/bash
asked='import ctypes; exit(ctypes.CDLL(None).adjtimex(ctypes.create_string_buffer(1024)) < 0)'
/usr/bin/python3 -c "$asked" && : >/var/lib/nightlatch/clock$2
cat /run/nightlatch/run >/var/lib/nightlatch/run$2 2>&1
cat /proc/sys/kernel/random/boot_id >/var/lib/nightlatch/boot$2 2>&1
exec /bin/bash /lab/inside.sh >/var/lib/nightlatch/deeds$2
TEXT
    end_at_start
    systemctl start $started $ended || fail "the units do not start"
    [ "$(cat $folder/run--ended)" = summary ] || fail "it cannot read the summary"
    for which in started ended; do
        [ "$(cat $folder/boot--$which)" = "$(cat /proc/sys/kernel/random/boot_id)" ] ||
            fail "$which: it does not see which boot this is"
        [ -e $folder/clock--$which ] || fail "$which: it cannot ask whether the clock is set"
        can=$(sed -n 's/^can //p' $folder/deeds--$which | paste -sd,)
        [ "$can" = "write the logbook,use local sockets,read the journal" ] ||
            fail "whoever takes --$which over can $can"
        [ "$(wc -l <$folder/deeds--$which)" -gt 20 ] || fail "deeds are missing"
    done
}

# As root.conf says: without a capability, so the folder is to be root's.
logbook_as_root() {
    for unit in $started $ended; do
        install -D -m 644 /lab/prefix/share/nightlatch/root.conf "/run/systemd/system/$unit.d/root.conf"
    done
    sed 's/ 0755 .*/ 0755 root root -/' /lab/prefix/lib/tmpfiles.d/nightlatch-logbook.conf \
        >/etc/tmpfiles.d/nightlatch-logbook.conf
    systemd-tmpfiles --create nightlatch-logbook.conf
    (umask 077 && echo summary >/run/nightlatch/run)
    stand_in <<'TEXT'
#!/bin/bash
cat /run/nightlatch/run >/var/lib/nightlatch/run$2 && ! touch /etc/written
TEXT
    end_at_start
    systemctl start $started $ended || fail "as root the logbook's units fail"
    [ "$(cat $folder/run--ended)" = summary ] || fail "as root it cannot read the summary"
}

# What would stop another unit does not stop this one: nothing then says that a run that goes on has ended.
end_not_by_hand() {
    note_only
    cat >/run/systemd/system/var-lib-nightlatch.mount <<TEXT
[Mount]
What=tmpfs
Where=$folder
Type=tmpfs
Options=mode=0777
TEXT
    mkdir -p /run/systemd/system/$ended.d
    printf '[Unit]\nAllowIsolate=yes\n' >/run/systemd/system/other.target
    systemctl daemon-reload
    systemctl start var-lib-nightlatch.mount nightlatch $ended || fail "no start"
    ! systemctl stop $ended || fail "it can be stopped by hand"
    ! systemctl restart $ended || fail "it can be restarted by hand"
    ! systemctl try-restart $ended || fail "it can be restarted by hand"
    systemctl isolate other.target || fail "no isolate"
    # shellcheck disable=SC2317  # await calls it
    service_stopped() { [ "$(of_unit ActiveState nightlatch)" = inactive ]; }
    await service_stopped  # control: isolate does stop what does not refuse
    systemctl stop var-lib-nightlatch.mount || fail "the mount cannot be stopped"
    ! mountpoint -q $folder || fail "control: it is mounted still"
    [ "$(of_unit ActiveState $ended)" = active ] || fail "it was stopped"
    [ ! -e $folder/told ] || fail "an end was told: $(cat $folder/told)"
    # What hangs in the kernel is no longer waited for than the program itself does.
    stand_in <<'TEXT'
#!/bin/bash
(trap '' TERM; exec sleep 60) &
TEXT
    printf '[Unit]\nRefuseManualStop=no\n' >/run/systemd/system/$ended.d/stop.conf
    systemctl daemon-reload
    SECONDS=0
    systemctl stop $ended
    [ $SECONDS -lt 4 ] || fail "a process that hangs was waited for, $SECONDS s"
    pgrep sleep >/dev/null || fail "control: nothing hangs"
    # Nor is there any unit that would take it along.
    [ -z "$(of_unit RequiresMountsFor $ended)$(of_unit BindsTo $ended)$(of_unit PartOf $ended)" ] ||
        fail "it depends on others"
}

# A shutdown in order: the service first, then the record, on a card that is mounted still. Only what lies on
# the card is seen from outside.
end_at_shutdown() {
    mkdir -m 777 /lab/card
    cat >/run/systemd/system/var-lib-nightlatch.mount <<TEXT
[Unit]
DefaultDependencies=no
Conflicts=umount.target
Before=umount.target
[Mount]
What=/lab/card
Where=$folder
Type=none
Options=bind
TEXT
    mv /usr/bin/nightlatch /usr/bin/nightlatch-itself
    stand_in <<'TEXT'
#!/bin/bash
cd /var/lib/nightlatch || exit
/usr/bin/nightlatch-itself "$@" >&2 || exit
[ "$2" = --ended ] || exit 0
if [ ! -e /run/nightlatch/stopped ]; then echo "the service is not stopped"; result=broken
elif ! mountpoint -q /var/lib/nightlatch; then echo "the card is gone"; result=broken
elif [ "$(sed -n 's/.*"kind":"\([a-z]*\)".*/\1/p' logbook.jsonl | paste -sd' ')" != "started ended" ]; then
    cat logbook.jsonl; result=broken
elif ! tail -n 1 logbook.jsonl | grep -q '"service":true'; then
    tail -n 1 logbook.jsonl; result=broken
else result=held; fi >told
sync
echo $result >result
TEXT
    drop_in stopped <<'TEXT'
[Service]
ExecStopPost=/bin/touch /run/nightlatch/stopped
TEXT
    systemctl start var-lib-nightlatch.mount nightlatch $ended $started || fail "no start"
    systemctl --no-block poweroff
    exec sleep infinity  # until the shutdown ends it
}

# Removing the package ends no run, and leaves nothing that would say so later.
package_removed() {
    note_only
    rm -f /usr/sbin/policy-rc.d  # this machine's: it may be one where nothing is to be started
    systemctl start nightlatch $started $ended || fail "no start"
    told "logbook --started" || fail "control: the stand-in tells nothing"
    sh /lab/nightlatch.prerm upgrade 2 >/lab/said 2>&1 || fail "an upgrade fails: $(cat /lab/said)"
    [ "$(of_unit ActiveState $ended)" = active ] || fail "an upgrade stops it"
    sh /lab/nightlatch.prerm remove >/lab/said 2>&1 || fail "it cannot be removed: $(cat /lab/said)"
    [ ! -s /lab/said ] || fail "removing says: $(cat /lab/said)"
    [ "$(of_unit ActiveState $ended)" = inactive ] || fail "it is active still"
    ! told "logbook --ended" || fail "an end was told"
    [ ! -e /run/systemd/system/$ended.d ] || fail "a drop-in is left"
}
