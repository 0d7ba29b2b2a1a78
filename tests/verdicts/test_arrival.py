"""When a bend arrives, against strings whose every cent is known: our own strings, and a sampled guitar's."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from played import played  # type: ignore[import-not-found]

from pedal.chain import Chain
from pedal.notes.note import Trace
from pedal.synth.gestures import Hand
from pedal.synth.score import PLAIN_GUITAR, Shake, Stroke, hz_curve, play
from pedal.theory.cents import A4_HZ
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Aim, Bands
from pedal.verdicts.arrival import arrival_s
from pedal.verdicts.judge import judge
from pedal.verdicts.verdict import Verdict
from tests.sound_server import sampled_guitar

RATE = 48_000
KEY = parse_key("G minor pentatonic")
HAND = Hand(KEY)
SPOTS = ((1, 3), (1, 6), (2, 3), (2, 6), (3, 3), (3, 5), (4, 5), (5, 5), (6, 6))
MEDIAN_S, WORST_S = 0.010, 0.040


def verdicts_of(samples: np.ndarray) -> list[Verdict]:
    chain = Chain(RATE, Aim(KEY))
    heard = [*chain.push(samples.astype(np.float32)), *chain.finish()]
    return [one for one in heard if isinstance(one, Verdict)]


def true_arrival(stroke: Stroke) -> float:
    """By the very definition, from the curve that the string was rendered with."""
    hz = hz_curve(stroke, PLAIN_GUITAR, RATE)
    rest = hz[round(0.25 * RATE)]
    cents = 1200 * np.log2(hz / rest)
    height = stroke.expected.bend_cents
    assert height is not None
    return stroke.at_s + float(np.argmax(cents >= height - min(Bands().true_cents, 0.2 * height))) / RATE


def tell(what: str, off: list[float]) -> None:
    print(
        f"{what}: {len(off)} arrivals, median {1000 * np.median(off):+.1f} ms, worst {1000 * max(map(abs, off)):.1f} ms"
    )


@pytest.mark.parametrize("rise_s", [0.12, 0.18, 0.28, 0.6])
def test_arrivals_of_our_own_strings(rise_s: float) -> None:
    strokes = tuple(
        HAND.bend(0.5 + 2.0 * n, string, fret, error, rise_s=rise_s)
        for n, ((string, fret), error) in enumerate(zip(SPOTS, (0, -8, 12, 0, -30, 20, 0, 5, 0), strict=True))
    )
    rng = np.random.default_rng(4)
    samples = np.concatenate(list(play(strokes, PLAIN_GUITAR, sample_rate=RATE, length_s=20.0, rng=rng)))
    bends = [one for one in verdicts_of(samples) if one.kind == "bend"]
    off = [
        arrived - true_arrival(stroke)
        for stroke in strokes
        for verdict in bends
        if abs(verdict.onset_s - stroke.at_s) < 0.1 and (arrived := arrival_s(verdict, a4_hz=A4_HZ)) is not None
    ]
    tell(f"rise {rise_s} s", off)
    assert len(off) >= len(SPOTS) - 1
    assert abs(np.median(off)) <= MEDIAN_S
    assert max(map(abs, off)) <= WORST_S


def test_arrivals_of_a_sampled_guitar() -> None:
    """Debian's sound font played by fluidsynth: neither the sound nor the bend is made here."""
    if sampled_guitar.font() is None:
        pytest.skip("no General MIDI sound font here: install timgm6mb-soundfont")
    heights = (200.0, 300.0, 200.0, 200.0, 300.0, 200.0)
    midis = (60, 67, 65, 72, 55, 53)
    rises = (0.12, 0.2, 0.25, 0.3, 0.4, 0.15)
    notes = [
        sampled_guitar.Sounded(midi, ((0.35, 0.0), (rise, height), (0.6, height)))
        for midi, rise, height in zip(midis, rises, heights, strict=True)
    ]
    samples, onsets = sampled_guitar.render(notes)
    bends = [one for one in verdicts_of(samples) if one.kind == "bend"]
    off = []
    for note, onset_s in zip(notes, onsets, strict=True):
        cents = note.cents()
        truth = onset_s + float(np.argmax(cents >= cents[-1] - Bands().true_cents)) * sampled_guitar.STEP / RATE
        found = [arrival_s(one, a4_hz=A4_HZ) for one in bends if abs(one.onset_s - onset_s) < 0.1]
        off += [arrived - truth for arrived in found if arrived is not None]
    tell("sampled guitar", off)
    assert len(off) >= len(notes) - 1
    assert abs(np.median(off)) <= MEDIAN_S
    assert max(map(abs, off)) <= WORST_S


def test_vibrato_does_not_move_the_arrival() -> None:
    plain = HAND.bend(0.5, 2, 6, hold_s=1.4)
    shaken = replace(plain, shake=Shake(1.0, 5.5, 25.0))
    found = []
    for stroke in (plain, shaken):
        rng = np.random.default_rng(4)
        samples = np.concatenate(list(play((stroke,), PLAIN_GUITAR, sample_rate=RATE, length_s=4.0, rng=rng)))
        (bend,) = [one for one in verdicts_of(samples) if one.kind == "bend"]
        found.append(arrival_s(bend, a4_hz=A4_HZ))
    assert None not in found
    assert found[1] == pytest.approx(found[0], abs=MEDIAN_S)


def test_a_pre_bend_is_there_when_it_is_plucked_and_a_plain_note_never_arrives() -> None:
    strokes = (HAND.prebend_and_release(0.5, 2, 6), HAND.steady(4.0, 2, 3))
    rng = np.random.default_rng(4)
    samples = np.concatenate(list(play(strokes, PLAIN_GUITAR, sample_rate=RATE, length_s=6.0, rng=rng)))
    prebend, plain = verdicts_of(samples)
    assert arrival_s(prebend, a4_hz=A4_HZ) == prebend.onset_s
    assert arrival_s(plain, a4_hz=A4_HZ) is None


def test_between_two_readings_the_arrival_is_where_the_straight_line_crosses() -> None:
    """A straight rise of 20 cents a reading: 190 of 200 cents lie half way between the tenth and the eleventh."""
    times_s = 0.02 * np.arange(40)
    for early in (0, 1):  # an even and an odd place in the trace
        cents = np.clip(20.0 * (np.arange(40) - early), 0.0, 200.0)
        curve = Trace(times_s, A4_HZ * 2.0 ** (cents / 1200.0), np.zeros(40))
        verdict = replace(judge(played("A4", 200.0), Aim(parse_key("A minor"))), onset_s=0.0, trace=curve)
        assert arrival_s(verdict, a4_hz=A4_HZ) == pytest.approx(0.02 * (9.5 + early), abs=1e-4)
