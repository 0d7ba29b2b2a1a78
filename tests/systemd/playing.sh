#!/bin/sh
# Run inside the emulated machine at every start (power_cuts.sh): bends into the loop card for ever, and a line on the console for
# each that ended and for each tenth of a second, by the machine's own clock.
set -u
say() { echo "$*" >/dev/ttyS0; }
up() { cut -d' ' -f1 /proc/uptime; }
modprobe snd-aloop index=0
say "LOG $(findmnt -n -o SOURCE,FSTYPE,OPTIONS /var/lib/undertoe || systemctl status --no-pager var-lib-undertoe.mount 2>&1 | tail -5 | tr '\n' ' ')"
say "BELOW $(findmnt -n -o SOURCE,OPTIONS /run/undertoe-below)"
say "KEPT $(sh /home/project/install/keep_card.sh status)"
until journalctl -u undertoe --no-pager -o cat | grep -q "listening to"; do sleep 1; done
say "LISTENING $(up)"
(while :; do say "ALIVE $(up)"; sleep 0.1; done) &
number=0
while :; do
  aplay -q --buffer-time=1000000 -D hw:0,1 /root/bend.wav
  number=$((number + 1))
  say "ENDED $number $(up)"
done
