#!/bin/sh
# The installed service on a real kernel with a real ALSA card (snd-aloop: what is played into one end is heard at the other). Run as
# root on a machine to be thrown away: tests/systemd/machine.sh boots one. A line for each check, "good" or "WRONG" with what was
# seen; status 1 if anything was wrong. Nothing here is a matter of speed: waits end when it has happened, or after a minute or two.
set -u
config=/etc/undertoe/undertoe.yaml
python=/opt/undertoe/current/bin/python3
project=/home/project
faults=0
say() { echo "card: $*"; }
right() { say "good: $*"; }
wrong() { faults=$((faults + 1)); echo "card: WRONG: $*"; journalctl -u undertoe --no-pager -o short-monotonic -n 6 | sed 's/^/        /'; }
of() { systemctl show undertoe -p "$1" --value; }
wait_for() { # SECONDS COMMAND...
  left=$1; shift
  until "$@"; do left=$((left - 1)); [ "$left" -gt 0 ] || return 1; sleep 1; done
}
active() { [ "$(of ActiveState)" = active ]; }
journal() { journalctl -u undertoe --no-pager -o cat --since "@$since"; }
told() { journal | grep -q "$1"; }
count() { journal | grep -c "$1"; }
mark() { sleep 1; since=$(date +%s); }
notes() { "$python" -c 'import sqlite3, sys; print(sqlite3.connect("file:/var/lib/undertoe/log.sqlite?mode=ro", uri=True).execute("select count(*) from entry").fetchone()[0])' 2>/dev/null || echo 0; }
more_notes() { [ "$(notes)" -gt "$1" ]; }
lost() { of StatusText | grep -o "[0-9.]* s of sound lost" || echo "0.00 s of sound lost"; }
# The player is emulated, too, and must not run dry; and a format other than the listener's would stop the listener (snd-aloop).
play() { aplay -q --buffer-time=1000000 -D "hw:$1,1" "$2"; }
settings() {
  cat >$config <<YAML
audio: {input: $1}
display: {kind: none}
switches: {pins: []}
key: G minor pentatonic
YAML
}

mark
say "kernel $(uname -r), $(nproc) processors of $(awk -F: '/model name/ {print $2; exit}' /proc/cpuinfo)"

# 1. Started with no card, no module for one: ready, the machine is up, and it says what it waits for.
settings Loopback
systemctl restart --no-block undertoe
if wait_for 90 active; then right "ready without a card"; else wrong "not ready without a card: $(of ActiveState)"; fi
up() { systemctl -q is-active multi-user.target; }
if wait_for 60 up; then right "the machine is up meanwhile"; else wrong "multi-user.target waits for the pedal"; fi
say "its status: $(of StatusText)"

# 2. The module is loaded later: its devices are allowed, and taken up without a restart.
old=$(of MainPID)
modprobe snd-aloop index=0
if wait_for 40 told "listening to"; then right "a card that came later is heard"; else wrong "a card that came later is not heard"; systemctl restart --no-block undertoe; wait_for 90 told "listening to"; fi
[ "$(of MainPID)" = "$old" ] || say "the process is another than before"

say "the driver's buffer: $(grep -h -E 'period_size|buffer_size' /proc/asound/card0/pcm0c/sub*/hw_params | tr '\n' ' ')"
say "the kernel says: $(grep -h -E 'owner_pid|trigger_time' /proc/asound/card0/pcm0c/sub*/status | tr '\n' ' ')"

# The hearing has the one processor to itself while it makes its tables, and nobody reads the driver meanwhile.
sleep 15
if [ "$(lost)" = "0.00 s of sound lost" ]; then right "nothing was lost while the hearing began"; else wrong "$(lost) while the hearing began"; fi
for thread in /proc/"$(of MainPID)"/task/*; do
  say "thread $(cat "$thread/comm"): $(awk '{ printf "%.2f s of processor, waited %.2f s for it", $1 / 1e9, $2 / 1e9 }' "$thread/schedstat")"
done

# 3. A take is judged.
(cd $project && "$python" -c '
import numpy as np
from tests.live.true_bend import a_true_bend, write
from pathlib import Path
write(Path("/root/bend.wav"), np.tile(a_true_bend(), 2), subtype="FLOAT")
write(Path("/root/playing.wav"), np.tile(a_true_bend(), 8), subtype="FLOAT")
')
before=$(notes)
play 0 /root/bend.wav
if wait_for 30 more_notes $((before + 1)); then right "two bends were played, $(($(notes) - before)) notes are in the log"; else wrong "two bends were played, $(($(notes) - before)) notes are in the log"; fi

say "its status: $(of StatusText)"

# 4. Frozen: shorter than the buffer, longer, and for seconds. The stream stays, and what is lost is counted.
for frozen in 0.3 0.9 3; do
  already=$(lost)
  mark
  play 0 /root/playing.wav & player=$!
  sleep 4
  pedal=$(of MainPID)
  kill -STOP "$pedal"; sleep $frozen; kill -CONT "$pedal"
  wait $player
  sleep 5
  opened=$(count "listening to") gone=$(journal | grep -c "plug it in\|without a word")
  if [ "$opened" = 0 ] && [ "$gone" = 0 ]; then right "frozen for $frozen s: the stream stays"; else wrong "frozen for $frozen s: opened $opened time(s) again, called lost $gone time(s)"; fi
  say "its status: $(of StatusText)"
  case $frozen in
    0.3) if [ "$(lost)" = "$already" ]; then right "frozen for 0.3 s: nothing was lost"; else wrong "frozen for 0.3 s: $(lost)"; fi ;;
    *) if [ "$(lost)" != "$already" ]; then right "frozen for $frozen s: counted"; else wrong "frozen for $frozen s: not counted"; fi ;;
  esac
done
before=$(notes)
play 0 /root/bend.wav
if wait_for 30 more_notes "$before"; then right "a bend after it is judged"; else wrong "a bend after it is not judged"; fi

# 5. The card has another number: the menu's choice "Loopback: PCM (hw:0,0)" still means it.
systemctl stop undertoe
mark
modprobe -r snd-aloop && modprobe snd-aloop index=3
settings '"Loopback: PCM (hw:0,0)"'
systemctl start --no-block undertoe
if wait_for 90 told "listening to"; then right "found by its name: $(journal | grep "listening to" | tail -1)"; else wrong "not found under another number"; fi

# 6. The doctor beside the service: it says that the service has the card, and neither of them suffers.
mark
settings Loopback
systemctl restart --no-block undertoe; wait_for 90 told "listening to"
sleep 5
mark
if (cd / && undertoe doctor --config $config >/root/doctor.txt 2>&1); then right "the doctor finds nothing missing"; else wrong "the doctor beside the service finds something missing"; fi
grep -E "service|input|missing|warn|memory" /root/doctor.txt | sed 's/^/        /'
if grep -q "running" /root/doctor.txt; then right "the doctor says that the pedal is running"; else wrong "the doctor does not say that the pedal is running"; fi
if [ "$(count "plug it in\|listening to")" = 0 ]; then right "the service did not notice"; else wrong "the doctor took something from the service"; fi

# 7. Settings with a slip: it does not give up, and a good file is taken up by itself.
mark
echo 'capo: high' >$config
systemctl restart --no-block undertoe
sleep 20
say "with a slip in its settings: $(of ActiveState), status $(of ExecMainStatus), started again $(of NRestarts) time(s): $(of StatusText)"
mark
settings Loopback
if wait_for 90 told "listening to"; then right "the corrected file is taken up without a hand"; else wrong "after the file was corrected it stays down"; systemctl reset-failed undertoe; systemctl restart --no-block undertoe; wait_for 90 told "listening to"; fi

# 8. A hearing ten times slower than elsewhere: nothing is lost.
systemctl stop undertoe
cat >/root/slow.py <<'PY'
"""The pedal with a hearing that costs at least ten times what it costs on a desk; the factor is told."""
import atexit, os, sys, time
os.environ["OPENBLAS_NUM_THREADS"] = "1"
from pedal.chain import Chain
import pedal.cli.entry

RATE = 48_000

push = Chain.hear
HERE_S = 0.011  # seconds of a desk processor for a second of playing, by this very measure
spent = {"s": 0.0, "samples": 0, "longest_s": 0.0}
def slow(self, samples, *, lost_samples=0):
    began = time.thread_time()
    heard = push(self, samples, lost_samples=lost_samples)
    wanted = 10 * HERE_S * len(samples) / RATE
    while time.thread_time() - began < wanted:
        sum(range(300))  # holds the interpreter's lock, as hearing does
    took_s = time.thread_time() - began
    spent["s"] += took_s; spent["longest_s"] = max(took_s, spent["longest_s"]); spent["samples"] += len(samples)
    return heard
Chain.hear = slow
atexit.register(lambda: print("slow: %.2f s a second of playing, %.0f times a desk's; the longest look %.2f s" % (
    spent["s"] / (spent["samples"] / RATE), spent["s"] / (spent["samples"] / RATE) / HERE_S, spent["longest_s"]), file=sys.stderr))
sys.argv = ["undertoe", *sys.argv[1:]]
pedal.cli.entry.program()
PY
(cd $project && exec "$python" /root/slow.py live --config $config --headless --json --no-drone --log /root/slow.sqlite >/root/slow.out 2>/root/slow.err) & slow=$!
wait_for 90 grep -q "listening to" /root/slow.err
sleep 3
play 3 /root/playing.wav
sleep 8
kill -TERM $slow
wait $slow
tail -6 /root/slow.err | sed 's/^/        /'
said=$(grep -c '"verdict": "true"' /root/slow.out)
if [ "$said" = 8 ]; then right "ten times slower: 8 of 8 bends are true"; else wrong "ten times slower: $said of 8 bends are true"; fi
if [ "$(grep -c "listening to" /root/slow.err)" = 1 ] && ! grep -q "lost in" /root/slow.err; then right "ten times slower: nothing was lost"; else wrong "ten times slower: something was lost"; fi

# 9. The doctor over a cable from output to input: this card is one, without noise, and with one clock for both of its ends.
cat >$config <<YAML
audio: {input: "Loopback: PCM", output: "Loopback: PCM (hw:,1)"}
display: {kind: none}
switches: {pins: []}
YAML
# How quick this machine is is not asked: where the output ran dry, as it does beside a start, it is measured anew.
for try in 1 2 3; do
  (cd / && undertoe doctor --config $config --no-listen --loop >/root/loop.txt 2>&1)
  grep -q "ran dry" /root/loop.txt || break
  say "over the cable, for the ${try}. time: $(grep "ran dry" /root/loop.txt)"
  sleep 10
done
grep -E "cable|block size|two clocks|distortion" /root/loop.txt | sed 's/^/        /'
figure() { # PART: the first number of its sentence
  awk -v part="$1" 'index($0, part) { sub(".*" part " *", ""); if (match($0, /[-+]?[0-9.]+/)) { print substr($0, RSTART, RLENGTH); exit } }' /root/loop.txt
}
between() { # WHAT LEAST MOST
  if awk -v is="$(figure "$1")" -v least="$2" -v most="$3" 'BEGIN { exit !(is != "" && is >= least && is <= most) }'; then right "over the cable: $1 $(figure "$1")"; else wrong "over the cable: $1 $(figure "$1"), not from $2 to $3"; fi
}
between "cable level" -0.1 0.1
between "distortion" 0 0.01
between "two clocks" 0 1
# A block of the output, which is 21.3 ms, less the kernel's tick of 4 ms that moves this card's clock; up to where the doctor warns.
between "cable delay" 10 100
if grep -q "no sample lost" /root/loop.txt; then right "over the cable: no sample lost"; else wrong "over the cable: samples were lost"; fi

say "$faults wrong"
[ "$faults" = 0 ]
