#!/bin/sh
# What a power cut costs: the emulated machine of machine.sh, its card kept (install/keep_card.sh), playing bends for ever, and
# switched off hard at random moments, COUNT times (100). After each: are both file systems clean, is the log sound, are all notes
# in it that were played, and which are not. As root: sh tests/systemd/power_cuts.sh [COUNT]
set -eu
here=$(cd "$(dirname "$0")" && pwd)
cache=${XDG_CACHE_HOME:-$HOME/.cache}/undertoe-machine
dpkg-query -W -f='${Status}' qemu-utils 2>/dev/null | grep -q 'ok installed' ||
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends qemu-utils >/dev/null
# REUSE=1 goes on from the moment that an earlier run kept.
[ -n "${REUSE:-}" ] || rm -f "$cache/cuts.before"
[ -n "${REUSE:-}" ] || VM_PREPARE=$here/prepare_power_cuts.sh VM_ONLY_BUILD=1 sh "$here/machine.sh" "$here/playing.sh"
exec python3 "$here/power_cuts.py" "$cache" "${1:-100}"
