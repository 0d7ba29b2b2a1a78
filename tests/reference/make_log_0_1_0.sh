#!/bin/sh
# Writes log_0_1_0.sqlite and log_0_1_0.jsonl: two performances logged, and the log exported, by the released 0.1.0 itself
# (commit 7c95305), run from a checkout of it. 2026-11-26. The uids and the date are new each time, the notes are not.
#     sh tests/reference/make_log_0_1_0.sh PYTHON
set -eu
here=$(cd "$(dirname "$0")" && pwd)
released=$(mktemp -d)
trap 'rm -rf "$released"' EXIT
git -C "$here" archive --format=tar 7c95305 ':(top)pedal' ':(top)hw' | tar -x -C "$released"
cd "$released"
for mode in watch ladder; do
    "$1" -m pedal.cli.entry demo --headless --fast --mode "$mode" --log log.sqlite
done
"$1" -m pedal.cli.entry review --log log.sqlite --export log.jsonl
mv log.sqlite "$here/log_0_1_0.sqlite"
mv log.jsonl "$here/log_0_1_0.jsonl"
