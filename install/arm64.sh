#!/bin/sh
# Read in by make_card.sh and tests/systemd/card_offline.sh: from here on this machine runs programs of an arm64 board, by emulation;
# and where its packages come from, "" for the usual place.
formats=/proc/sys/fs/binfmt_misc
[ -e $formats/register ] || mount -t binfmt_misc binfmt_misc $formats
[ -e $formats/qemu-aarch64 ] || cat /usr/lib/binfmt.d/qemu-aarch64.conf >$formats/register
# shellcheck disable=SC2034
mirror=$(sed -n 's/^URIs: *//p' /etc/apt/sources.list.d/debian.sources 2>/dev/null | head -1)
