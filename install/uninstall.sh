#!/bin/sh
# Undo install.sh. The player's log and settings stay, unless PURGE=1; system packages and groups stay, others may use them.
set -eu
# shellcheck source=/dev/null
. "$(dirname "$0")/kept.sh"
say() { echo "undertoe: $*"; }
fail() { echo "undertoe: $*" >&2; exit 1; }
[ "$(id -u)" = 0 ] || fail "uninstalling needs root: sudo make uninstall"
refuse_on_a_kept_card
# Nothing mounts it once the service is gone, and what is mounted cannot be removed.
[ ! -e /etc/systemd/system/undertoe-log.service ] || fail "the log lies on a file system of its own: make open-card first brings it back"

if [ -d /run/systemd/system ]; then
  systemctl disable --now undertoe undertoe-governor 2>/dev/null || true
fi
# What was switched off for a quick start was the system's own.
[ ! -d /var/lib/undertoe-quick-start ] || sh "$(dirname "$0")/quick_start.sh" undo
rm -f /etc/systemd/system/multi-user.target.wants/undertoe.service /etc/systemd/system/undertoe.service \
  /etc/systemd/system/undertoe-governor.service \
  /etc/systemd/system/multi-user.target.wants/undertoe-card.service /etc/systemd/system/undertoe-card.service \
  /etc/systemd/system/undertoe-stick@.service /etc/systemd/system/undertoe-stick-mount@.service \
  /etc/udev/rules.d/90-undertoe-stick.rules \
  /etc/udev/rules.d/60-undertoe.rules /etc/modules-load.d/undertoe.conf /usr/local/bin/undertoe \
  /usr/local/share/man/man1/undertoe.1 /usr/local/share/bash-completion/completions/undertoe
rm -rf /opt/undertoe
if [ -d /run/systemd/system ]; then
  systemctl daemon-reload
fi
if [ "${PURGE:-}" = 1 ]; then
  rm -rf /var/lib/undertoe /var/lib/undertoe.back /var/lib/undertoe.before* /etc/undertoe
  if getent passwd undertoe >/dev/null; then userdel undertoe; fi
  say "removed, with the log and the settings"
else
  say "removed; the log in /var/lib/undertoe and the settings in /etc/undertoe are kept (PURGE=1 make uninstall removes them too)"
fi
