#!/bin/sh
# The card of `make card` in an emulated arm64 Debian that has what a stock system has and no network: does its first start make a
# pedal of it. As root, after make card: sh tests/systemd/card_offline.sh bookworm|trixie. Ends with "card: good", or at the first
# thing that is wrong. Not a board: no firmware reads config.txt here, and no service manager runs.
set -eu
suite=$1
project=$(cd "$(dirname "$0")/../.." && pwd)
[ -n "${UNDERTOE_APART:-}" ] || exec unshare --mount --propagation private env UNDERTOE_APART=1 sh "$0" "$@"
# shellcheck source=/dev/null
. "$project/install/arm64.sh"
cache=${XDG_CACHE_HOME:-$HOME/.cache}/undertoe-card
root=$cache/stock-$suite
say() { echo "card: $*"; }
check() { "$@" || { say "wrong: $*"; exit 1; }; }
if [ ! -e "$root/.complete" ]; then
  say "making a stock $suite"
  rm -rf "$root"
  # shellcheck disable=SC2086,SC2154
  debootstrap --arch=arm64 --variant=minbase --include=python3 "$suite" "$root" ${mirror:-} </dev/null >"$root.log" 2>&1
  touch "$root/.complete"
fi
work=$cache/try-$suite
rm -rf "$work"
cp -a "$root" "$work"
boot=$work/boot/firmware
mkdir -p "$boot"
cp -R "$project/out/card/." "$boot/"
printf 'console=tty1 root=PARTUUID=x rootwait systemd.run="/bin/sh x" systemd.run_success_action=reboot systemd.unit=kernel-command-line.target\n' >"$boot/cmdline.txt"
printf 'dtparam=audio=on\ndtoverlay=vc4-kms-v3d\n[all]\n' >"$boot/config.txt"
inside() { unshare -n -m chroot "$work" env -i HOME=/root PATH=/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin LANG=C.UTF-8 "$@"; }
inside sh -c 'mount -t proc proc /proc; mount -t tmpfs none /dev; mknod -m 666 /dev/null c 1 3; mknod -m 666 /dev/urandom c 1 9; mknod -m 666 /dev/zero c 1 5
  mkdir /dev/shm; python3 -c "import socket; socket.create_connection((\"192.0.2.1\", 80), 2)" 2>/dev/null && echo "there is a network" >&2
  sh /boot/firmware/undertoe-setup/first-run.sh' || { cat "$boot/undertoe-setup/result.txt"; say "wrong: the first start failed"; exit 1; }
sed 's/^/card: said: /' "$boot/undertoe-setup/result.txt"
check grep -q "The pedal is set up" "$boot/undertoe-setup/result.txt"
check test "$(cat "$boot/cmdline.txt")" = "console=tty1 root=PARTUUID=x rootwait"
check grep -qx dtparam=i2c_arm=on "$boot/config.txt"
check grep -qx dtparam=audio=off "$boot/config.txt"
check grep -qx dtoverlay=vc4-kms-v3d,noaudio "$boot/config.txt"
check test -s "$boot/undertoe.yaml"
check test -L "$work/etc/systemd/system/multi-user.target.wants/undertoe.service"
inside sh -c 'mount -t proc proc /proc; undertoe check && undertoe check --card /boot/firmware/undertoe.yaml && undertoe demo --headless --fast' >"$work/said.txt" 2>&1 || { cat "$work/said.txt"; say "wrong: the program does not run"; exit 1; }
check grep -q "curled up" "$work/said.txt"
inside sh -c 'cd / && /opt/undertoe/current/bin/python3 -c "import pyaudio, lgpio, spidev, numpy, soundfile; print(\"card: libraries:\", numpy.__version__, pyaudio.__version__)"'
# Again, as at the next start: nothing happens. And with a damaged bundle: a sentence, nothing installed.
inside sh /boot/firmware/undertoe-setup/first-run.sh
rm "$work/var/lib/undertoe-setup.done"
printf x >>"$boot/undertoe-setup/bundle.tar"
if inside sh -c 'mount -t proc proc /proc; sh /boot/firmware/undertoe-setup/first-run.sh' >/dev/null; then say "wrong: a damaged bundle was installed"; exit 1; fi
check grep -q "is damaged" "$boot/undertoe-setup/result.txt"
rm -rf "$work"
say "good"
