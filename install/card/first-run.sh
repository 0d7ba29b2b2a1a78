#!/bin/sh
# The first start of a card that was made a pedal's: boot settings, the program from the bundle beside this file, and a start anew.
# Run as root by cloud-init (user-data), or where the system has none, by the line that cmdline-addition.txt adds. No network is
# asked, nobody logs in. What came of it is written to result.txt beside this file, where any computer can read it.
#
# It is asked for once: cloud-init does so once an instance (meta-data), and the line is taken out of cmdline.txt first. After a fault
# the card is written anew, or this is run by hand; where it has come to its end it does nothing.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
boot=$(dirname "$here")
digest=@DIGEST@
work=/var/tmp/undertoe-setup
mark=/var/lib/undertoe-setup.done
[ ! -e "$mark" ] || exit 0

say() { echo "undertoe: $*"; echo "$*" >>"$here/result.txt.new" 2>/dev/null || true; }
finish() {
  status=$?
  rm -rf "$work"
  [ "$status" = 0 ] || say "It failed. Take a photograph of this text, and write the card anew."
  mv "$here/result.txt.new" "$here/result.txt" 2>/dev/null || true
  sync
}
fail() { say "$*"; exit 1; }
trap finish EXIT
rm -f "$here/result.txt.new"

# A line that asked for this start must not ask for the next one, else a fault would come round for ever.
if grep -q ' systemd\.run=' "$boot/cmdline.txt" 2>/dev/null; then
  sed -e 's| systemd\.run="[^"]*"||' -e 's| systemd\.[^ ]*||g' "$boot/cmdline.txt" >"$boot/cmdline.txt.new" && mv "$boot/cmdline.txt.new" "$boot/cmdline.txt"
fi

# shellcheck source=/dev/null
code=$(. /etc/os-release && echo "${VERSION_CODENAME:-none}")
case "$code $(dpkg --print-architecture)" in
  "bookworm arm64" | "trixie arm64") ;;
  *) fail "This card needs Raspberry Pi OS Lite (64-bit) on Debian 12 or 13; it found $code on $(dpkg --print-architecture)." ;;
esac
say "Setting up on $code."
[ "$(sha256sum "$here/bundle.tar" | cut -d' ' -f1)" = "$digest" ] || fail "bundle.tar is damaged, or not the one that belongs here: copy it again."
free=$(df --output=avail -k /var/tmp | tail -1)
[ "$free" -gt 700000 ] || fail "The card is too small, or its partition was not enlarged yet: $((free / 1024)) MB are free, 700 are needed."

rm -rf "$work"
mkdir -m 0700 "$work"
tar -x --no-same-owner -C "$work" -f "$here/bundle.tar"

# Buses on for the panel, the board's own sound off, so that the card with the guitar is the only one.
config=$boot/config.txt
if [ -e "$config" ] && ! grep -q '^# undertoe' "$config"; then
  cp "$config" "$here/config.txt.before"
  {
    sed -e 's/^dtparam=audio=on/dtparam=audio=off/' -e 's/^\(dtoverlay=vc4-[a-z0-9-]*\)$/\1,noaudio/' "$config"
    printf '\n# undertoe: the panel, and no sound of the board'"'"'s own\n[all]\ndtparam=i2c_arm=on\ndtparam=i2c_arm_baudrate=400000\ndtparam=spi=on\n'
  } >"$config.new"
  mv "$config.new" "$config"
fi

UNDERTOE_BUNDLE="$work/$code" sh "$work/project/install/install.sh" >"$work/log" 2>&1 || { tail -5 "$work/log" | while read -r line; do say "$line"; done; fail "The program could not be installed."; }
if [ -f "$here/quick-start" ]; then sh "$work/project/install/quick_start.sh" >>"$work/log" 2>&1 || say "The start could not be shortened."; fi
# A first file of settings, to be edited anywhere; one that is there stays.
[ -e "$boot/undertoe.yaml" ] || cp "$work/project/install/card/undertoe.yaml" "$boot/undertoe.yaml"
touch "$mark"
say "The pedal is set up. It starts anew, and is ready when the panel says so."
