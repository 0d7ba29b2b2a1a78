#!/bin/sh
# Install, install again, upgrade, remove, purge: to be run as root from the project's folder on a machine to be thrown away.
# (A bare chroot will do: debootstrap bookworm, and make.) Ends with "install cycle: good", or at the first thing that is wrong.
set -eu
check() { "$@" || { echo "install cycle: wrong: $*" >&2; exit 1; }; }
absent() { [ ! -e "$1" ]; }
seconds() { start=$(date +%s); "$@"; echo "install cycle: $(( $(date +%s) - start )) s: $*"; }

seconds make install
check test -x /usr/local/bin/undertoe
check undertoe check /etc/undertoe/undertoe.yaml
(cd / && undertoe demo --headless --fast >/tmp/demo.txt) || { cat /tmp/demo.txt; check false demo; }
check grep -q . /tmp/demo.txt
(cd / && undertoe doctor --no-listen >/tmp/doctor.txt) || true
check grep -q 'starts by itself' /tmp/doctor.txt
for group in audio i2c spi gpio; do check sh -c "id -nG undertoe | grep -qw $group"; done
check test "$(stat -c '%U %a' /var/lib/undertoe)" = "undertoe 700"
check test -L /etc/systemd/system/multi-user.target.wants/undertoe.service
check test -s /usr/local/share/man/man1/undertoe.1
check bash -c '. /usr/local/share/bash-completion/completions/undertoe'

# As the service's user, without a home: the very environment of the unit.
check su -s /bin/sh undertoe -c 'cd /var/lib/undertoe && HOME=/nonexistent STATE_DIRECTORY=/var/lib/undertoe OPENBLAS_NUM_THREADS=1 undertoe check /etc/undertoe/undertoe.yaml >/dev/null'

# Again: nothing changes, and the player's settings and log are not touched.
echo 'capo: 2' >/etc/undertoe/undertoe.yaml
echo precious >/var/lib/undertoe/log.sqlite
before=$(readlink /opt/undertoe/current)
seconds make install
check test "$(readlink /opt/undertoe/current)" = "$before"
check grep -qx 'capo: 2' /etc/undertoe/undertoe.yaml

# An upgrade gets a folder of its own and the old one stays for a way back; the one before that goes.
first=$before
echo '# another version' >>pedal/__init__.py
seconds make install
second=$(readlink /opt/undertoe/current)
check test "$second" != "$first"
check test "$(readlink /opt/undertoe/previous)" = "$first"
make rollback
check test "$(readlink /opt/undertoe/current) $(readlink /opt/undertoe/previous)" = "$first $second"
check undertoe check /etc/undertoe/undertoe.yaml
make rollback
echo '# a third version' >>pedal/__init__.py
seconds make install
before=$(readlink /opt/undertoe/current)
check test "$(readlink /opt/undertoe/previous)" = "$second"
check absent "$first"

# What does not start, or cannot load its libraries, leaves the old one.
for broken in pedal/cli/entry.py hw/portaudio_input.py; do
  cp $broken /tmp/whole.py
  echo 'raise ImportError("broken")' >>$broken
  if make install; then check false "a broken version was installed: $broken"; fi
  check test "$(readlink /opt/undertoe/current) $(readlink /opt/undertoe/previous)" = "$before $second"
  check undertoe check /etc/undertoe/undertoe.yaml
  cp /tmp/whole.py $broken
done
git checkout -q pedal 2>/dev/null || true

make uninstall
check absent /opt/undertoe
check absent /usr/local/bin/undertoe
check absent /etc/systemd/system/undertoe.service
check grep -qx precious /var/lib/undertoe/log.sqlite
check grep -qx 'capo: 2' /etc/undertoe/undertoe.yaml
make uninstall
PURGE=1 make uninstall
check absent /var/lib/undertoe
check absent /etc/undertoe
check sh -c '! getent passwd undertoe'
echo "install cycle: good"
