"""A lick -> strokes of the plucked string, at any tempo: to be heard, and to be performed in the demo."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pedal.licks.lick import Lick, LickNote
from pedal.licks.offers import place_notes
from pedal.synth.score import PLAIN_GUITAR, Expected, Leg, Shake, Stroke, play
from pedal.theory.neck import PLAIN_NECK, Neck

REST_SHARE, RISE_SHARE = 0.28, 0.22
"""Of a note's time: how long it stands before it is bent, and how long it rises; it holds for the rest of it."""
LONGEST_REST_S, LONGEST_RISE_S = 0.35, 0.28
BACK_SHARE, BACK_REST_SHARE = 0.14, 0.2
BREATH_S = 0.012
"""Left between two notes, so that each is over before the next is plucked."""
LEAD_S, TAIL_S = 0.15, 0.3
_SEED = 16


def strokes_of(
    lick: Lick,
    neck: Neck = PLAIN_NECK,
    *,
    at_s: float,
    tempo: float = 1.0,
    faults: Mapping[int, str] | None = None,
) -> tuple[Stroke, ...]:
    """The strokes of the lick from `at_s` on, none for what is over before it is a tone.

    tempo : 1 as it is, 0.5 half as fast.
    faults : for a performance that goes wrong; by the number of the note: "released", "flat", "left out".
    """
    spots, strokes = place_notes(lick, neck), []
    for number, (note, onset_s) in enumerate(zip(lick.notes, lick.onsets_s, strict=True)):
        fault = (faults or {}).get(number, "")
        if fault == "left out":
            continue
        note_s, rest_s = (beats * lick.beat_s / tempo for beats in (note.beats, note.rest_beats))
        if note_s + rest_s < 2.0 * BREATH_S:
            continue  # a click at most
        seconds = max(min(0.06, note_s + rest_s - BREATH_S), note_s - BREATH_S)
        spot = spots[number]
        string, fret = (spot.string, spot.fret) if spot is not None else (1, 0)
        strokes.append(_stroke(note, at_s + onset_s / tempo, seconds, (string, fret), fault))
    return tuple(strokes)


def sound_of_lick(
    lick: Lick, *, sample_rate: int, tempo: float = 1.0, peak: float = 0.3, a4_hz: float = 440.0
) -> NDArray[np.float32]:
    """The lick as mono samples at `sample_rate` hertz, none of them above `peak`.

    tempo : as a share of the lick's own; 0.5 is half as fast.
    a4_hz : what it is tuned to.
    """
    guitar = replace(PLAIN_GUITAR, a4_hz=a4_hz, hiss_db=-200.0, hum_db=-200.0)
    strokes = strokes_of(lick, at_s=LEAD_S, tempo=tempo)
    length_s = (strokes[-1].end_s if strokes else LEAD_S) + TAIL_S
    rng = np.random.default_rng(_SEED)
    samples = np.concatenate(list(play(strokes, guitar, sample_rate=sample_rate, length_s=length_s, rng=rng)))
    loudest = float(np.max(np.abs(samples)))
    return np.asarray(samples * (peak / loudest) if loudest > 0.0 else samples, np.float32)


def _stroke(note: LickNote, at_s: float, seconds: float, spot: tuple[int, int], fault: str) -> Stroke:
    height = note.height_cents - (35.0 if fault == "flat" else 0.0)
    released = note.ending == "release" or fault == "released"
    rest = min(LONGEST_REST_S, REST_SHARE * seconds)
    rise = min(LONGEST_RISE_S, RISE_SHARE * seconds)
    back, low = (BACK_SHARE * seconds, BACK_REST_SHARE * seconds) if released else (0.0, 0.0)
    start = 0.0
    if note.inflection == "plain":
        legs: tuple[Leg, ...] = (Leg(seconds, 0.0),)
    elif note.inflection == "prebend":
        start = height
        legs = (Leg(seconds - back - low, height),)
    else:
        legs = (Leg(rest, 0.0), Leg(rise, height), Leg(seconds - rest - rise - back - low, height))
    if released and note.inflection != "plain":
        legs = (*legs, Leg(back, 0.0), Leg(low, 0.0))
    shake = None
    if note.vibrato_hz and note.vibrato_cents:
        arrives = 0.0 if note.inflection in ("plain", "prebend") else rest + rise
        shake = Shake(arrives + 0.15 * seconds, note.vibrato_hz, note.vibrato_cents)
    kind = {"plain": "steady", "curl": "curl", "bend": "bend", "prebend": "prebend"}[note.inflection]
    return Stroke(
        at_s,
        spot[0],
        spot[1],
        note.midi,
        legs,
        Expected(kind),  # type: ignore[arg-type]
        start_cents=start,
        shake=shake,
        choke=note.ending != "ring",
    )
