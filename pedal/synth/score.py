"""What the hands do -> samples, with the truth of every note beside them.

A stroke is one pluck: where it is fretted, how the string is pushed afterwards, how it ends, and what a fair judge must
say of it. Strokes follow one another on the time line; each chokes the one before.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pedal.synth.plucked_string import Timbre, pluck
from pedal.theory.cents import A4_HZ, hz_of
from pedal.values import frozen

Motion = Literal["push", "jump", "stairs"]
Kind = Literal["steady", "curl", "bend", "bend_release", "prebend", "prebend_release", "slide", "hammer_on", "unclear"]
Word = Literal["true", "near", "flat", "sharp", "released", "unclear"]
Ending = Literal["cut_sharp", "released", "rang_out", "cut"]

_CHOKE_S, _FADE_S = 0.018, 0.25
_STAIR_S = 0.04
_GLIDE_DECAY_S = 0.12


@frozen
class Leg:
    """One stretch of a note: in `seconds`, to `cents` above the fretted note.

    motion : "push" moves the string sideways, smoothly; "jump" is a finger coming down; "stairs" climbs fret by fret.
    """

    seconds: float
    cents: float
    motion: Motion = "push"


@frozen
class Shake:
    """Vibrato from `after_s` to the end: `width_cents` is half of peak to peak; `upward` swings only above the note."""

    after_s: float
    rate_hz: float
    width_cents: float
    upward: bool = False


@frozen
class Expected:
    """What a fair judge says, in cents above the rest note and against the target; None where nothing is judged."""

    kind: Kind
    verdict: Word | None = None
    ending: Ending | None = None
    bend_cents: float | None = None
    error_cents: float | None = None
    target_midi: int | None = None


@frozen
class Stroke:
    """One pluck of one string. `at_s` counts from the start of the piece.

    start_cents : where the string is held at the pluck (a pre-bend starts high).
    hard_cents : how far the pluck starts sharp before it settles.
    choke : True if the hand stops the string, False if it is left to fade.
    second_midi : a second string struck with the first.
    """

    at_s: float
    string: int
    fret: int
    midi: int
    legs: tuple[Leg, ...]
    expected: Expected
    start_cents: float = 0.0
    shake: Shake | None = None
    hard_cents: float = 2.0
    choke: bool = True
    peak: float = 0.3
    second_midi: int | None = None

    @property
    def seconds(self) -> float:
        """How long the string sounds."""
        return sum(leg.seconds for leg in self.legs)

    @property
    def end_s(self) -> float:
        """When it is over."""
        return self.at_s + self.seconds


@frozen
class Guitar:
    """The instrument and the room: string n is `offsets_cents[n - 1]` out of tune; noise levels are RMS, dBFS."""

    a4_hz: float = A4_HZ
    offsets_cents: tuple[float, ...] = (0.0,) * 8
    hiss_db: float = -78.0
    hum_db: float = -84.0
    hum_hz: float = 50.0


PLAIN_GUITAR = Guitar()
"""In tune, in a quiet room."""


def cents_of(stroke: Stroke, sample_rate: int) -> NDArray[np.float64]:
    """Cents above the fretted note at every sample of the stroke, vibrato and hard start included."""
    parts, here = [], stroke.start_cents
    for leg in stroke.legs:
        parts.append(_travel(here, leg, round(leg.seconds * sample_rate), sample_rate))
        here = leg.cents
    cents = np.concatenate(parts)
    time_s = np.arange(len(cents)) / sample_rate
    cents += stroke.hard_cents * np.exp(-time_s / _GLIDE_DECAY_S)
    if stroke.shake:
        cents += _swing(stroke.shake, time_s)
    return cents


def hz_curve(stroke: Stroke, guitar: Guitar, sample_rate: int) -> NDArray[np.float64]:
    """The true pitch in hertz at every sample of the stroke."""
    rest_hz = hz_of(stroke.midi + guitar.offsets_cents[stroke.string - 1] / 100, a4_hz=guitar.a4_hz)
    return rest_hz * np.exp2(cents_of(stroke, sample_rate) / 1200)


def sound_of(stroke: Stroke, guitar: Guitar, *, sample_rate: int, rng: np.random.Generator) -> NDArray[np.float32]:
    """Float32 samples of one stroke from its pluck to its end, without the room."""
    hz = hz_curve(stroke, guitar, sample_rate)
    samples = pluck(hz, sample_rate=sample_rate, rng=rng, timbre=timbre_of(stroke), peak=stroke.peak)
    if stroke.second_midi is not None:
        other = np.full(len(hz), hz_of(stroke.second_midi, a4_hz=guitar.a4_hz))
        samples = samples + pluck(other, sample_rate=sample_rate, rng=rng, timbre=timbre_of(stroke), peak=stroke.peak)
    fade = min(len(samples), round((_CHOKE_S if stroke.choke else _FADE_S) * sample_rate))
    samples[len(samples) - fade :] *= np.linspace(1, 0, fade, dtype=np.float32) ** 2
    return samples


def timbre_of(stroke: Stroke) -> Timbre:
    """A timbre for the string and fret: the shorter the string, the stiffer and the nearer its middle the pick."""
    shortened = 2.0 ** (stroke.fret / 12)
    return Timbre(
        stiffness=_STIFFNESS[min(stroke.string, len(_STIFFNESS)) - 1] * shortened**2,
        pluck_at=min(0.45, 0.16 * shortened),
        pickup_at=min(0.42, 0.085 * shortened),
        decay_s=_DECAY_S[min(stroke.string, len(_DECAY_S)) - 1],
    )


_STIFFNESS = (1.3e-5, 4.0e-5, 1.1e-4, 6e-5, 7e-5, 9e-5)
"""Open strings of a light set, string 1 first: pi^3 E d^4 / (64 T L^2) for the plain ones, assumed for the wound."""
_DECAY_S = (1.8, 2.2, 2.6, 3.2, 3.6, 4.0)
"""From memory of electric guitars, not measured."""


def play(
    strokes: tuple[Stroke, ...], guitar: Guitar, *, sample_rate: int, length_s: float, rng: np.random.Generator
) -> Iterator[NDArray[np.float32]]:
    """The piece in stretches, one a stroke (and the silence around it), rendered as they are asked for.

    Each is mono, float32 samples at `sample_rate` hertz; together they last `length_s`.

    Raises
    ------
    ValueError
        If strokes overlap, fall, or reach beyond `length_s`.
    """
    at = 0
    for stroke in strokes:
        start = round(stroke.at_s * sample_rate)
        if start < at:
            raise ValueError(f"the stroke at {stroke.at_s} s begins before the one before it has ended")
        yield _room(at, start - at, guitar, sample_rate, rng)
        samples = sound_of(stroke, guitar, sample_rate=sample_rate, rng=rng)
        yield samples + _room(start, len(samples), guitar, sample_rate, rng)
        at = start + len(samples)
    left = round(length_s * sample_rate) - at
    if left < 0:
        raise ValueError(f"length_s must be at least {at / sample_rate} s, got {length_s} s")
    yield _room(at, left, guitar, sample_rate, rng)


def _travel(here: float, leg: Leg, samples: int, sample_rate: int) -> NDArray[np.float64]:
    """The cents of one leg, one a sample."""
    share = (np.arange(samples) + 1) / max(1, samples)
    if leg.motion == "jump":
        share = np.minimum(1, (np.arange(samples) + 1) / (0.004 * sample_rate))
        return np.asarray(here + (leg.cents - here) * share)
    if leg.motion == "stairs":
        steps = round(abs(leg.cents - here) / 100)
        done = np.minimum(steps, 1 + np.arange(samples) // round(_STAIR_S * sample_rate))
        return np.asarray(here + np.sign(leg.cents - here) * 100.0 * done)
    eased = 0.5 - 0.5 * np.cos(np.pi * share)
    if min(here, leg.cents) < 0:
        return np.asarray(here + (leg.cents - here) * eased)
    # The finger moves smoothly, and the pitch goes with the square of its travel: slow to leave, quick to arrive.
    return np.asarray((np.sqrt(here) + (np.sqrt(leg.cents) - np.sqrt(here)) * eased) ** 2)


def _swing(shake: Shake, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Vibrato in cents, coming in over half a cycle."""
    since = time_s - shake.after_s
    swelling = np.clip(since * 2 * shake.rate_hz, 0, 1)
    turn = 2 * np.pi * shake.rate_hz * np.maximum(since, 0)
    wave = 1 - np.cos(turn) if shake.upward else np.sin(turn)
    return np.asarray(shake.width_cents * swelling * wave)


def _room(start: int, samples: int, guitar: Guitar, sample_rate: int, rng: np.random.Generator) -> NDArray[np.float32]:
    """Hiss and hum of a rehearsal room's wiring."""
    hiss = 10 ** (guitar.hiss_db / 20) * rng.standard_normal(samples, dtype=np.float32)
    turn = 2 * np.pi * guitar.hum_hz * (start + np.arange(samples)) / sample_rate
    hum = 10 ** (guitar.hum_db / 20) * np.sqrt(2) * np.sin(turn)
    return np.asarray(hiss + hum, np.float32)
