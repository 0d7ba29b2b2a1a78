"""The modes, in the order that the switch steps through them. Imports nothing: the command line asks it too."""

from __future__ import annotations

from typing import Literal, get_args

ModeName = Literal["tune", "watch", "curl", "ladder", "blind", "echo", "lick", "round", "recall"]
MODES: tuple[ModeName, ...] = get_args(ModeName)
