#!/bin/sh
# A release in out/release: wheel, sources, card bundle, bill of materials, checksums, and what changed.
#
#   sh install/release.sh      (`make release`; as root for the card bundle)
#
# From what is committed and nothing else: a clone is built, so that no file of this desk goes out. The checksums are to be published
# apart from the files, in the announcement; SIGN_KEY=FILE signs them as well (sign_sums.sh), with a key that does not lie here.
# WITHOUT_CARD=1 leaves the card bundle out, which takes minutes.
set -eu
umask 022
here=$(cd "$(dirname "$0")" && pwd)
project=$(dirname "$here")
out=$project/out/release
say() { echo "release: $*"; }
fail() { echo "release: $*" >&2; exit 1; }
[ -z "${SIGN_KEY:-}" ] || sh "$here/sign_sums.sh" can "$SIGN_KEY"
version=$(sed -n 's/^version = "\(.*\)"/\1/p' "$project/pyproject.toml")
[ -z "$(git -C "$project" status --porcelain)" ] || fail "there are changes that are not committed: commit them first"
changes=$(awk -v head="## $version" 'index($0, "## ") == 1 { ours = index($0, head) == 1 } ours' "$project/CHANGELOG.md")
[ -n "$changes" ] || fail "CHANGELOG.md says nothing of $version"
[ -n "${WITHOUT_CARD:-}" ] || [ "$(id -u)" = 0 ] || fail "the card bundle needs root: sudo make release, or WITHOUT_CARD=1 make release"

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
rm -rf "$out"
mkdir -p "$out"
git -c safe.directory='*' clone -q "$project" "$work/project"
# Files in an archive bear the day of the commit: the same commit makes the same release.
SOURCE_DATE_EPOCH=$(git -C "$project" log -1 --format=%ct)
export SOURCE_DATE_EPOCH
python3 -m venv "$work/tools"
"$work/tools/bin/pip" install -q --disable-pip-version-check --require-hashes -r "$here/release.lock"
(cd "$work/project" && "$work/tools/bin/python" -m build -o "$out" . >"$work/build.log" 2>&1) || { tail -5 "$work/build.log" >&2; fail "wheel and sources cannot be built"; }

# The bill of materials is read from what a pedal really gets: the locked libraries and this wheel, in an environment of their own.
python3 -m venv --without-pip "$work/pedal"
"$work/tools/bin/pip" --python "$work/pedal/bin/python3" install -q --disable-pip-version-check --no-deps --require-hashes -r "$here/run.lock"
"$work/tools/bin/pip" --python "$work/pedal/bin/python3" install -q --disable-pip-version-check --no-deps "$out/undertoe-$version-py3-none-any.whl"
"$work/tools/bin/cyclonedx-py" environment --output-reproducible --of JSON -o "$out/undertoe-$version.cdx.json" \
  --pyproject "$work/project/pyproject.toml" "$work/pedal/bin/python3"

if [ -z "${WITHOUT_CARD:-}" ]; then
  sh "$work/project/install/make_card.sh"
  (cd "$work/project/out/card" && find . -type f -exec touch -d "@$SOURCE_DATE_EPOCH" {} + && find . -type f | sort | python3 -c '
import sys, zipfile
with zipfile.ZipFile(sys.argv[1], "w", zipfile.ZIP_STORED) as archive:
    for name in sys.stdin.read().split("\n")[:-1]:
        archive.write(name)
' "$out/undertoe-card-$version.zip")
fi
printf '%s\n' "$changes" >"$out/CHANGES.md"
(cd "$out" && sha256sum -- * >"$work/sums" && mv "$work/sums" SHA256SUMS)
chmod 644 "$out/SHA256SUMS"
if [ -n "${SIGN_KEY:-}" ]; then sh "$here/sign_sums.sh" "$out" "$SIGN_KEY"; fi
say "$version in $out:"
(cd "$out" && find . -type f -printf 'release:   %9s  %f\n' | sort -k3)
