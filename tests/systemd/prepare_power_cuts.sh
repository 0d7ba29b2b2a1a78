#!/bin/sh
# Run inside the machine before its disk is made (power_cuts.sh): a bend to play, settings that hear it, the card kept; and the pedal
# says in its journal when it has judged a note, so that what it told is told apart from what it had not come to.
set -eu
mkdir -p /etc/undertoe
printf 'audio: {input: Loopback}\ndisplay: {kind: none}\nswitches: {pins: []}\ntakes: {keep: on, max_mb: 20}\n' >/etc/undertoe/undertoe.yaml
mkdir -p /etc/systemd/system/undertoe.service.d
printf '[Service]\nExecStart=\nExecStart=/opt/undertoe/current/bin/undertoe live --config /etc/undertoe/undertoe.yaml --wait --headless --json\n' \
  >/etc/systemd/system/undertoe.service.d/told.conf
cd /home/project
PYTHONPATH=/home/project /opt/undertoe/current/bin/python3 -c '
from pathlib import Path
import numpy as np
from tests.live.true_bend import a_true_bend, write
write(Path("/root/bend.wav"), a_true_bend(), subtype="FLOAT")
'
case $VM_TO in
  partition) STATE_PARTITION=$LOGS sh install/keep_card.sh ;;
  file) STATE_MB=128 sh install/keep_card.sh ;;
esac
