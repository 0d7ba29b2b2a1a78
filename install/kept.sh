#!/bin/sh
# Read in by the scripts that change the system: on a kept card it lies in memory, and is as before at the next pull of the plug.
card_is_kept() { grep -q '^undertoe-overlay / ' /proc/mounts; }
refuse_on_a_kept_card() {
  [ -z "${DESTDIR:-}" ] && card_is_kept || return 0
  echo "undertoe: the card is kept, and what is changed now is gone at the next start: make open-card, start anew, and then again" >&2
  exit 1
}
