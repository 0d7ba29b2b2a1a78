#!/bin/sh
# Go back to the release that was installed before this one; again, and the newer one is back. Settings and log stay as they are: what
# an older release does not know in them it says, and the log is never written over.
set -eu
home=${DESTDIR:-}/opt/undertoe
# shellcheck source=/dev/null
. "$(dirname "$0")/kept.sh"
say() { echo "undertoe: $*"; }
fail() { echo "undertoe: $*" >&2; exit 1; }
[ "$(id -u)" = 0 ] || fail "going back needs root: sudo make rollback"
refuse_on_a_kept_card
now=$(readlink "$home/current" 2>/dev/null) || fail "nothing is installed: make install"
before=$(readlink "$home/previous" 2>/dev/null) || fail "there is no release before this one"
[ -x "$before/bin/undertoe" ] || fail "the release before this one is gone: $before"

# Each link is turned over in one step; should the power go between the two, both point to a release that is there.
ln -sfn "$before" "$home/current.next"
mv -T "$home/current.next" "$home/current"
ln -sfn "$now" "$home/previous.next"
mv -T "$home/previous.next" "$home/previous"
say "program: $before (make rollback again takes $now)"
if [ -d /run/systemd/system ] && [ -z "${DESTDIR:-}" ]; then systemctl restart --no-block undertoe; fi
