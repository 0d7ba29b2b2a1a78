"""A finished note with defaults for everything that a test is not about; heights in cents above a rest note."""

from __future__ import annotations

import numpy as np

from pedal.notes.note import Note, Trace
from pedal.theory.cents import hz_of
from pedal.theory.scale import parse_key
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.aim import Aim, Target

EMPTY = Trace(np.zeros(0), np.zeros(0), np.zeros(0))


def played(
    rest: str | None = "Bb3",
    cents: float = 0.0,
    *,
    shape="rise",
    ending="cut_sharp",
    first: float | None = None,
    peak: float | None = None,
    final: float | None = None,
    detuned: float = 0.0,
    base: str | None = None,
    refusal=None,
    vibrato=None,
    a4_hz: float = 440.0,
) -> Note:
    """`rest` None: it never rested, and `base` is what the cents count from. `detuned`: the string's own error."""
    zero = hz_of(parse_pitch(rest or base) + detuned / 100, a4_hz=a4_hz)

    def hz(height: float) -> float:
        return zero * 2 ** (height / 1200)

    return Note(
        onset_s=1.0,
        end_s=2.5,
        shape="not_a_bend" if refusal else shape,
        rest_hz=None if rest is None else zero,
        first_hz=hz((cents if shape in ("fall", "level") else 0.0) if first is None else first),
        hold_hz=hz(cents),
        peak_hz=hz(max(cents, 0.0) if peak is None else peak),
        final_hz=hz(cents if final is None else final),
        rise_s=0.2,
        hold_s=0.5,
        ending=ending,
        vibrato=vibrato,
        refusal=refusal,
        trace=EMPTY,
    )


def aim(key: str = "G minor pentatonic", *, bends: tuple[str, str] | None = None, **how) -> Aim:
    """An aim; `bends` names the target's rest and goal."""
    target = Target(*map(parse_pitch, bends)) if bends else None
    return Aim(parse_key(key), target=target, **how)
