#!/bin/sh
# Read in by install.sh and make_card.sh: a lock without a package, and the package alone, with its hashes.
all_but() { awk -v name="$1" '/^[^ ]/ { ours = index($0, name "==") != 1 } ours' "$2"; }
only() { awk -v name="$1" '/^[^ ]/ { ours = index($0, name "==") == 1 } ours' "$2"; }
