#!/bin/sh
# A USB stick in the emulated machine, which is then the card's partition as well: what the units do with them on a real kernel, with
# a real service manager. On this machine (with dosfstools and mtools), as root, `sh tests/systemd/stick.sh` makes the stick, boots
# with it and looks at it afterwards; inside it is the script of checks.
set -u
here=$(cd "$(dirname "$0")" && pwd)
cache=${XDG_CACHE_HOME:-${HOME:-/root}/.cache}/undertoe-machine
say() { echo "stick: $*"; }
faults=0
wrong() { faults=$((faults + 1)); echo "stick: WRONG: $*"; }

if [ "$here" != /root ]; then
  mkdir -p "$cache/stick/undertoe/licks"
  printf 'capo: 3\n' >"$cache/stick/undertoe/undertoe.yaml"
  printf 'undertoe lick 1\nkey G minor pentatonic\nb3 1/2\n1 1\n' >"$cache/stick/undertoe/licks/one.lick"
  rm -f "$cache/stick.img"
  truncate -s 64M "$cache/stick.img"
  mkfs.vfat -n STICK "$cache/stick.img" >/dev/null
  mcopy -s -i "$cache/stick.img" "$cache/stick/undertoe" ::
  cat >"$cache/prepare_stick.sh" <<'PREPARE'
cd /var/lib/undertoe && setpriv --reuid=undertoe --regid=undertoe --clear-groups env HOME=/nonexistent /usr/local/bin/undertoe demo --headless --fast --log /var/lib/undertoe/log.sqlite
PREPARE
  VM_PREPARE=$cache/prepare_stick.sh VM_STICK=$cache/stick.img sh "$here/machine.sh" "$here/stick.sh" || faults=1
  mdir -/ -b -i "$cache/stick.img" :: | sed 's/^/stick: holds /'
  mdir -/ -b -i "$cache/stick.img" :: | grep -q review.html || wrong "the page is not on the stick"
  fsck.vfat -n "$cache/stick.img" >/dev/null || wrong "the stick is not clean"
  exit "$faults"
fi

unit=undertoe-stick@sda.service
left=600
until [ -n "$(systemctl show $unit -p ExecMainExitTimestamp --value 2>/dev/null)" ] || [ "$left" = 0 ]; do left=$((left - 1)); sleep 1; done
say "the copy: $(systemctl show $unit -p Result --value), $(systemctl show $unit -p ExecMainStatus --value)"
journalctl -u $unit -u undertoe-stick-mount@sda.service --no-pager -o cat | sed 's/^/        /'
[ "$(systemctl show $unit -p Result --value)" = success ] || wrong "the copy failed"
sleep 10
findmnt /run/undertoe-stick/sda >/dev/null && wrong "it is still mounted"
[ -s /var/lib/undertoe/licks/one.lick ] || wrong "the lick did not come in"
[ -s /var/lib/undertoe/settings-from-stick.yaml ] || wrong "the settings did not come in"
[ "$(stat -c %U /var/lib/undertoe/licks/one.lick)" = undertoe ] || wrong "the lick is not the pedal's"

# The same file system as the card's own partition: its unit is root's, and the log must stay the pedal's.
mkdir -p /boot/firmware
mount -t vfat /dev/sda /boot/firmware
systemctl start undertoe-card.service || wrong "the copy to the card failed"
journalctl -u undertoe-card.service --no-pager -o cat | sed 's/^/        /'
[ -s /boot/firmware/undertoe/log.jsonl ] || wrong "the log is not on the card"
[ "$(stat -c '%U %a' /var/lib/undertoe)" = "undertoe 700" ] || wrong "the pedal's folder is $(stat -c '%U %a' /var/lib/undertoe) now"
[ "$(stat -c %U /var/lib/undertoe/log.sqlite)" = undertoe ] || wrong "the log is not the pedal's any more"
touch /boot/firmware/may-be-edited 2>/dev/null || wrong "the card's partition was closed: $(findmnt -n -o OPTIONS /boot/firmware)"
umount /boot/firmware
say "the pedal: $(systemctl show undertoe -p ActiveState --value), $(systemctl show undertoe -p StatusText --value)"
say "$faults wrong"
[ "$faults" = 0 ]
