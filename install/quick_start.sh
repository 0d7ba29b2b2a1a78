#!/bin/sh
# Shorten the way from power to the first note: switch off what a pedal does not need, and remember what it was.
#
#   sh install/quick_start.sh          (as root; `make quick-start`)
#   sh install/quick_start.sh undo     all as it was (`make slow-start`)
#
# Network and login stay; only what waits for a network, looks for updates, or drives parts that a pedal has not goes.
set -eu
root=${DESTDIR:-}
# shellcheck source=/dev/null
. "$(dirname "$0")/kept.sh"
kept=$root/var/lib/undertoe-quick-start
config=$root/boot/firmware/config.txt
begin="# undertoe quick start: begin" end="# undertoe quick start: end"
units="NetworkManager-wait-online.service systemd-networkd-wait-online.service ModemManager.service bluetooth.service hciuart.service
  avahi-daemon.service avahi-daemon.socket triggerhappy.service triggerhappy.socket rpi-eeprom-update.service dphys-swapfile.service
  keyboard-setup.service console-setup.service man-db.timer apt-daily.timer apt-daily-upgrade.timer e2scrub_reap.service
  e2scrub_all.timer fstrim.timer udisks2.service packagekit.service cups.service"
say() { echo "undertoe: $*"; }
[ "$(id -u)" = 0 ] || { echo "undertoe: this needs root: sudo make quick-start" >&2; exit 1; }
refuse_on_a_kept_card

undo() {
  if [ ! -d "$kept" ]; then
    say "the start was not shortened: nothing to undo"
    return 0
  fi
  while read -r unit; do systemctl enable -q "$unit" 2>/dev/null || say "$unit cannot be switched on again"; done <"$kept/units"
  if [ -e "$config" ] && grep -qxF "$begin" "$config"; then
    last=$(tail -n 1 "$config")
    sed "/^$begin\$/,/^$end\$/d" "$config" >"$config.new"
    # The line end that was put before our lines goes with them; what was written behind them needs it.
    if [ -e "$kept/unended" ] && [ "$last" = "$end" ]; then
      was=$(cat "$config.new")
      printf %s "$was" >"$config.new"
    fi
    mv "$config.new" "$config"
  fi
  rm -rf "$kept"
  say "the start is as it was: start anew"
}

if [ "${1:-}" = undo ]; then
  undo
  exit 0
fi
mkdir -p "$kept"
touch "$kept/units"
for unit in $units; do
  [ "$(systemctl is-enabled "$unit" 2>/dev/null || true)" = enabled ] || continue
  # First remembered, then switched off: a power cut between the two loses nothing.
  grep -qxF "$unit" "$kept/units" || echo "$unit" >>"$kept/units"
  sync -f "$kept/units"
  systemctl disable -q "$unit" 2>/dev/null || say "$unit stays on"
done
if [ -e "$config" ] && ! grep -qxF "$begin" "$config"; then
  # A last line without an end would take our first one in.
  rm -f "$kept/unended"
  [ -z "$(tail -c 1 "$config")" ] || touch "$kept/unended"
  {
    cat "$config"
    [ ! -e "$kept/unended" ] || echo
    printf '%s\n[all]\ndisable_splash=1\nboot_delay=0\ninitial_turbo=30\ndtoverlay=disable-bt\n%s\n' "$begin" "$end"
  } >"$config.new"
  mv "$config.new" "$config"
fi
say "switched off: $(tr '\n' ' ' <"$kept/units")(make slow-start undoes it)"
