"""The demo's scene: one slow twelve-bar blues in G at a rehearsal, with curls on B flat and F."""

from __future__ import annotations

from pedal.synth.gestures import Hand
from pedal.synth.scene import Scene
from pedal.synth.score import Guitar, Shake, Stroke
from pedal.theory.scale import parse_key

BEATS_A_MINUTE = 72
LEAD_IN_S = 0.4
BARS, BEATS_A_BAR = 12, 4
_KEY = parse_key("G minor pentatonic")
_REHEARSAL_GUITAR = Guitar(offsets_cents=(2.0, -3.0, 4.0, -1.0, 2.5, -2.0))


def twelve_bars() -> Scene:
    """The whole form once: 40 s at 72 beats a minute, 24 notes, every kind of bend and every kind of miss."""
    length_s = LEAD_IN_S + BARS * BEATS_A_BAR * 60 / BEATS_A_MINUTE + 0.6
    return Scene("watch", _KEY, (*_first_line(), *_second_line(), *_third_line()), length_s, guitar=_REHEARSAL_GUITAR)


def beat(bar: int, count: float) -> float:
    """Seconds from the start of the piece to beat `count` (1 to 5, fractions allowed) of bar `bar` (from 1)."""
    return LEAD_IN_S + ((bar - 1) * BEATS_A_BAR + count - 1) * 60 / BEATS_A_MINUTE


def _first_line() -> tuple[Stroke, ...]:
    """Bars 1 to 4, on the tonic: the two curls are stated, the third is released too soon."""
    hand = Hand(_KEY)
    return (
        hand.steady(beat(1, 1), 3, 5),
        hand.curl(beat(1, 2), 3, 3, 36.0),
        hand.steady(beat(1, 4), 4, 5, seconds=0.7, ring=True),
        hand.steady(beat(2, 1), 2, 3, seconds=0.5),
        hand.curl(beat(2, 2), 2, 6, 42.0),
        hand.bend(beat(3, 1), 3, 5, -3.0, hold_s=0.9),
        hand.curl_released(beat(3, 3.5), 3, 3, 38.0),
        hand.bend_and_release(beat(4, 1.5), 2, 6, 4.0),
        hand.steady(beat(4, 4), 4, 5, seconds=0.7, ring=True),
    )


def _second_line() -> tuple[Stroke, ...]:
    """Bars 5 to 8, from the fourth home: a big bend falls short, a held one sings, a pre-bend comes down."""
    hand = Hand(_KEY)
    return (
        hand.bend(beat(5, 1), 2, 3, -34.0, hold_s=1.0),
        hand.steady(beat(5, 4), 1, 3, seconds=0.6),
        hand.bend(beat(6, 1), 1, 6, 2.0, hold_s=1.7, shake=Shake(0.35, 5.0, 22.0)),
        hand.prebend_and_release(beat(7, 1), 2, 6, -6.0),
        hand.steady(beat(7, 3.5), 3, 5, seconds=0.6),
        hand.curl(beat(8, 1), 3, 3, 50.0),
        hand.slide(beat(8, 3), 3, 5, 2),
    )


def _third_line() -> tuple[Stroke, ...]:
    """Bars 9 to 12, the turnaround: one and a half steps come true, and the last curl is cut off sharp."""
    hand = Hand(_KEY)
    return (
        hand.bend(beat(9, 1), 2, 3, 3.0, hold_s=0.9),
        hand.hammer_on(beat(9, 3.5), 4, 3, 2),
        hand.bend(beat(10, 1), 3, 5, 33.0, hold_s=0.8),
        hand.curl(beat(10, 3.5), 2, 6, 68.0),
        hand.two_strings(beat(11, 1), 2, 3, 1, 3),
        hand.prebend_and_release(beat(11, 3), 3, 5, 5.0),
        hand.curl(beat(12, 1), 4, 3, 30.0),
        hand.steady(beat(12, 3), 4, 5, seconds=1.5, ring=True),
    )
