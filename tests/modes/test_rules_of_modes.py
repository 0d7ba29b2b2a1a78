"""Small rules of modes, each by itself: which rung is next, when a model is over, how time and vibrato are told."""

from __future__ import annotations

import pytest
from playing import a_pedal, a_verdict, press
from test_ladder import climb
from test_lick import KEY, MIDI, a_kept

from pedal.licks.lick import Lick, LickNote
from pedal.modes.backing_now import rise_words, side_of, timing_words, vibrato_words
from pedal.modes.lick_choice import lick_of
from pedal.modes.lick_recording import Recording, what_was_heard
from pedal.modes.state import PedalState
from tests.licks.passes_by_rule import played


def seek(pedal, index: int) -> None:
    rung = pedal.settings.rungs()[index]
    pedal._mode.seek(rung.string, rung.fret)


@pytest.mark.parametrize(("from_rung", "then"), [(0, 1), (5, 6), (11, 0)])
def test_after_a_rung_comes_the_open_one_above_it_and_after_the_last_the_lowest(from_rung: int, then: int) -> None:
    pedal = a_pedal(mode="ladder")
    seek(pedal, from_rung)
    assert pedal.screen().index == from_rung
    climb(pedal)
    assert pedal.screen().index == then


def test_a_rung_that_was_sought_has_its_five_misses_before_it() -> None:
    pedal = a_pedal(mode="ladder", repeat=True)
    for _ in range(3):
        climb(pedal, -31.0, "flat")
    seek(pedal, 4)
    for _ in range(5):
        assert pedal.screen().index == 4
        climb(pedal, -31.0, "flat")
    assert pedal.screen().index == 5


@pytest.mark.parametrize("back", [1, 2, 3])
def test_a_press_back_goes_to_the_rung_below_from_the_summary_as_well(back: int) -> None:
    pedal = a_pedal(mode="ladder")
    for _ in range(12):
        climb(pedal)
    press(pedal, *["previous_target"] * back)
    assert pedal.screen().index == 12 - back


def test_the_summary_counts_what_was_tried_and_names_the_furthest_off() -> None:
    pedal = a_pedal(mode="ladder")
    for error, word in ((-4.0, "true"), (40.0, "sharp"), (-18.0, "near")):
        climb(pedal, error, word)
    target = pedal.settings.rungs()[1].target
    press(pedal, *["skip"] * 9)
    shown = pedal.screen()
    assert (shown.true_count, shown.tried_count, shown.worst) == (1, 3, f"{target} +40")
    assert shown.bias_cents == -4.0
    assert shown.rungs == ("true", "missed", "near", *["skipped"] * 9)


def heard(at_s: float, seconds: float = 0.5):
    note = played(Lick((LickNote(60, 1.0),) * 2, KEY, 60.0 / seconds), at_s=at_s)[0]
    assert (note.onset_s, note.end_s) == (at_s, at_s + seconds)
    return note


@pytest.mark.parametrize(
    ("now_s", "sounding", "over"), [(24.9, False, False), (25.0, False, True), (90.0, True, False)]
)
def test_a_model_without_a_note_is_given_up_after_fifteen_seconds_of_silence(now_s, sounding, over) -> None:
    assert Recording(10.0).over(now_s, sounding=sounding) == over


@pytest.mark.parametrize(("now_s", "over"), [(27.5, False), (27.6, True)])
def test_a_model_that_never_rests_is_over_after_its_fifteen_seconds_and_a_silence(now_s: float, over: bool) -> None:
    recording = Recording(10.0)
    for n in range(15):
        recording.hear(heard(11.0 + n, 1.0))
    assert recording.too_long(now_s) == over
    assert recording.over(now_s, sounding=True) == over


@pytest.mark.parametrize(
    ("now_s", "sounding", "over"), [(12.9, False, False), (13.0, False, True), (14.0, True, False)]
)
def test_a_model_is_over_a_second_and_a_half_after_its_last_note(now_s: float, sounding: bool, over: bool) -> None:
    recording = Recording(10.0)
    recording.hear(heard(11.0))
    assert recording.over(now_s, sounding=sounding) == over


@pytest.mark.parametrize(
    ("notes", "sounding", "over"), [(0, True, False), (1, False, False), (1, True, True), (2, False, True)]
)
def test_a_foot_that_leaves_ends_a_model_of_two_notes_the_one_that_sounds_counted(notes, sounding, over) -> None:
    recording = Recording(10.0)
    for n in range(notes):
        recording.hear(heard(11.0 + n))
    recording.let_go(sounding=sounding)
    assert not recording.over(13.6 if notes else 12.0, sounding=True)
    assert recording.over(10.6 + notes, sounding=False) == over


@pytest.mark.parametrize(("onset_s", "taken"), [(9.99, 0), (10.0, 1), (11.0, 1)])
def test_what_sounded_before_the_foot_came_down_is_no_note_of_the_model(onset_s: float, taken: int) -> None:
    recording = Recording(10.0)
    recording.hear(heard(onset_s))
    assert len(recording.notes) == taken
    assert what_was_heard(recording.notes) == ("1 note" if taken else "0 notes")


def test_the_item_of_a_lick_begins_at_its_first_note() -> None:
    item = lick_of(PedalState(key=KEY, licks=(a_kept(4),)), 4)
    assert item is not None
    assert (item.rest_midi, item.target_midi, item.lick) == (MIDI["G3"], MIDI["G3"], 4)


@pytest.mark.parametrize(
    ("late_ms", "sure", "words"),
    [
        (0.7, True, "1 ms late"), (-0.7, True, "1 ms early"), (0.4, True, "on the beat"), (-0.4, True, "on the beat"),
        (1.4, False, "~1 ms late"), (-0.6, False, "~1 ms early"),
    ],
)  # fmt: skip
def test_a_millisecond_is_told_with_its_side(late_ms: float, sure: bool, words: str) -> None:
    assert timing_words(late_ms, sure=sure) == words


@pytest.mark.parametrize(
    ("late_ms", "side"), [(20.0, "on"), (20.1, "late"), (-20.0, "on"), (-20.1, "early"), (0.0, "on")]
)
def test_twenty_milliseconds_are_on_the_beat(late_ms: float, side: str) -> None:
    assert side_of(late_ms) == side


@pytest.mark.parametrize(
    ("rises_s", "words"),
    [((0.2,) * 3, ""), ((0.2,) * 4, "rise 0.20 s, even"), ((0.1, 0.2, 0.3, 0.4), "rise 0.25 s, uneven"), ((), "")],
)
def test_a_rise_is_told_from_four_on(rises_s: tuple[float, ...], words: str) -> None:
    assert rise_words(rises_s) == words


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"vibrato_evenness": 0.99}, "vib 5.4 Hz ±21 above, even"),
        ({"vibrato_evenness": 0.0}, "vib 5.4 Hz ±21 above, uneven"),
        ({"vibrato_evenness": None}, "vib 5.4 Hz ±21 above"),
        ({"vibrato_side": None, "vibrato_evenness": None}, "vib 5.4 Hz ±21"),
        ({"vibrato_hz": 0.0}, ""),
        ({"vibrato_cents": 0.0}, ""),
    ],
)
def test_vibrato_is_told_with_its_side_and_whether_it_is_even(changed: dict, words: str) -> None:
    shaken = {"vibrato_hz": 5.4, "vibrato_cents": 21.2, "vibrato_side": "above", "hold_s": 2.0}
    assert vibrato_words(a_verdict(**(shaken | changed))) == words
