#!/bin/sh
# An upgrade and the way back, with log and settings kept. Run inside the machine of machine.sh, where an older commit is installed:
#   VM_BEFORE=OLD VM_TO=NEW VM_PREPARE=tests/systemd/upgrade.sh VM_ONLY_BUILD=1 sh tests/systemd/machine.sh
# Says what it saw into prepare.log; ends with "upgrade: good", or at the first thing that is wrong.
set -eu
say() { echo "upgrade: $*"; }
check() { "$@" || { say "wrong: $*"; exit 1; }; }
PATH=$PATH:/usr/local/bin
log=/var/lib/undertoe/log.sqlite
cd /home/project
old=$(readlink /opt/undertoe/current)
printf 'capo: 2\nkey: A blues\n' >/etc/undertoe/undertoe.yaml
as_the_pedal() { (cd /var/lib/undertoe && setpriv --reuid=undertoe --regid=undertoe --clear-groups env HOME=/nonexistent STATE_DIRECTORY=/var/lib/undertoe OPENBLAS_NUM_THREADS=1 "$@"); }
notes() { /opt/undertoe/current/bin/python3 -c 'import sqlite3, sys; print(sqlite3.connect("file:" + sys.argv[1] + "?mode=ro", uri=True).execute("select count(*) from entry").fetchone()[0])' "$log"; }
play() { as_the_pedal undertoe demo --headless --fast --log "$log" >/root/demo.txt; }
if ! undertoe demo --help | grep -q -- --log; then say "this release keeps no log of a demo"; exit 1; fi
play
before=$(notes)
check test "$before" -gt 5
say "with the older release: $before notes"
git checkout -q "$VM_TO"
make install
check test "$(readlink /opt/undertoe/current)" != "$old"
check test "$(cat /etc/undertoe/undertoe.yaml)" = "$(printf 'capo: 2\nkey: A blues\n')"
check undertoe check
check test "$(notes)" = "$before"
as_the_pedal undertoe review >/root/review.txt
check test -s /root/review.txt
play
after=$(notes)
check test "$after" -gt "$before"
say "with the newer one: $after notes; its review reads them all"
make rollback
check test "$(readlink /opt/undertoe/current)" = "$old"
check undertoe check
if as_the_pedal undertoe review >/root/back.txt 2>&1; then say "back: the older release reads the log"; else say "back: the older release says: $(tail -1 /root/back.txt)"; fi
check test "$(notes)" = "$after"
make rollback
check test "$(notes)" = "$after"
as_the_pedal undertoe review >/root/again.txt
say "good"
