#!/bin/sh
# Make this machine a pedal: packages, program, user, settings, service. Again at any time: it upgrades, and changes nothing
# that is already so. Needs root, and Debian 12 or later or Raspberry Pi OS on arm64 or amd64. Undone by uninstall.sh.
# With UNDERTOE_BUNDLE=DIR (install/make_card.sh made it) all comes from there, and nothing is asked of a network.
set -eu
umask 022
here=$(cd "$(dirname "$0")" && pwd)
project=$(dirname "$here")
home=/opt/undertoe
config=/etc/undertoe/undertoe.yaml
packages="python3 python3-venv python3-dev gcc portaudio19-dev"
bundle=${UNDERTOE_BUNDLE:-}

# shellcheck source=/dev/null
. "$here/locks.sh"
# shellcheck source=/dev/null
. "$here/kept.sh"
say() { echo "undertoe: $*"; }
fail() { echo "undertoe: $*" >&2; exit 1; }

[ "$(id -u)" = 0 ] || fail "installing needs root: sudo make install"
refuse_on_a_kept_card
command -v apt-get >/dev/null || fail "this needs Debian or Raspberry Pi OS; elsewhere: pip install . and systemd/undertoe.service"

# What is there already stays as it is, whichever version; pip itself comes as a wheel and is run from it.
add_bundled_packages() {
  missing=
  for file in "$bundle"/debs/*.deb; do
    package=$(dpkg-deb -f "$file" Package)
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $file"
  done
  [ -n "$missing" ] || return 0
  say "system packages:$(for file in $missing; do printf ' %s' "$(basename "$file" | cut -d_ -f1)"; done)"
  # shellcheck disable=SC2086
  DEBIAN_FRONTEND=noninteractive dpkg -i $missing >/dev/null
}

add_packages() {
  if [ -n "$bundle" ]; then
    add_bundled_packages
    return 0
  fi
  missing=
  for package in $packages; do
    dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
  done
  [ -n "$missing" ] || return 0
  say "system packages:$missing"
  apt-get update -qq
  # shellcheck disable=SC2086
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null
}

has_pins() { [ -e /dev/gpiochip0 ] || [ "$(uname -m)" = aarch64 ]; }
has() { "$new/bin/python3" -c "import importlib.util, sys; sys.exit(importlib.util.find_spec('$1') is None)"; }

# The pin library: the system's own where there is one (Raspberry Pi OS), else from the lock, else the pedal has no switches.
add_pin_library() {
  has_pins || return 0
  if [ -n "$bundle" ]; then
    $pip --ignore-installed --no-deps --only-binary :all: --require-hashes -r "$bundle/board.lock"
    has lgpio ||
      say "no pin library for this Python: footswitches and an SPI panel will not work (undertoe doctor says more)"
    return 0
  fi
  if apt-cache show python3-lgpio >/dev/null 2>&1; then
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends python3-lgpio python3-spidev >/dev/null && return 0
  fi
  all_but spidev "$here/board.lock" >"$1/pins.lock"
  $pip --ignore-installed --only-binary :all: --require-hashes -r "$1/pins.lock" 2>/dev/null || build_pin_library ||
    say "no pin library for this Python: footswitches and a lamp will not work (undertoe doctor says more)"
  build_as_nobody spidev "$here/board.lock" || say "spidev could not be built: an SPI panel will not work (undertoe doctor says more)"
}

# Nobody makes a wheel of it for the newer Python. PYPI=1 has it take in the C sources that it brings.
build_pin_library() {
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends swig >/dev/null &&
    PYPI=1 build_as_nobody lgpio "$here/board.lock"
}

# What the program is made of: the same sources and locks give the same word.
fingerprint() {
  (cd "$project" && find pedal hw pyproject.toml install -type f ! -name '*.pyc' -exec sha256sum {} + | sort | sha256sum; python3 -V) |
    sha256sum | cut -c1-16
}

# Whether a release runs: its settings, and every compiled library that it needs, as the service loads them.
works() {
  (cd / && OPENBLAS_NUM_THREADS=1 "$1/bin/undertoe" check --default >/dev/null &&
    OPENBLAS_NUM_THREADS=1 "$1/bin/python3" -c "
import numpy, pyaudio
import hw.gpio_switches, hw.luma_screen, hw.portaudio_input, hw.portaudio_output, hw.sound_file
pyaudio.get_portaudio_version()
assert abs(numpy.fft.irfft(numpy.fft.rfft(numpy.ones(8)))).sum() == 8
")
}

# A library that has no wheel for Linux runs its own script to be built: as nobody, with no way up.
build_as_nobody() {
  build=$(mktemp -d)
  only "$1" "$2" >"$build/source.lock"
  chown -R nobody "$build"
  built=0
  (cd / && setpriv --reuid=nobody --regid=nogroup --clear-groups --no-new-privs env HOME="$build" TMPDIR="$build" \
    "$new/bin/pip" wheel -q --disable-pip-version-check --no-cache-dir --no-deps --no-build-isolation --no-binary :all: \
    --require-hashes -w "$build/wheels" -r "$build/source.lock") &&
    $pip --ignore-installed --no-deps --no-index "$build"/wheels/*.whl || built=1
  rm -rf "$build"
  return "$built"
}

# A folder of its own for each version; the link is turned over at the end, so that a failure leaves the old one playing.
add_program() {
  new=$home/$(fingerprint)
  if [ -n "$bundle" ]; then
    without=--without-pip
    pip="$new/bin/python3 $(echo "$bundle"/wheels/pip-*.whl)/pip install -q --disable-pip-version-check --no-warn-script-location --no-cache-dir"
    pip="$pip --no-index --find-links $bundle/wheels"
  else
    without=
    pip="$new/bin/pip install -q --disable-pip-version-check --no-warn-script-location"
  fi
  # The same sources, but a library may have failed to come, or an ageing card have lost a part of one: "again" mends both.
  if [ "$(readlink "$home/current" 2>/dev/null)" = "$new" ] && works "$new" 2>/dev/null; then
    say "the program is up to date"
    if has_pins && ! { has lgpio && has spidev; }; then add_pin_library "$new"; fi
    return 0
  fi
  say "program: $new"
  rm -rf "$new"
  mkdir -p "$home"
  python3 -m venv $without --system-site-packages "$new"
  $pip --ignore-installed --only-binary :all: --require-hashes -r "$here/build.lock"
  all_but pyaudio "$here/run.lock" >"$new/wheels.lock"
  $pip --ignore-installed --only-binary :all: --require-hashes -r "$new/wheels.lock"
  if [ -n "$bundle" ]; then
    $pip --ignore-installed --no-deps --only-binary :all: --require-hashes -r "$bundle/built.lock"
  else
    build_as_nobody pyaudio "$here/run.lock"
  fi
  add_pin_library "$new"
  source=$(mktemp -d)
  cp -R "$project/pedal" "$project/hw" "$project/pyproject.toml" "$project/README.md" "$project/LICENSE" "$source/"
  $pip --no-deps --no-build-isolation "$source"
  rm -rf "$source"
  works "$new" || fail "the new program does not start; the old one stays"
  old=$(readlink "$home/current" 2>/dev/null || true)
  if [ -n "$old" ] && [ "$old" != "$new" ]; then
    ln -sfn "$old" "$home/previous.next"
    mv -T "$home/previous.next" "$home/previous"
  fi
  ln -sfn "$new" "$home/current.next"
  mv -T "$home/current.next" "$home/current"
  # The release before this one stays, for make rollback; older ones go.
  for release in "$home"/*; do
    case $release in
      "$new" | "$(readlink "$home/previous" 2>/dev/null)" | "$home/current" | "$home/previous") ;;
      *) rm -rf "$release" ;;
    esac
  done
}

add_user() {
  for group in audio i2c spi gpio; do getent group "$group" >/dev/null || groupadd --system "$group"; done
  getent passwd undertoe >/dev/null ||
    useradd --system --user-group --no-create-home --home-dir /var/lib/undertoe --shell /usr/sbin/nologin --comment "Bend meter" undertoe
  usermod -aG audio,i2c,spi,gpio undertoe
}

add_settings() {
  install -d -m 755 /etc/undertoe
  if [ -e "$config" ]; then
    say "settings: $config is kept"
    "$home/current/bin/undertoe" check "$config" >/dev/null ||
      say "settings: there is a fault in it: the panel shows it, and the pedal plays as soon as the file is corrected"
  else
    "$home/current/bin/undertoe" check --default >"$config.new"
    mv "$config.new" "$config"
    say "settings: $config"
  fi
  install -d -m 700 -o undertoe -g undertoe /var/lib/undertoe
}

add_files() {
  install -d /usr/local/bin /usr/local/share/man/man1 /usr/local/share/bash-completion/completions
  ln -sfn "$home/current/bin/undertoe" /usr/local/bin/undertoe
  install -m 644 "$project/docs/undertoe.1" /usr/local/share/man/man1/undertoe.1
  install -m 644 "$here/undertoe.bash" /usr/local/share/bash-completion/completions/undertoe
  install -D -m 644 "$project/systemd/60-undertoe.rules" /etc/udev/rules.d/60-undertoe.rules
  install -D -m 644 "$project/systemd/undertoe-modules.conf" /etc/modules-load.d/undertoe.conf
  if modinfo -n spidev >/dev/null 2>&1; then echo spidev >>/etc/modules-load.d/undertoe.conf; fi
  install -D -m 644 "$project/systemd/undertoe.service" /etc/systemd/system/undertoe.service
  install -D -m 644 "$project/systemd/undertoe-governor.service" /etc/systemd/system/undertoe-governor.service
  install -D -m 644 "$project/systemd/90-undertoe-stick.rules" /etc/udev/rules.d/90-undertoe-stick.rules
  for unit in undertoe-stick@.service undertoe-stick-mount@.service undertoe-card.service; do
    install -D -m 644 "$project/systemd/$unit" "/etc/systemd/system/$unit"
  done
  install -d /etc/systemd/system/multi-user.target.wants
  ln -sfn /etc/systemd/system/undertoe-card.service /etc/systemd/system/multi-user.target.wants/undertoe-card.service
  ln -sfn /etc/systemd/system/undertoe.service /etc/systemd/system/multi-user.target.wants/undertoe.service
}

start_service() {
  if [ ! -d /run/systemd/system ]; then
    say "no service manager runs here: the service starts with the machine"
    return 0
  fi
  for module in snd i2c-dev spidev; do modprobe "$module" 2>/dev/null || true; done
  if command -v udevadm >/dev/null; then udevadm control --reload; udevadm trigger; fi
  systemctl daemon-reload
  systemctl restart --no-block undertoe
  say "the service is starting: journalctl -fu undertoe; undertoe doctor looks at everything"
}

add_packages
add_program
add_user
add_settings
add_files
start_service
say "installed; settings in $config, log in /var/lib/undertoe"
