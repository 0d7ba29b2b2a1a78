"""The steps of the set-up, in their order. Imports nothing: the command line asks it too."""

from __future__ import annotations

from typing import Literal, get_args

StepName = Literal["panel", "switches", "input", "level", "noise", "output", "tune", "cable"]
NAMES: tuple[StepName, ...] = get_args(StepName)
