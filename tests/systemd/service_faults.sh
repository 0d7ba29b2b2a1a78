#!/bin/sh
# The installed service under a real service manager: ready, watched, reloaded, killed, frozen, deaf, misled. To be run as root in
# a booted machine to be thrown away, after `make install` and with pulseaudio, pulseaudio-utils and libasound2-plugins; for example
# a Debian folder under `systemd-nspawn -b`, or the emulated one:
#
#   VM_MORE="pulseaudio pulseaudio-utils libasound2-plugins" sh tests/systemd/machine.sh tests/systemd/service_faults.sh
#
# Prints a line a fault, ends with "service faults: good" or at the first wrong thing.
set -eu
config=/etc/undertoe/undertoe.yaml
good='display: {kind: none}\nswitches: {pins: []}\n'
say() { echo "service faults: $*"; }
check() { "$@" || { echo "service faults: wrong: $*" >&2; journalctl -u undertoe --no-pager -n 20 >&2; exit 1; }; }
of() { systemctl show undertoe -p "$1" --value; }
now_ms() { echo $(($(date +%s%N) / 1000000)); }
active() { [ "$(of ActiveState)" = active ]; }
told() { journalctl -u undertoe --no-pager -o cat -n 40 | grep -q "$1"; }
wait_for() { # up to 30 s
  tries=0
  until "$@"; do tries=$((tries + 1)); check test $tries -lt 300; sleep 0.1; done
}
reborn() { # the process first: the state may still be that of the one that has just died
  born=$(of MainPID)
  [ "$born" != 0 ] && [ "$born" != "$old" ] && active
}

mkdir -p /run/sound-try /etc/systemd/system/undertoe.service.d
chmod 755 /run/sound-try
cat >/run/sound-try/asound.conf <<'CONF'
pcm.loop_in { type pulse server "unix:/run/sound-try/native" device "loop.monitor" }
pcm.loop_out { type pulse server "unix:/run/sound-try/native" device "drone" }
pcm.default { type asym capture.pcm "loop_in" playback.pcm "loop_out" }
CONF
printf '[Service]\nEnvironment=ALSA_CONFIG_PATH=/run/sound-try/asound.conf\n' >/etc/systemd/system/undertoe.service.d/try.conf
serve() {
  systemd-run -q --unit=sound-try --setenv=HOME=/root --setenv=PULSE_RUNTIME_PATH=/run/sound-own --setenv=PULSE_STATE_PATH=/run/sound-own \
    --setenv=PULSE_COOKIE=/run/sound-own/cookie pulseaudio -n --daemonize=no --use-pid-file=no --exit-idle-time=-1 --realtime=no \
    --high-priority=no --disable-shm=yes -L "module-native-protocol-unix socket=/run/sound-try/native auth-anonymous=1 auth-cookie-enabled=0" \
    -L "module-null-sink sink_name=drone rate=48000 norewinds=1" -L "module-null-sink sink_name=loop rate=48000 norewinds=1"
}
mkdir -p /run/sound-own
trap 'systemctl stop sound-try 2>/dev/null || true; rm -rf /run/sound-try /run/sound-own /etc/systemd/system/undertoe.service.d' EXIT

# shellcheck disable=SC2059
printf "$good" >$config
systemctl daemon-reload
systemctl stop undertoe
systemctl reset-failed undertoe 2>/dev/null || true
systemctl restart --no-block undertoe
sleep 75
check test "$(of ActiveState) $(of NRestarts)" = "active 0"
say "no input for 75 s: ready, waiting, not started again, said $(journalctl -u undertoe --no-pager -o cat --since "-75 s" | grep -c 'no audio input\|does not start') time(s)"
serve
wait_for told "listening to"
say "input is there: heard"
sleep 12
check active
check grep -q "VmRSS" "/proc/$(of MainPID)/status"
say "12 s on, longer than the watchdog: alive, $(awk '/VmRSS/ {print $2}' "/proc/$(of MainPID)/status") kB resident"

old=$(of MainPID)
printf 'capo: 2\n' >>$config
systemctl reload undertoe
sleep 12
check test "$(of MainPID) $(of ActiveState)" = "$old active"
say "good new settings: taken up, same process"
echo 'capo: high' >$config
systemctl reload undertoe
sleep 3
check test "$(of MainPID) $(of ActiveState)" = "$old active"
check told "capo: expected a whole number"
say "broken new settings: told, same process"
# shellcheck disable=SC2059
printf "$good" >$config

begin=$(now_ms)
kill -9 "$old"
wait_for reborn
say "kill -9: hears again after $(($(now_ms) - begin)) ms"
old=$(of MainPID)
begin=$(now_ms)
kill -STOP "$old"
wait_for reborn
say "frozen: the watchdog ended it, hears again after $(($(now_ms) - begin)) ms"

old=$(of MainPID)
systemctl kill -s KILL sound-try
sleep 3
systemctl reset-failed sound-try 2>/dev/null || true
serve
wait_for told "listening to"
sleep 12
check test "$(of MainPID) $(of ActiveState)" = "$old active"
say "sound server killed and back: same process"

begin=$(now_ms)
systemctl stop undertoe
say "stop: $(($(now_ms) - begin)) ms"
check test "$(of Result)" = success
echo 'capo: high' >$config
systemctl start undertoe
sleep 4
check test "$(of ActiveState) $(of NRestarts)" = "active 0"
check told "it is taken up by itself"
say "start with broken settings: it stays up and shows them"
# shellcheck disable=SC2059
printf "$good" >$config
wait_for told "listening to"
check active
check test "$(stat -c '%U %a' /var/lib/undertoe/log.sqlite)" = "undertoe 600"
say "good"
