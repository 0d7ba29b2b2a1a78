#!/bin/sh
# SHA256SUMS of a release, signed: SHA256SUMS.sig beside it, by the key of whoever releases. OpenSSH's own kind of signature
# (ssh-keygen -Y), since that is on every Debian and on most other desks; docs/card.md says how it is checked.
#
#   sh install/sign_sums.sh DIR KEY     KEY: the file of a private key, or of a public one whose private one an agent holds
#   sh install/sign_sums.sh can KEY     only look whether it could
set -eu
fail() { echo "release: $*" >&2; exit 1; }
[ $# = 2 ] || { echo "usage: sign_sums.sh DIR|can KEY" >&2; exit 2; }
command -v ssh-keygen >/dev/null || fail "signing needs ssh-keygen: apt install openssh-client"
if [ ! -f "$2" ] || [ ! -r "$2" ]; then fail "SIGN_KEY=$2 is no file of a key"; fi
ssh-keygen -l -f "$2" >/dev/null 2>&1 || fail "SIGN_KEY=$2 holds no key that ssh-keygen knows"
[ "$1" != can ] || exit 0
rm -f "$1/SHA256SUMS.sig"
ssh-keygen -q -Y sign -f "$2" -n undertoe-release "$1/SHA256SUMS" 2>/dev/null || fail "SIGN_KEY=$2 does not sign: is it the private key, its owner's alone (chmod 600), or held by an agent?"
ssh-keygen -Y check-novalidate -n undertoe-release -s "$1/SHA256SUMS.sig" <"$1/SHA256SUMS" >/dev/null || fail "the signature does not hold"
chmod 644 "$1/SHA256SUMS.sig"
