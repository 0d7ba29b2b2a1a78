#!/bin/sh
# Pulling the plug as the normal way to switch off: the system lies below an overlay in memory, and what must last (log, takes, what
# the pedal remembers) on a small file system of its own, written through a journal, each second.
#
#   sh install/keep_card.sh            (as root; `make keep-card`)   set up; holds from the next start on
#   sh install/keep_card.sh undo       (`make open-card`)            as it was, from the next start on
#   sh install/keep_card.sh status     whether it holds now
#
# STATE_PARTITION=/dev/... is an empty partition for the log: then the system's own is mounted to be read only. Without one the log
# gets a file beside the system, STATE_MB=1024 large, which is written in place: the system's partition stays open, and nothing
# else of it is ever written. What is changed in /etc while it holds is gone after the next start: `make open-card` first.
set -eu
root=${DESTDIR:-}
# shellcheck source=/dev/null
. "$(dirname "$0")/kept.sh"
state=/var/lib/undertoe
image=/var/lib/undertoe.img
below=/run/undertoe-below
fstab=$root/etc/fstab
hook=$root/etc/initramfs-tools/scripts/init-bottom/undertoe-overlay
opened=/etc/undertoe/card-is-open
megabytes=${STATE_MB:-1024}
partition=${STATE_PARTITION:-}
unit=/etc/systemd/system/undertoe-log.service
wanted=/etc/systemd/system/undertoe.service.wants/undertoe-log.service
options=data=journal,commit=1,noatime,nosuid,nodev,noexec,errors=remount-ro
say() { echo "undertoe: $*"; }
fail() { echo "undertoe: $*" >&2; exit 1; }
[ "$(id -u)" = 0 ] || fail "this needs root: sudo make keep-card"
holds() { [ -z "$root" ] && card_is_kept; }

# The one word that the system below is told while it is covered.
tell_below() { # COMMAND...
  was=$(findmnt -n -o OPTIONS "$below" | cut -d, -f1)
  mount -o remount,rw "$below"
  "$@"
  sync
  mount -o "remount,$was" "$below"
}

new_start_up() {
  [ -z "$root" ] || return 0
  update-initramfs -u >/dev/null 2>&1 || fail "the start-up image cannot be made: initramfs-tools must be there, and room in /boot"
}

# The pedal rests while its log is moved. It plays on where that came to nothing, and once the log is back; where the log was moved it
# rests until the next start, for what it wrote before that would lie under the new file system.
rest_the_pedal() {
  played=
  if [ -n "$root" ] || [ ! -d /run/systemd/system ]; then return 0; fi
  if systemctl -q is-enabled undertoe 2>/dev/null || systemctl -q is-active undertoe; then played=yes; fi
  systemctl stop undertoe || fail "the pedal cannot be stopped: systemctl status undertoe"
}
let_it_play() { [ -z "$played" ] || systemctl start --no-block undertoe; }
as_it_was() { let_it_play; fail "$*: all is as it was"; }

# What lies on the log's own file system comes back to where it was. The file system goes last, when all of it is there. What it was
# mounted over is not the log, but may hold what was written while it was not there: it is put aside.
bring_the_log_back() {
  at=$(findmnt -n -o SOURCE --mountpoint "$state" | tail -1)
  [ -n "$at" ] || fail "the log's own file system is not there: start the pedal anew, then make open-card again"
  [ "$(blkid -o value -s LABEL "$at")" = undertoe-log ] || fail "$at is not the log's own file system: unmount it, start the pedal anew, then make open-card again"
  rest_the_pedal
  # From here on nothing is written to it that the copy would lack.
  mount -o remount,ro "$state" || as_it_was "the log's file system is in use (fuser -vm $state says by whom)"
  rm -rf "$state.copy"
  if ! cp -a "$state" "$state.copy"; then
    rm -rf "$state.copy"
    mount -o remount,rw "$state"
    as_it_was "there is no room for the log on the card"
  fi
  sync
  if ! umount "$state"; then
    rm -rf "$state.copy"
    mount -o remount,rw "$state"
    as_it_was "the log's file system is in use (fuser -vm $state says by whom)"
  fi
  if ! rmdir "$state" 2>/dev/null; then
    aside=$state.before
    while [ -e "$aside" ]; do aside=$aside.before; done
    mv "$state" "$aside"
    say "what lay there before the card was kept is now $aside: delete it when the log is right"
  fi
  mv "$state.copy" "$state"
  [ ! -e "$state.back" ] || say "$state.back is a copy that an earlier try left: delete it when the log is right"
}

undo() {
  if holds; then
    tell_below touch "$below$opened"
    say "from the next start on the card is open; make open-card again then takes the rest away"
    return 0
  fi
  if [ -e "$root$unit" ]; then
    # In a folder that stands for a machine nothing is mounted: the log is where it was.
    played=
    [ -n "$root" ] || bring_the_log_back
    rm -f "$root$unit" "$root$wanted"
    sync
    rm -f "$root$image"
    [ -n "$root" ] || [ ! -d /run/systemd/system ] || systemctl daemon-reload
    let_it_play
  fi
  if [ -e "$hook" ] || [ -e "$root$opened" ]; then
    # It goes last: the start-up image that there is asks for it, and the next try sees by it that there is something to do.
    install -d "$(dirname "$root$opened")"
    touch "$root$opened"
    rm -f "$hook"
    new_start_up
    rm -f "$root$opened"
  fi
  rm -f "$fstab.kept"
  sync
  say "the card is open"
}

case ${1:-} in
  status)
    if holds; then say "the card is kept: nothing but the log is written to it"; else say "the card is open: anything may write to it"; fi
    exit 0 ;;
  undo) undo; exit 0 ;;
  "") ;;
  *) fail "expected nothing, undo or status (got $1)" ;;
esac
if holds; then
  tell_below rm -f "$below$opened"
  say "the card is kept already"
  exit 0
fi

make_the_logs_own() {
  if [ -n "$partition" ]; then
    [ -b "$partition" ] || fail "$partition is no partition"
    ! findmnt -n -S "$partition" >/dev/null || fail "$partition is in use"
    held=$(blkid -o value -s TYPE "$partition" || true)
    ! blkid -o value -s PTTYPE "$partition" | grep -q . || fail "$partition is a whole disk with partitions: name an empty one of them"
    [ -z "$held" ] || [ "$(blkid -o value -s LABEL "$partition")" = undertoe-log ] || fail "$partition holds a $held: name an empty partition"
    place=$partition
  else
    free=$(df --output=avail -m "$root/var/lib" | tail -1)
    [ "$free" -gt $((megabytes + 200)) ] || fail "there is no room for $megabytes MB beside the system ($free MB are free): STATE_MB=300 make keep-card"
    place=$root$image.new
    # Written once from end to end, so that later writes change nothing but what is in it.
    dd if=/dev/zero of="$place" bs=1M count="$megabytes" status=none
  fi
  rest_the_pedal
  mkdir -p "$root$state"
  if ! mkfs.ext4 -q -F -m 0 -L undertoe-log -d "$root$state" "$place"; then
    [ -n "$partition" ] || rm -f "$place"
    as_it_was "the log and the takes ($(du -sm "$root$state" | cut -f1) MB) find no room in it (a larger STATE_MB or partition has some)"
  fi
  if [ -n "$partition" ]; then
    source=/dev/disk/by-label/undertoe-log loop=
  else
    mv "$place" "$root$image"
    source=$image loop=loop,
  fi
  install -d "$(dirname "$root$unit")" "$(dirname "$root$wanted")"
  # Not by fstab: a pedal whose log is gone would not start at all, for it needs what is mounted where its log lies.
  cat >"$root$unit" <<UNIT
[Unit]
Description=The log of the bend meter on a file system of its own
Before=undertoe.service

[Service]
Type=oneshot
RemainAfterExit=yes
TimeoutStartSec=60
ExecStart=-/bin/sh -c 'at=$source; [ ! -e $below$source ] || at=$below$source; n=0; while [ ! -e "\$at" ] && [ "\$n" -lt 30 ]; do n=\$((n + 1)); sleep 0.5; done; e2fsck -p "\$at"; exec mount -t ext4 -o $loop$options "\$at" $state'
ExecStop=-/bin/umount $state
UNIT
  sed -i 's/\$/$$/g' "$root$unit"
  ln -sfn "$unit" "$root$wanted"
  sync
  [ -z "$played" ] || say "the log is moved; the pedal rests until the next start"
}
[ -e "$root$unit" ] || make_the_logs_own

sed -e 's|^[^#][^ 	]*[ 	][ 	]*/[ 	]|#&|' "$fstab" >"$fstab.kept"
rm -f "$root$opened"
install -d "$(dirname "$hook")"
cat >"$hook" <<'HOOK'
#!/bin/sh
# Made by keep_card.sh. "undertoe=open" in the kernel's command line leaves the card open for one start.
case $1 in prereqs) exit 0 ;; esac
[ ! -e "$rootmnt/etc/undertoe/card-is-open" ] || exit 0
for word in $(cat /proc/cmdline); do [ "$word" != undertoe=open ] || exit 0; done
modprobe -q overlay || true
mkdir -p /run/undertoe-below /run/undertoe-above
mount -t tmpfs -o size=50%,mode=0755 undertoe-above /run/undertoe-above || exit 0
mkdir -p /run/undertoe-above/upper /run/undertoe-above/work
mount -n -o move "$rootmnt" /run/undertoe-below || exit 0
if ! mount -t overlay -o lowerdir=/run/undertoe-below,upperdir=/run/undertoe-above/upper,workdir=/run/undertoe-above/work undertoe-overlay "$rootmnt"; then
  mount -n -o move /run/undertoe-below "$rootmnt"
  exit 0
fi
# Made beforehand, since a start-up image may have neither sed nor grep: nothing mounts the system's own root another way. Where the
# log is a file, its partition stays open.
cat "$rootmnt/etc/fstab.kept" >"$rootmnt/etc/fstab"
if [ -e "$rootmnt/var/lib/undertoe.img" ]; then how=rw,noatime; else how=ro; fi
mount -o remount,$how undertoe-below /run/undertoe-below
exit 0
HOOK
chmod 755 "$hook"
for module in overlay loop; do
  grep -qx "$module" "$root/etc/initramfs-tools/modules" 2>/dev/null || echo "$module" >>"$root/etc/initramfs-tools/modules"
done
new_start_up
say "from the next start on nothing but the log is written to the card (make open-card undoes it)"
