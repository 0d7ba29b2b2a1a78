#!/bin/sh
# What a power cut costs: the emulated machine of machine.sh, its card kept (install/keep_card.sh), plays BENDS bends (150) while all
# that it writes is logged, and then its power is cut at COUNT random moments (100) of that time, each on two kinds of card. After
# each: are the file systems clean, is the log sound, are all notes in it that were played, and which are not. As root, with 3 GB
# free in /dev/shm:
#
#   sh tests/systemd/power_cuts.sh [COUNT] [BENDS]     REUSE=1: play on the machine that an earlier run built
set -eu
here=$(cd "$(dirname "$0")" && pwd)
cache=${XDG_CACHE_HOME:-$HOME/.cache}/undertoe-machine
[ -n "${REUSE:-}" ] || VM_PREPARE=$here/prepare_power_cuts.sh VM_ONLY_BUILD=1 sh "$here/machine.sh" "$here/playing.sh"
exec python3 "$here/power_cuts.py" "$cache" "${1:-100}" "${2:-150}"
