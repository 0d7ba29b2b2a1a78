"""The way from one level to another, reading by reading -> a finger's bend, a jump of frets, or a slide's stairs."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pedal.notes.decoder import smoothstep
from pedal.notes.runs import LEAST_JUMP_CENTS, NEAR_FRET_CENTS

Floats = NDArray[np.float64]
Way = Literal["glide", "jump", "slide"]

JUMP_S = 0.022
"""From a tenth to nine tenths of the way, as heard. Measured: hammer-ons 0 to 20 ms, bends of 60 ms 21 to 40."""
STAIRS_FIT = 2.5
"""Mean square by which a glide may fit better than stairs, and yet it was a slide. Measured: all of 203 slides in
treads of 20 to 50 ms fit better than that (98 % within 1.2), of 2,736 bends all but 15 worse (median 349)."""


def way_of(time_s: Floats, heard_s: Floats, cents: Floats, begin: float, end: float, *, stood: bool = True) -> Way:
    """What led from height `begin` to `end`; the arrays hold the readings of the way, from level to level.

    A tracker that starts its window afresh measures later at once. At a jump the times of measuring bunch up, so those
    of hearing count; on a glide the times of hearing leave out a piece of the way, which would be a tread.

    stood : whether the string was heard to stand before it; where it was not, the pick's own noise may be a part of
        the way, and it takes stairs that fit better than a glide.
    """
    height = abs(end - begin)
    if height < LEAST_JUMP_CENTS or len(cents) < 2:
        return "glide"
    share = (cents - begin) / (end - begin)
    if _passage_s(heard_s, share)[1] <= JUMP_S:
        return "jump"
    frets = round(height / 100.0)
    if frets < 2 or abs(height - 100.0 * frets) > NEAR_FRET_CENTS:
        return "glide"
    order = np.argsort(time_s)
    # Down, the string has long been heard: slides reach 2.7, releases begin at 120, after a vibrato of 18 cents at 4.7.
    fit = (STAIRS_FIT if end > begin else 1.5 * STAIRS_FIT) if stood else 1.0
    return "slide" if _slide_steps(time_s[order], share[order], frets, fit) else "glide"


def _passage_s(time_s: Floats, share: Floats) -> tuple[float, float]:
    """When the way leaves a tenth of its height for good, and how long from there to nine tenths."""
    left_s = _first_above(time_s, share, 0.1)
    return left_s, _first_above(time_s, share, 0.9) - left_s


def _first_above(time_s: Floats, share: Floats, height: float) -> float:
    """When the way passes a share of its height for good, between two readings."""
    below = np.flatnonzero(share < height)
    last = int(below[-1]) if len(below) else -1
    if last < 0 or last + 1 >= len(share):
        return float(time_s[max(0, min(last, len(share) - 1))])
    part = (height - share[last]) / (share[last + 1] - share[last])
    return float(time_s[last] + part * (time_s[last + 1] - time_s[last]))


def _slide_steps(time_s: Floats, share: Floats, frets: int, fit: float) -> bool:
    """Whether stairs of `frets` equal treads fit the way as well as a glide does, or no worse than `fit` times."""
    left_s, passage_s = _passage_s(time_s, share)
    arrived_s = left_s + passage_s
    near = (time_s > left_s - passage_s) & (time_s < arrived_s + passage_s)
    time_s, share = time_s[near], share[near]
    middle = np.linspace(left_s + 0.2 * passage_s, arrived_s - 0.2 * passage_s, 7)[:, None, None]
    length = np.linspace(0.6, 2.2, 12)[None, :, None] * passage_s
    glides = smoothstep((time_s - middle) / length + 0.5)
    tread = np.linspace(0.5, 1.3, 9)[:, None, None, None] * passage_s / max(1, frets - 1)
    first = (left_s + np.linspace(-0.015, 0.015, 7))[None, :, None, None]
    blur = np.array([0.004, 0.016])[None, None, :, None]  # what a window of the ear makes of a step
    stairs = sum(np.clip((time_s - first - step * tread) / blur + 0.5, 0.0, 1.0) for step in range(frets)) / frets
    off_glide = np.mean((glides - share) ** 2, axis=-1).min()
    off_stairs = np.mean((stairs - share) ** 2, axis=-1).min()
    return bool(off_stairs < fit * off_glide)
