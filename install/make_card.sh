#!/bin/sh
# What a builder copies onto the FAT partition of a freshly written stock Raspberry Pi OS Lite (64-bit; Debian 12 or 13):
#
#   sh install/make_card.sh [DIR]     (as root; `make card`, `make card CARD=/media/bootfs`)
#
# Writes out/card; with DIR, the mounted FAT partition, also puts it there and edits cmdline.txt where the system has no cloud-init.
# Libraries come as wheels by the hashes of the locks, the packages of the distribution by apt with its signatures. What has no wheel
# for arm64 is built in an emulated Debian of each kind, as nobody. Needs some 3 GB below $XDG_CACHE_HOME and 15 minutes the first
# time. CARD_FOR=bookworm:3.11 makes it for one of the two. The digest of the bundle stands in first-run.sh, and the card's zip in the
# release's SHA256SUMS, which is published apart: compare before the card goes into a pedal.
set -eu
umask 022
here=$(cd "$(dirname "$0")" && pwd)
project=$(dirname "$here")
[ "$(id -u)" = 0 ] || { echo "card: building for another kind of board needs root: sudo make card" >&2; exit 1; }
# What is mounted from here on, this script alone sees: no slip of it can take a folder away from the machine.
[ -n "${UNDERTOE_APART:-}" ] || exec unshare --mount --propagation private env UNDERTOE_APART=1 sh "$here/make_card.sh" "$@"
target=${1:-}
cache=${XDG_CACHE_HOME:-$HOME/.cache}/undertoe-card
out=$project/out/card
# shellcheck source=/dev/null
. "$here/locks.sh"
say() { echo "card: $*" >&2; }
for tool in debootstrap qemu-user-static; do
  dpkg-query -W -f='${Status}' "$tool" 2>/dev/null | grep -q 'ok installed' ||
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$tool" >/dev/null
done
# shellcheck source=/dev/null
. "$here/arm64.sh"

tools=python3,python3-venv,python3-dev,gcc,libc6-dev,portaudio19-dev,swig
# An arm64 Debian to build in, unpacked and not set up: nothing of it runs but the compiler.
a_debian() { # SUITE
  [ ! -e "$cache/$1/.complete" ] || return 0
  say "fetching a Debian $1 for arm64"
  rm -rf "${cache:?}/$1"
  mkdir -p "$cache"
  # shellcheck disable=SC2086
  debootstrap --arch=arm64 --foreign --variant=minbase --include=$tools "$1" "$cache/$1" ${mirror:-} </dev/null >"$cache/$1.log" 2>&1
  for deb in "$cache/$1"/var/cache/apt/archives/*.deb; do dpkg-deb --fsys-tarfile "$deb" | tar -x --keep-directory-symlink -C "$cache/$1"; done
  cp "$cache/$1/usr/share/base-passwd/passwd.master" "$cache/$1/etc/passwd"
  cp "$cache/$1/usr/share/base-passwd/group.master" "$cache/$1/etc/group"
  touch "$cache/$1/.complete"
}

# The distribution's own apt, with its signatures, for another board and suite than this machine's.
apt_for() { # SUITE apt-get|apt-cache WORDS...
  lists=$cache/$1.apt
  mkdir -p "$lists/lists/partial" "$lists/cache/archives/partial"
  echo "deb [signed-by=/usr/share/keyrings/debian-archive-keyring.gpg] ${mirror:-http://deb.debian.org/debian} $1 main" >"$lists/sources.list"
  : >"$lists/status"
  program=$2
  shift 2
  "$program" -o APT::Architecture=arm64 -o APT::Architectures::=arm64 -o Dir::Etc::SourceList="$lists/sources.list" -o Dir::Etc::SourceParts=- \
    -o Dir::State::Lists="$lists/lists" -o Dir::Cache="$lists/cache" -o Dir::State::status="$lists/status" -o APT::Sandbox::User=root "$@"
}

# Packages that a stock system may lack: what the sound library needs, less what every system has.
packages_of() { # SUITE DIR
  apt_for "$1" apt-get update -qq
  # shellcheck disable=SC2046
  names=$(apt_for "$1" apt-cache show --no-all-versions $(apt_for "$1" apt-cache depends --recurse --no-recommends --no-suggests --no-conflicts \
    --no-breaks --no-replaces --no-enhances libportaudio2 | grep '^[a-z]' | cut -d: -f1 | sort -u) 2>/dev/null |
    awk '/^Package:/ { name = $2 } /^Priority: (optional|extra)/ { print name }' | sort -u |
    grep -vE '^(libc6|libgcc-s1|libstdc\+\+6|gcc-.*-base|debconf.*|cdebconf.*|libjack0)$')
  mkdir -p "$2"
  # shellcheck disable=SC2086
  (cd "$2" && apt_for "$1" apt-get -qq download $names)
}

# Wheels that others made, by the hashes of our locks; fetched here, for there.
wheels_of() { # PYTHON DIR
  mkdir -p "$2"
  all_but pyaudio "$here/run.lock" >"$work/run.lock"
  all_but spidev "$here/board.lock" >"$work/board.lock"
  fetch="$work/venv/bin/pip download -q --disable-pip-version-check --no-deps --only-binary :all: --require-hashes -d $2"
  fetch="$fetch --python-version $1 --implementation cp --platform manylinux_2_34_aarch64 --platform manylinux_2_31_aarch64"
  fetch="$fetch --platform manylinux_2_28_aarch64 --platform manylinux_2_17_aarch64 --platform manylinux2014_aarch64"
  for lock in "$work/run.lock" "$here/build.lock" "$here/card.lock"; do $fetch -r "$lock"; done
  # Nobody makes a wheel of the pin library for the newer Python: built from its source as well, then, and PYPI=1 has it take in
  # the C sources that it brings, in place of a library that Debian lacks.
  unmade="pyaudio:run spidev:board"
  if ! $fetch -r "$work/board.lock" 2>/dev/null; then
    unmade="$unmade lgpio:board"
    : >"$work/board.lock"
  fi
}

# Those that have none: built as nobody in the other Debian, sources by the locks, build tools by the locks.
build_in() { # SUITE DIR
  root=$cache/$1
  rm -rf "$root/var/tmp/build"
  mkdir -p "$root/var/tmp/build/wheels" "$root/var/tmp/build/made"
  cp "$2"/wheels/*.whl "$root/var/tmp/build/wheels/"
  for pair in $unmade; do
    only "${pair%:*}" "$here/${pair#*:}.lock"
  done >"$root/var/tmp/build/source.lock"
  cp /etc/resolv.conf "$root/etc/"
  if [ -f /etc/pip.conf ]; then cp /etc/pip.conf "$root/etc/"; fi
  mkdir -p "$root/etc/ssl/certs"
  cp -L /etc/ssl/certs/ca-certificates.crt "$root/etc/ssl/certs/"
  [ ! -L "$root/proc" ] || rm "$root/proc" # as debootstrap may leave it: a link to this machine's own
  mkdir -p "$root/proc"
  mount -t proc proc "$root/proc"
  mount --bind /dev "$root/dev"
  chroot "$root" python3 -m venv --without-pip /var/tmp/build/venv
  pip=$(cd "$root" && echo var/tmp/build/wheels/pip-*.whl)
  chroot "$root" /var/tmp/build/venv/bin/python3 "/$pip/pip" install -q --no-index --find-links /var/tmp/build/wheels setuptools wheel packaging
  chroot "$root" chown -R nobody /var/tmp/build/made
  chroot "$root" setpriv --reuid=nobody --regid=nogroup --clear-groups --no-new-privs env HOME=/var/tmp/build/made TMPDIR=/var/tmp/build/made PYPI=1 \
    ${PIP_CERT:+PIP_CERT=/etc/ssl/certs/ca-certificates.crt} PATH=/var/tmp/build/venv/bin:/usr/bin:/bin \
    /var/tmp/build/venv/bin/python3 "/$pip/pip" wheel -q --no-cache-dir --no-deps --no-build-isolation --no-binary :all: --require-hashes \
    -w /var/tmp/build/made/wheels -r /var/tmp/build/source.lock
  umount "$root/proc" "$root/dev"
  for wheel in "$root"/var/tmp/build/made/wheels/*.whl; do
    cp "$wheel" "$2/wheels/"
    name=$(basename "$wheel")
    lock=built
    case $name in spidev-* | lgpio-*) lock=board ;; esac
    echo "$(echo "$name" | cut -d- -f1 | tr '[:upper:]' '[:lower:]')==$(echo "$name" | cut -d- -f2) --hash=sha256:$(sha256sum "$wheel" | cut -d' ' -f1)" >>"$2/$lock.lock"
  done
  cat "$work/board.lock" >>"$2/board.lock"
}

work=$(mktemp -d)
rm -rf "$out"
mkdir -p "$out/undertoe-setup" "$work/bundle/project"
python3 -m venv "$work/venv"
for pair in ${CARD_FOR:-bookworm:3.11 trixie:3.13}; do
  suite=${pair%:*}
  a_debian "$suite"
  say "gathering for $suite"
  wheels_of "${pair#*:}" "$work/bundle/$suite/wheels"
  packages_of "$suite" "$work/bundle/$suite/debs"
  build_in "$suite" "$work/bundle/$suite"
done
(cd "$project" && cp -R pedal hw install systemd pyproject.toml README.md LICENSE "$work/bundle/project/" && mkdir "$work/bundle/project/docs" && cp docs/undertoe.1 "$work/bundle/project/docs/")
find "$work/bundle/project" -name __pycache__ -prune -exec rm -rf {} +
# The same contents make the same archive, so that two builders can compare theirs.
tar -c --sort=name --owner=0 --group=0 --numeric-owner --mtime=@1700000000 -C "$work/bundle" -f "$out/undertoe-setup/bundle.tar" .
digest=$(sha256sum "$out/undertoe-setup/bundle.tar" | cut -d' ' -f1)
version=$(sed -n 's/^version = "\(.*\)"/\1/p' "$project/pyproject.toml")
sed "s/@DIGEST@/$digest/" "$here/card/first-run.sh" >"$out/undertoe-setup/first-run.sh"
cp "$here/card/cmdline-addition.txt" "$out/undertoe-setup/"
cp "$here/card/user-data.in" "$out/user-data"
sed "s/@VERSION@/$version/" "$here/card/meta-data.in" >"$out/meta-data"
rm -rf "$work"
say "$out: $(du -sm "$out" | cut -f1) MB; the bundle's digest is $digest"

if [ -n "$target" ]; then
  [ -e "$target/cmdline.txt" ] || { say "$target is no FAT partition of a Raspberry Pi OS: it has no cmdline.txt"; exit 1; }
  cp -R "$out/." "$target/"
  # A system with cloud-init brings a user-data of its own; an older one is asked by its command line.
  if [ ! -e "$target/network-config" ] && ! grep -q 'systemd\.run=' "$target/cmdline.txt"; then
    cp "$target/cmdline.txt" "$target/undertoe-setup/cmdline.txt.before"
    printf '%s%s\n' "$(tr -d '\n' <"$target/cmdline.txt")" "$(cat "$here/card/cmdline-addition.txt")" >"$target/cmdline.txt.new"
    mv "$target/cmdline.txt.new" "$target/cmdline.txt"
  fi
  sync
  say "$target is ready: put the card into the pedal, and wait until its panel says so"
fi
