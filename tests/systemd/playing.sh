#!/bin/sh
# Run inside the emulated machine at every start (power_cuts.sh): a bend into the loop card every few seconds, for ever, and a line on
# the console for each that ended and each that the pedal judged, with the machine's own time. The pause leaves the hearing, slow as
# it is here, time to come after. Plain notes are told and not kept: they are left out.
set -u
say() { echo "$*" >/dev/ttyS0; }
modprobe snd-aloop index=0
until journalctl -u undertoe --no-pager -o cat | grep -q "listening to"; do sleep 1; done
say "LOG $(findmnt -n -o SOURCE,FSTYPE,OPTIONS -T /var/lib/undertoe)"
say "BELOW $(findmnt -n -o SOURCE,OPTIONS /run/undertoe-below)"
say "KEPT $(sh /home/project/install/keep_card.sh status)"
say "LISTENING $(cat /proc/uptime)"
journalctl -u undertoe -f -n 0 -o short-monotonic | while read -r line; do
  case $line in
    *'"kind": "steady"'*) ;;
    *'"onset_s": '*)
      onset=${line#*'"onset_s": '}
      at=${line#*[} at=${at%%]*}
      say "TOLD ${onset%%,*} ${at##* }" ;;
    *) say "SAID $line" ;;
  esac
done &
number=0
while :; do
  aplay -q --buffer-time=1000000 -D hw:0,1 /root/bend.wav
  number=$((number + 1))
  read -r now _ </proc/uptime
  say "ENDED $number $now"
  sleep 2
done
