#!/bin/sh
# A whole Debian 12, emulated: a real kernel, a real service manager and a real ALSA card (snd-aloop) whose one end plays what the
# other hears. Installs the project by `make install`, boots, runs a script of checks inside as root, prints what it said, and ends
# with the script's own status. No KVM, no network inside, nothing left on this machine but a folder of its own.
#
#   sh tests/systemd/machine.sh [SCRIPT] [SECONDS]     (as root; `make vm`)
#
# SECONDS of this machine, after which it is given up (2400).
#
# Needs some 4 GB below $XDG_CACHE_HOME; the first run fetches a Debian (6 to 8 minutes), later ones take 3 to 8. What this machine
# needs to fetch packages goes in with it: its apt and pip configuration, certificates, and the folders in VM_ALSO ("etc/x opt/y").
# VM_BEFORE=COMMIT installs that commit in place of what is here. VM_PREPARE=FILE is run inside before the disk is made, with
# $LOGS the device of a second disk and $VM_TO as it was given, and VM_ONLY_BUILD=1 boots nothing: power_cuts.sh does. VM_MORE="a b" are packages more in it.
# VM_STICK=IMAGE is a USB stick in it.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
project=$(cd "$here/../.." && pwd)
script=${1:-$here/on_a_card.sh}
limit=${2:-2400}
cache=${XDG_CACHE_HOME:-$HOME/.cache}/undertoe-machine
base=$cache/base work=$cache/work image=$cache/disk.img console=$cache/console.log
say() { echo "machine: $*" >&2; }
[ "$(id -u)" = 0 ] || { say "booting a machine needs root: sudo make vm"; exit 1; }
# What is mounted from here on, this script alone sees, and it goes with it: killed half-way it leaves none of this machine's folders
# below one that the next run removes.
[ -n "${UNDERTOE_APART:-}" ] || exec unshare --mount --propagation private env UNDERTOE_APART=1 sh "$0" "$@"

tools="debootstrap qemu-system-x86 e2fsprogs"
for tool in $tools; do dpkg-query -W -f='${Status}' "$tool" 2>/dev/null | grep -q 'ok installed' || missing="${missing:-} $tool"; done
if [ -n "${missing:-}" ]; then
  say "installing:$missing"
  # shellcheck disable=SC2086
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null
fi

packages=systemd-sysv,udev,dbus,kmod,linux-image-amd64,alsa-utils,procps,git,make,ca-certificates,python3-venv,python3-dev,gcc,libc6-dev,portaudio19-dev
mkdir -p "$cache"
exec 9>"$cache/lock"
flock -n 9 || { say "another run has $cache: wait for it, or name another XDG_CACHE_HOME"; exit 1; }
if [ ! -e "$base/.complete" ]; then
  mirror=$(sed -n 's/^URIs: *//p' /etc/apt/sources.list.d/debian.sources 2>/dev/null | head -1)
  say "fetching a Debian"
  rm -rf "$base"
  # shellcheck disable=SC2086
  debootstrap --variant=minbase --include="$packages" bookworm "$base" ${mirror:-} >"$cache/fetch.log" 2>&1 || { tail -5 "$cache/fetch.log" >&2; exit 1; }
  touch "$base/.complete"
fi

mounts="proc sys dev ${VM_ALSO:-}"
mounted() { awk -v under="$work/" 'index($2, under) == 1 { print $2 }' /proc/self/mounts | sort -r; }
undo() { for place in $(mounted); do umount -l "$place" || true; done; }
trap undo EXIT
undo
[ -z "$(mounted)" ] || { say "something is mounted below $work and does not go: unmount it first"; exit 1; }
rm -rf "$work"
cp -a "$base" "$work"
cp /etc/resolv.conf "$work/etc/"
cp -a /etc/apt/apt.conf.d/. "$work/etc/apt/apt.conf.d/"
cp -a /etc/ssl/certs/. "$work/etc/ssl/certs/" 2>/dev/null || true
if [ -f /etc/pip.conf ]; then cp /etc/pip.conf "$work/etc/"; fi
for place in $mounts; do
  mkdir -p "$work/$place"
  mount --rbind "/$place" "$work/$place"
  mount --make-rslave "$work/$place"
done
git -c safe.directory='*' clone -q "$project" "$work/home/project"
if [ -n "${VM_BEFORE:-}" ]; then git -C "$work/home/project" checkout -q "$VM_BEFORE"; fi
say "installing the project: $(git -C "$work/home/project" log -1 --format=%h)"
# What is not committed yet is tried as well.
if [ -z "${VM_BEFORE:-}" ]; then
  git -c safe.directory='*' -C "$project" diff --binary HEAD >"$cache/changes.diff"
  if [ -s "$cache/changes.diff" ]; then git -C "$work/home/project" apply "$cache/changes.diff"; fi
  (cd "$project" && git -c safe.directory='*' ls-files -o --exclude-standard -z | tar -c --null -T - 2>/dev/null) | tar -x -C "$work/home/project"
fi
settings=$(env | grep -E '^(PIP_|SSL_|REQUESTS_|CURL_|https?_proxy|no_proxy)' | tr '\n' ' ' || true)
# shellcheck disable=SC2086
env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 $settings chroot "$work" sh -c 'cd /home/project && make install' \
  </dev/null >"$cache/install.log" 2>&1 || { tail -20 "$cache/install.log" >&2; exit 1; }
if [ -n "${VM_MORE:-}" ]; then
  # shellcheck disable=SC2086
  env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 DEBIAN_FRONTEND=noninteractive $settings chroot "$work" sh -c "apt-get update -qq && apt-get install -y -qq --no-install-recommends $VM_MORE" \
    </dev/null >>"$cache/install.log" 2>&1 || { tail -20 "$cache/install.log" >&2; exit 1; }
fi
if [ -n "${VM_PREPARE:-}" ]; then
  rm -f "$cache/logs.img"
  truncate -s 256M "$cache/logs.img"
  logs=$(losetup --find --show "$cache/logs.img")
  cp "$VM_PREPARE" "$work/root/prepare.sh"
  # shellcheck disable=SC2086
  env -i HOME=/root PATH=/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 $settings LOGS="$logs" VM_TO="${VM_TO:-}" chroot "$work" sh /root/prepare.sh </dev/null \
    >"$cache/prepare.log" 2>&1 || { tail -20 "$cache/prepare.log" >&2; losetup -d "$logs"; exit 1; }
  losetup -d "$logs"
  for made in "$work"/boot/initrd.img-*; do cp "$made" "$cache/initrd"; done
fi
undo

cp "$script" "$work/root/checks.sh"
cat >"$work/etc/systemd/system/checks.service" <<'UNIT'
[Unit]
Description=Checks
DefaultDependencies=no
After=sysinit.target

[Service]
ExecStart=/bin/sh -c "sh /root/checks.sh >/root/said.txt 2>&1; echo $? >/root/status.txt; sync; systemctl poweroff -ff"

[Install]
WantedBy=sysinit.target
UNIT
sed -i 's/\$?/$$?/' "$work/etc/systemd/system/checks.service"
mkdir -p "$work/etc/systemd/system/sysinit.target.wants"
ln -sf ../checks.service "$work/etc/systemd/system/sysinit.target.wants/checks.service"
printf '/dev/vda / ext4 defaults 0 1\n' >"$work/etc/fstab"
rm -f "$image"
mke2fs -q -t ext4 -d "$work" "$image" 4G
rm -rf "$work"
[ -z "${VM_ONLY_BUILD:-}" ] || exit 0

say "booting"
# One processor of 500 million instructions a second, counted: as quick, or slow, whatever else runs here. A small board.
timeout "$limit" qemu-system-x86_64 -accel tcg -icount shift=1 -rtc clock=vm -cpu max -m 1536 -kernel "$base"/boot/vmlinuz-* -initrd "$base"/boot/initrd.img-* \
  -append "root=/dev/vda rw console=ttyS0 quiet" -drive "file=$image,format=raw,if=virtio" -display none -serial "file:$console" \
  ${VM_STICK:+-device qemu-xhci -drive if=none,id=stick,format=raw,file="$VM_STICK" -device usb-storage,drive=stick} \
  -no-reboot -nic none 2>/dev/null || say "ended by its limit or a fault; its console: $console"
read_out() { debugfs -R "cat /root/$1" "$image" 2>/dev/null; }
read_out said.txt
exit "$(read_out status.txt | grep -E '^[0-9]+$' || echo 1)"
