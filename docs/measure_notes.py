"""Measures again what docs/sources.md says of the numbers of the notes, on modelled strings through the real ear.

Run from the repository: `python docs/measure_notes.py`. Prints how far a steady note's bins scatter, and how long a way
takes from a tenth to nine tenths of its height, as it is heard, when it is hammered on and when it is bent.
"""

from __future__ import annotations

import sys

import numpy as np

from pedal.chain import hop_samples
from pedal.notes.bins import Bins
from pedal.notes.passage import JUMP_S, _first_above
from pedal.pitch import Reading, make_tracker
from pedal.synth.score import PLAIN_GUITAR, Expected, Leg, Stroke, play
from pedal.theory.cents import hz_of
from pedal.theory.neck import PLAIN_NECK

RATE, FRETS = 48000, (2, 5, 9, 14)
BEND_S = (0.06, 0.08, 0.12, 0.2, 0.3)


def heard(midi: int, string: int, fret: int, *legs: Leg) -> list[Reading]:
    """Readings with pitch of one stroke in a quiet room."""
    stroke = Stroke(0.2, string, fret, midi, legs, Expected("unclear"))
    rng = np.random.default_rng(440)
    samples = np.concatenate(
        list(play((stroke,), PLAIN_GUITAR, sample_rate=RATE, length_s=stroke.end_s + 0.1, rng=rng))
    )
    hop = hop_samples(RATE)
    tracker = make_tracker(RATE, hop)
    found: list[Reading] = []
    for at in range(0, len(samples) - hop + 1, hop):
        found += tracker.push(samples[at : at + hop])
    return [r for r in found if r.hz > 0.0 and 0.2 < r.time_s < stroke.end_s - 0.03]


def scatter(readings: list[Reading]) -> float:
    """Standard deviation of the bins from a slow line, cents, past the pluck."""
    bins = Bins(0.2)
    cents = [c for r in readings for c, weight in bins.hear(r) if weight > 0.0][60:]
    t = np.arange(len(cents))
    return float(np.std(np.array(cents) - np.polyval(np.polyfit(t, cents, 2), t)))


def passage(readings: list[Reading], hz: float, height: float) -> float:
    """Milliseconds from a tenth to nine tenths of the way, as heard."""
    share = 1200.0 * np.log2(np.array([r.hz for r in readings]) / hz) / height
    at = np.array([r.heard_s for r in readings])
    late = at > 0.3  # past the pluck
    return 1000.0 * (_first_above(at[late], share[late], 0.9) - _first_above(at[late], share[late], 0.1))


def span(name: str, values: list[float], unit: str) -> None:
    """One line: least, median and most."""
    low, mid, high = np.percentile(values, (0, 50, 100))
    sys.stdout.write(f"{name:32} {len(values):4} notes   {low:6.2f} {mid:6.2f} {high:6.2f} {unit}\n")


def main() -> None:
    """Print the figures."""
    places = [
        (open_midi + fret, number, fret)
        for number, open_midi in enumerate(PLAIN_NECK.tuning.open_midi, 1)
        for fret in FRETS
    ]
    hz = {place: hz_of(place[0]) for place in places}
    sys.stdout.write(f"{'':32} {'':10}    least  median  most\n")
    span("a steady note's bins", [scatter(heard(*p, Leg(1.0, 0))) for p in places], "cents (1 sigma)")
    for frets in (1, 2, 3):
        legs = Leg(0.3, 0), Leg(0.4, 100.0 * frets, "jump")
        span(f"hammer-on of {frets}", [passage(heard(*p, *legs), hz[p], 100.0 * frets) for p in places], "ms")
    for seconds in BEND_S:
        legs = Leg(0.3, 0), Leg(seconds, 200.0), Leg(0.4, 200.0)
        span(f"bend in {1000 * seconds:.0f} ms", [passage(heard(*p, *legs), hz[p], 200.0) for p in places], "ms")
    sys.stdout.write(f"a jump is what takes up to {1000 * JUMP_S:.0f} ms\n")


if __name__ == "__main__":
    main()
