#!/bin/sh
# Pin what is installed: exact versions with the hashes of all their files. Run by `make lock` after pyproject.toml changed.
set -eu
cd "$(dirname "$0")/.."
venv=.venv-lock
[ -x "$venv/bin/pip-compile" ] || { python3 -m venv "$venv"; "$venv/bin/pip" install -q --disable-pip-version-check pip-tools; }
compile() { # LOCK SOURCE [OPTIONS...]
  lock=$1
  shift
  "$venv/bin/pip-compile" -q --upgrade --generate-hashes --allow-unsafe --strip-extras --annotation-style line --no-header \
    --no-emit-options --no-emit-index-url --no-emit-trusted-host --no-emit-find-links -o "$lock.new" "$@"
  # shellcheck disable=SC2016
  { echo '# Made by `make lock`: exact versions, and the hash of every file that may be installed for them.'; cat "$lock.new"; } >"$lock"
  rm "$lock.new"
}
compile install/run.lock pyproject.toml --extra midi
compile install/build.lock install/build.in
compile install/board.lock install/board.in
compile install/card.lock install/card.in
compile install/release.lock install/release.in
