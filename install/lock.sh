#!/bin/sh
# Pin what is installed: exact versions with the hashes of all their files. Run by `make lock` after pyproject.toml changed.
set -eu
cd "$(dirname "$0")/.."
venv=.venv-lock
[ -x "$venv/bin/pip-compile" ] || { python3 -m venv "$venv"; "$venv/bin/pip" install -q --disable-pip-version-check pip-tools; }
compile() {
  "$venv/bin/pip-compile" -q --upgrade --generate-hashes --allow-unsafe --strip-extras --annotation-style line --no-header \
    --no-emit-options --no-emit-index-url --no-emit-trusted-host --no-emit-find-links -o "$1.new" "$2"
  # shellcheck disable=SC2016
  { echo '# Made by `make lock`: exact versions, and the hash of every file that may be installed for them.'; cat "$1.new"; } >"$1"
  rm "$1.new"
}
compile install/run.lock pyproject.toml
compile install/build.lock install/build.in
compile install/board.lock install/board.in
compile install/card.lock install/card.in
compile install/release.lock install/release.in
