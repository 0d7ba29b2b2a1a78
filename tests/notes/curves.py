"""Invented readings: what a perfect tracker would say of a string that a hand moves along a curve of cents."""

from __future__ import annotations

import numpy as np

from pedal.notes.follower import Follower
from pedal.notes.note import Note
from pedal.pitch.reading import Reading

STEP_S = 128 / 48000
WINDOW_S = 0.020
SILENCE_S = 0.12
Leg = tuple[float, float]
"""Seconds, and the cents at their end."""


def glide(legs: list[Leg], *, start_cents: float = 0.0) -> np.ndarray:
    """Cents a reading: from height to height along half a cosine, as a hand moves. 0 seconds is a jump."""
    parts, here = [], start_cents
    for seconds, cents in legs:
        n = round(seconds / STEP_S)
        parts.append(here + (cents - here) * (0.5 - 0.5 * np.cos(np.pi * (np.arange(n) + 1) / max(n, 1))))
        here = cents
    return np.concatenate(parts)


def swing(cents: np.ndarray, *, after_s: float, rate_hz: float, width_cents: float, upward: bool = False) -> np.ndarray:
    """The same with vibrato from `after_s` on; `upward` swings between the note and twice the width."""
    t = np.arange(len(cents)) * STEP_S - after_s
    wave = 1 - np.cos(2 * np.pi * rate_hz * t) if upward else np.sin(2 * np.pi * rate_hz * t)
    return cents + np.where(t > 0, width_cents * wave, 0.0)


def readings(
    cents: np.ndarray,
    *,
    rest_hz: float = 233.08,
    cut_s: float = 0.012,
    level_db: float = -20.0,
    floor_db: float = -70.0,
    decay_db_s: float = 8.0,
    noise_cents: float = 0.0,
    seed: int = 440,
) -> list[Reading]:
    """Readings along a curve; the level decays, falls within `cut_s` at the end, and silence without pitch follows."""
    n, quiet = len(cents), round(SILENCE_S / STEP_S)
    rng = np.random.default_rng(seed)
    time_s = np.arange(n + quiet) * STEP_S
    end_s = n * STEP_S
    fade = np.clip((end_s - time_s) / cut_s, 1e-6, 1.0)
    level = np.maximum(floor_db, level_db - decay_db_s * time_s + 40 * np.log10(fade))
    heights = np.concatenate([cents + noise_cents * rng.normal(size=n), np.zeros(quiet)])
    return [
        Reading(
            time_s=float(t),
            hz=float(rest_hz * 2 ** (c / 1200)) if i < n and db > floor_db + 3 else 0.0,
            confidence=0.98 if i < n else 0.1,
            level_db=float(db),
            heard_s=float(t) + WINDOW_S / 2,
        )
        for i, (t, c, db) in enumerate(zip(time_s, heights, level, strict=True))
    ]


def tell_notes_of(onset_s: float, end_s: float, heard: list[Reading], *, stopped: bool, polyphonic: bool) -> list[Note]:
    """The notes of these readings, from one pluck."""
    follower = Follower(onset_s)
    for reading in heard:
        follower.hear(reading)
    return follower.finish(end_s, stopped=stopped, polyphonic=polyphonic)


def note_of(cents: np.ndarray, **how) -> Note:
    """The finished note of a curve, the first if there are several."""
    return notes_of(cents, **how)[0]


def as_heard(cents: np.ndarray, *, window_s: float = 0.016) -> np.ndarray:
    """The same through a window of the ear: what a step looks like to it."""
    n = max(1, round(window_s / STEP_S))
    padded = np.concatenate([np.full(n // 2, cents[0]), cents, np.full(n - 1 - n // 2, cents[-1])])
    return np.convolve(padded, np.ones(n) / n, "valid")


def notes_of(cents: np.ndarray, *, stopped: bool = False, polyphonic: bool = False, **how) -> list[Note]:
    """All finished notes of a curve: one a tone."""
    heard = readings(cents, **how)
    end_s = max((r.heard_s for r in heard if r.hz), default=0.0)
    return tell_notes_of(0.0, end_s, heard, stopped=stopped, polyphonic=polyphonic)


def slide(frets: int, tread_s: float, *, up: bool = True) -> np.ndarray:
    """A rest, semitone treads of `tread_s`, and a rest."""
    sign, legs = (1 if up else -1), [(0.3, 0.0)]
    for fret in range(1, frets + 1):
        legs += [(0.0, 100.0 * sign * fret), (tread_s if fret < frets else 0.4, 100.0 * sign * fret)]
    return as_heard(glide(legs))
