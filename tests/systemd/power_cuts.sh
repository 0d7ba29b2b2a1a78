#!/bin/sh
# What a power cut costs: the emulated machine of machine.sh plays BENDS bends (110) while all that it writes is logged, and then its
# power is cut at COUNT random moments (100) of that time and after COUNT requests of that log, each on two kinds of card. After each:
# are the file systems clean, is the log sound, are all notes in it that were played, and which are not. As root, with 3 GB free in
# /dev/shm (10 for file and open):
#
#   sh tests/systemd/power_cuts.sh [COUNT] [BENDS] [partition|file|open]     REUSE=1: the machine that an earlier run built
#
# The card is kept with the log on a partition of its own, or as a file beside the system (install/keep_card.sh), or open as it was.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
cache=${XDG_CACHE_HOME:-$HOME/.cache}/undertoe-machine
where=${3:-partition}
case $where in partition | file | open) ;; *) echo "power_cuts: expected partition, file or open (got $where)" >&2; exit 2 ;; esac
[ -n "${REUSE:-}" ] || VM_TO=$where VM_PREPARE=$here/prepare_power_cuts.sh VM_ONLY_BUILD=1 sh "$here/machine.sh" "$here/playing.sh"
exec python3 "$here/power_cuts.py" "$cache" "${1:-100}" "${2:-110}" "$where"
