"""A second string is told by what one string cannot explain."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strings import RATE, curve, scene, string

from pedal.chain import Chain
from pedal.notes.polyphony import Polyphony
from pedal.pitch.intake import Intake
from pedal.pitch.reading import Reading
from pedal.pitch.second_string import SecondString, hear_second_string
from pedal.synth.plucked_string import Timbre, pluck
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict

HOP = 128


def steady(*strings_hz: float, levels_db=(0.0, 0.0), noise_db: float = -75.0) -> np.ndarray:
    """0.2 s of strings sounding together, 0.1 s after their pluck."""
    parts = [
        (0.0, string(hz, 0.5, peak=0.2 * 10 ** (db / 20), seed=i))
        for i, (hz, db) in enumerate(zip(strings_hz, levels_db, strict=False))
    ]
    return scene(0.5, *parts, noise_db=noise_db)[4800 : 4800 + 9600]


@settings(max_examples=12, deadline=None)
@given(hz=st.floats(82, 1200))
def test_one_string_explains_itself(hz) -> None:
    second = hear_second_string(steady(hz), RATE)
    assert second.share < 0.02
    assert second.root_hz == pytest.approx(hz, rel=0.03)


@settings(max_examples=12, deadline=None)
@given(hz=st.floats(98, 500), semitones=st.sampled_from([3, 4, 5, 7, 8, 9]))
def test_two_strings_do_not(hz, semitones) -> None:
    assert hear_second_string(steady(hz, hz * 2 ** (semitones / 12)), RATE).share > 0.05


@pytest.mark.parametrize("semitones", [3, 5, 7, 10])
def test_a_string_that_rings_along_at_minus_25_db_is_no_company(semitones) -> None:
    both = steady(196.0, 196.0 * 2 ** (semitones / 12), levels_db=(0.0, -25.0))
    assert hear_second_string(both, RATE).share < 0.02


@pytest.mark.parametrize("noise_db", [-60, -20])
def test_noise_and_silence_are_no_company(noise_db) -> None:
    assert hear_second_string(scene(0.2, noise_db=noise_db), RATE).share == 0.0
    assert hear_second_string(np.zeros(9600, np.float32), RATE).root_hz == 0.0


def counted(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """How much company was found at each look from now on."""
    shares: list[float] = []

    def look(samples, rate_hz, heard_hz):
        second = hear_second_string(samples, rate_hz)
        shares.append(second.share)
        return second

    monkeypatch.setattr("pedal.notes.polyphony.hear_second_string", look)
    return shares


def watched(sound, hz: float, confidence: float = 0.95, *, struck_s: float = math.inf) -> Polyphony:
    """What a crowd says of a sound that the tracker heard at `hz`; from `struck_s` on a strike waits."""
    intake = Intake(RATE, HOP)
    crowd = Polyphony(intake)
    crowd.begin(0.0)
    for start in range(0, len(sound) - HOP + 1, HOP):
        now = (start + HOP) / RATE
        intake.feed(sound[start : start + HOP])
        intake.step(intake.waiting)
        strike_s = struck_s if now >= struck_s else None
        crowd.listen(Reading(now, hz, confidence, -20.0, now), sounding=lambda: True, struck_s=strike_s)
    return crowd


def test_a_chord_heard_at_its_common_subharmonic_is_a_crowd() -> None:
    chord = scene(0.8, (0.0, string(330.0, 0.8)), (0.0, string(440.0, 0.8, seed=8)))
    assert watched(chord, 110.0).found
    assert watched(chord, 0.0).found


@pytest.mark.parametrize(("filled", "found"), [(1.0, False), (8 / 12, True)])
def test_a_bend_whose_octave_explains_more_is_no_crowd_if_its_partials_are_there(filled, found, monkeypatch) -> None:
    """While a pitch climbs by three frets in 0.1 s its partials smear; a fifth's common subharmonic has 8 of 12."""
    seen = SecondString(342.8, 0.544, filled)
    monkeypatch.setattr("pedal.notes.polyphony.hear_second_string", lambda *_: seen)
    assert watched(scene(0.5, (0.0, string(174.8, 0.5))), 174.8, confidence=0.99).found is found


def test_a_note_before_the_first_look_is_no_crowd() -> None:
    crowd = watched(scene(0.2, (0.0, string(330.0, 0.2))), 330.0)
    assert not crowd.found


def test_what_is_struck_after_a_note_is_no_crowd_of_its() -> None:
    """The first look comes 0.25 s after the pluck: a shorter note was judged by the sound of the next."""
    run = scene(0.3, (0.0, string(330.0, 0.1)), (0.1, string(440.0, 0.2)), (0.1, string(587.0, 0.2, seed=8)))
    assert not watched(run, 0.0, struck_s=0.1).found
    assert watched(run, 0.0).found


@pytest.mark.parametrize("lasts_s", [0.21, 0.24])
def test_a_short_chord_is_looked_at_when_the_next_pluck_comes(lasts_s) -> None:
    chords = scene(0.6, *((0.0, string(hz, lasts_s)) for hz in (262.0, 349.0)), (lasts_s, string(330.0, 0.3)))
    assert watched(chords, 87.3, struck_s=lasts_s).found


def test_a_string_that_comes_out_only_as_the_note_fades_was_not_struck_with_it() -> None:
    later = scene(1.4, (0.0, string(440.0, 1.4)), (0.55, string(330.0, 0.8, seed=8)))
    crowd = watched(later, 0.0)
    assert not crowd.found


def test_a_plain_note_is_looked_at_less_often_until_a_look_finds_more(monkeypatch) -> None:
    looks = counted(monkeypatch)
    watched(scene(3.0, (0.0, string(440.0, 3.0))), 440.0)
    alone = len(looks)
    looks.clear()
    watched(scene(3.0, (0.0, string(440.0, 3.0)), (1.0, string(330.0, 2.0, seed=8))), 440.0)
    assert alone == 3 + 8  # at 0.25, 0.35, 0.45 s, and each 0.3 s from there on
    assert len(looks) > 3 + 2 + 15  # the second string comes after a second, and is in each 0.1 s after that


def test_quick_bends_in_a_row_are_one_string_each_though_the_next_strike_gives_them_their_only_look() -> None:
    """At one tempo: the reading of that moment has the pick in it, and was taken for what the string says of itself."""
    each_s, third = 0.2, Timbre(stiffness=1.1e-4, pluck_at=0.16, pickup_at=0.085)
    samples = np.random.default_rng(9).normal(size=round(1.5 * RATE)) * 10 ** (-78 / 20)
    for k in range(4):
        hz = curve(196.0, (0.04, 0.0), (0.07, 200.0), (each_s - 0.12, 200.0))
        sound = pluck(hz, sample_rate=RATE, rng=np.random.default_rng(k), timbre=third, peak=0.3)
        sound[-864:] *= np.linspace(1.0, 0.0, 864) ** 2
        begin = round((0.3 + k * each_s) * RATE)
        samples[begin : begin + len(sound)] += sound
    chain = Chain(RATE, Aim(parse_key("G minor pentatonic")))
    heard = [*chain.push(samples.astype(np.float32)), *chain.finish()]
    assert [each.kind for each in heard if isinstance(each, Verdict)] == ["bend"] * 4
