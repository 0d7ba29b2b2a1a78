"""Small takes for tests: one bend that is true, in whatever a sound file may be."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from pedal.synth.gestures import Hand
from pedal.synth.scene import Scene
from pedal.theory.neck import PLAIN_NECK
from pedal.theory.scale import parse_key

KEY = "G minor pentatonic"
RATE = 48_000
LEAD_S, TAIL_S = 0.3, 0.4


def a_true_bend(*, rate: int = RATE, lead_s: float = LEAD_S) -> NDArray[np.float32]:
    """C4 bent to D4 and cut off, after `lead_s` of quiet; peaks near -10 dBFS."""
    return _rendered(rate, lead_s).copy()


@cache
def _rendered(rate: int, lead_s: float) -> NDArray[np.float32]:
    key = parse_key(KEY)
    stroke = Hand(key, PLAIN_NECK).bend(lead_s, 3, 5)
    scene = Scene("watch", key, (stroke,), stroke.end_s + TAIL_S)
    return scene.samples(sample_rate=rate, rng=np.random.default_rng(5))


def write(
    file: Path, samples: NDArray[np.floating], *, rate: int = RATE, subtype: str = "PCM_16", kind: str | None = None
) -> Path:
    soundfile.write(file, samples, rate, subtype=subtype, format=kind)
    return file
