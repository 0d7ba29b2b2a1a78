"""Hertz, cents and note numbers: the arithmetic of equal temperament."""

from __future__ import annotations

import math

A4_HZ = 440.0
"""ISO 16:1975."""
A4_LEAST_HZ, A4_MOST_HZ = 400.0, 480.0
"""A concert pitch beyond is a slip of the hand, whoever gives it: settings, menu, memory, command line."""


def hz_of(midi: float, *, a4_hz: float = A4_HZ) -> float:
    """Frequency in hertz of a (fractional) MIDI note number; 69 is A4, 60 is C4.

    Source: MIDI 1.0 note numbers, equal temperament, A4 = 440 Hz by ISO 16.

    >>> round(hz_of(40), 4)
    82.4069
    """
    return a4_hz * math.exp2((midi - 69.0) / 12.0)


def midi_of(hz: float, *, a4_hz: float = A4_HZ) -> float:
    """Fractional MIDI note number of a frequency in hertz (> 0); the inverse of `hz_of`.

    >>> midi_of(440.0)
    69.0
    """
    return 69.0 + 12.0 * math.log2(hz / a4_hz)


def cents_between(from_hz: float, to_hz: float) -> float:
    """Interval in cents, positive where `to_hz` is the higher; both > 0.

    >>> cents_between(440.0, 880.0)
    1200.0
    """
    return 1200.0 * math.log2(to_hz / from_hz)
