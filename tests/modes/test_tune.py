"""Tune: the string that is meant, and its error once the pluck has settled."""

from __future__ import annotations

import numpy as np
import pytest
from playing import a_pedal, play, press, readings, sound

from pedal.modes.screen_model import TuneScreen
from pedal.notes.event import Onset
from pedal.pitch.reading import Reading
from pedal.theory.neck import TUNINGS, Neck, parse_tuning


def pluck(pedal, pitch: str, cents: float = 0.0, *, at_s: float = 1.0, for_s: float = 1.0) -> None:
    play(pedal, Onset(at_s), *readings(sound(pitch, cents), from_s=at_s + 0.02, to_s=at_s + for_s))


def test_nothing_is_shown_before_the_pluck_has_settled():
    pedal = a_pedal(mode="tune")
    pluck(pedal, "A2", 4.0, for_s=0.7)
    screen = pedal.screen()
    assert isinstance(screen, TuneScreen)
    assert (screen.string, screen.note, screen.cents, screen.settled) == (5, "A2", None, False)


@pytest.mark.parametrize("cents", [-12.34, -0.1, 0.0, 0.1, 3.3])
def test_the_error_can_be_read_to_a_tenth_of_a_cent(cents: float, rng: np.random.Generator):
    pedal = a_pedal(mode="tune")
    shaken = [
        Reading(r.time_s, r.hz * 2 ** (rng.normal(0.0, 0.5) / 1200), r.confidence, r.level_db, r.heard_s)
        for r in readings(sound("G3", cents), from_s=1.0, to_s=2.2)
    ]
    play(pedal, Onset(1.0), *shaken)
    assert pedal.screen().settled
    assert pedal.screen().cents == pytest.approx(cents, abs=0.1)


def test_the_glide_of_a_hard_pluck_is_not_averaged_in():
    pedal = a_pedal(mode="tune")
    glide = [
        Reading(r.time_s, sound("E2", 12.0 * np.exp(-(r.time_s - 1.0) / 0.1)), 0.9, -20.0, r.heard_s)
        for r in readings(1.0, from_s=1.0, to_s=2.6)
    ]
    play(pedal, Onset(1.0), *glide)
    assert pedal.screen().cents == pytest.approx(0.0, abs=0.1)


def test_a_pitch_that_still_drifts_is_shown_but_not_called_settled():
    pedal = a_pedal(mode="tune")
    drift = [
        Reading(r.time_s, sound("E2", 10.0 * (2.0 - r.time_s)), 0.9, -20.0, r.heard_s)
        for r in readings(1.0, from_s=1.0, to_s=2.0)
    ]
    play(pedal, Onset(1.0), *drift)
    assert pedal.screen().cents is not None
    assert not pedal.screen().settled


def test_a_slip_of_an_octave_does_not_move_the_mean():
    pedal = a_pedal(mode="tune")
    slipped = readings(sound("D3", 2.0), from_s=1.0, to_s=2.2)
    slipped[300:310] = [Reading(r.time_s, r.hz / 2, 0.5, -20.0, r.heard_s) for r in slipped[300:310]]
    play(pedal, Onset(1.0), *slipped)
    assert pedal.screen().cents == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize("cents", [-110.0, 0.0, 110.0])
@pytest.mark.parametrize(("string", "pitch"), [(6, "E2"), (5, "A2"), (4, "D3"), (3, "G3"), (2, "B3"), (1, "E4")])
def test_the_nearest_string_is_the_one_that_is_meant(string: int, pitch: str, cents: float):
    pedal = a_pedal(mode="tune")
    pluck(pedal, pitch, cents)
    assert (pedal.screen().string, pedal.screen().note) == (string, pitch)


def test_another_string_in_place_of_the_last_is_measured_against_its_own_pitch():
    pedal = a_pedal(mode="tune")
    for pitch, cents, at_s in (("E2", -3.0, 1.0), ("B3", 4.0, 3.0), ("A2", -110.0, 5.0)):
        pluck(pedal, pitch, cents, at_s=at_s)
        assert pedal.screen().note == pitch
        assert pedal.screen().cents == pytest.approx(cents, abs=0.01)


def test_the_errors_of_all_strings_stay_the_lowest_first():
    pedal = a_pedal(mode="tune")
    pluck(pedal, "E2", -7.0)
    pluck(pedal, "E4", 5.0, at_s=4.0)
    names, cents = zip(*pedal.screen().strings, strict=True)
    assert names == ("E2", "A2", "D3", "G3", "B3", "E4")
    assert cents[0] == pytest.approx(-7.0, abs=0.01)
    assert cents[5] == pytest.approx(5.0, abs=0.01)
    assert cents[1:5] == (None,) * 4
    press(pedal, "again")
    assert [c for _, c in pedal.screen().strings] == [None] * 6


def test_capo_tuning_and_a4_move_the_strings():
    neck = Neck(parse_tuning("drop D"), capo=2)
    pedal = a_pedal(mode="tune", neck=neck, a4_hz=442.0)
    play(pedal, Onset(1.0), *readings(sound("E2") * 442.0 / 440.0, from_s=1.0, to_s=2.2))
    screen = pedal.screen()
    assert (screen.string, screen.note) == (6, "E2")
    assert screen.cents == pytest.approx(0.0, abs=0.01)


def test_a_second_string_starts_its_own_average():
    pedal = a_pedal(mode="tune")
    pluck(pedal, "E2", 0.0)
    pluck(pedal, "A2", -3.0, at_s=3.0)
    assert (pedal.screen().note, pedal.screen().cents) == ("A2", pytest.approx(-3.0, abs=0.01))


@pytest.mark.parametrize("jump_cents", [90.0, 200.0, 1200.0])
def test_a_string_heard_half_of_the_time_elsewhere_is_no_measure_and_no_fault(jump_cents: float):
    """Where the middle lies between two pitches, no reading is near it."""
    pedal = a_pedal(mode="tune")
    either = [
        Reading(r.time_s, sound("A2", jump_cents * (count % 2)), 0.9, -20.0, r.heard_s)
        for count, r in enumerate(readings(1.0, from_s=1.0, to_s=2.2))
    ]
    play(pedal, Onset(1.0), *either)
    assert not pedal.screen().settled


@pytest.mark.parametrize(
    ("tuning", "capo", "words"),
    [
        *((words, 0, words) for words in TUNINGS.values()),
        ("standard", 1, "F2 Bb2 Eb3 Ab3 C4 F4"),
        ("standard", 2, "F#2 B2 E3 A3 C#4 F#4"),
        ("standard", 4, "G#2 C#3 F#3 B3 D#4 G#4"),
        ("C#2 G#2 C#3 F#3 A#3 D#4", 0, "Db2 Ab2 Db3 Gb3 Bb3 Eb4"),
        ("E2 B2 E3 G#3 B3 E4", 0, "E2 B2 E3 G#3 B3 E4"),
        ("C2 G2 C3 F3 A#3 D4", 0, "C2 G2 C3 F3 Bb3 D4"),
        ("B1 E2 A2 D3 G3 Bb3 E4", 0, "B1 E2 A2 D3 G3 Bb3 E4"),
    ],
)
def test_sharps_and_flats_are_not_mixed_within_one_tuning(tuning: str, capo: int, words: str):
    pedal = a_pedal(mode="tune", neck=Neck(parse_tuning(tuning), capo=capo))
    assert " ".join(name for name, _ in pedal.screen().strings) == words


def test_strings_in_tune_are_judged_as_being_tuned_and_in_the_next_mode_no_more():
    pedal = a_pedal(mode="tune")
    assert (pedal.aim.judge_as, pedal.aim.target) == ("tune", None)
    press(pedal, "next_mode")
    assert pedal.aim.judge_as == "watch"
    press(pedal, "previous_mode")
    assert pedal.aim.judge_as == "tune"
