"""Watch, as a player meets it."""

from __future__ import annotations

import pytest
from playing import a_bend_as_events, a_curl, a_pedal, a_verdict, ended, live, play, press, readings, sound

from pedal.modes.screen_model import VerdictCard, WatchScreen
from pedal.notes.event import Fall, Hold, Onset, Rest


def test_the_string_bows_from_its_rest_towards_the_next_note_of_the_key():
    pedal = a_pedal(mode="watch")
    play(pedal, *a_bend_as_events("C4", 180.0))
    screen = pedal.screen()
    assert isinstance(screen, WatchScreen)
    assert (screen.note, screen.target) == ("C4", "D4")
    assert (screen.string.target_cents, screen.string.zone_cents) == (200.0, None)
    assert screen.string.now_cents == pytest.approx(180.0)
    assert screen.string.peak_cents == pytest.approx(180.0)
    assert screen.verdict is None


def test_a_detuned_guitar_bows_from_where_it_really_rests():
    pedal = a_pedal(mode="watch")
    play(pedal, Onset(1.0), Rest(1.1, sound("C4", -30.0)), live(sound("C4", 70.0), 1.4))
    assert pedal.screen().note == "C4"
    assert pedal.screen().string.now_cents == pytest.approx(100.0)


def test_the_minor_third_shows_its_blue_zone():
    pedal = a_pedal(mode="watch")
    play(pedal, *a_bend_as_events("Bb3", 35.0))
    assert pedal.screen().string.zone_cents == (15.0, 60.0)


def test_one_stray_reading_does_not_move_the_notch():
    pedal = a_pedal(mode="watch")
    happenings = a_bend_as_events("C4", 150.0)
    stray = happenings[20]
    happenings.insert(21, type(stray)(stray.time_s, stray.hz * 2.0, 0.9, -20.0, stray.heard_s))
    play(pedal, *happenings)
    assert pedal.screen().string.peak_cents == pytest.approx(150.0)


def test_a_stray_first_reading_does_not_set_the_notch():
    pedal = a_pedal(mode="watch")
    onset, rest, *later = a_bend_as_events("C4", 150.0)
    play(pedal, onset, *readings(sound("C5"), from_s=1.01, to_s=1.015), rest, *later)
    assert pedal.screen().string.peak_cents == pytest.approx(150.0)


def test_a_pre_bend_stands_on_the_note_it_was_bent_from():
    pedal = a_pedal(mode="watch")
    play(pedal, Onset(1.0), Hold(1.1, sound("D4", -12.0)), live(sound("D4", -12.0), 1.2))
    screen = pedal.screen()
    assert (screen.note, screen.target) == ("C4", "D4")
    assert screen.string.now_cents == pytest.approx(188.0)


def test_a_pre_bend_released_stands_on_the_rest_that_it_comes_to():
    pedal = a_pedal(mode="watch")
    play(pedal, Onset(1.0), Rest(1.1, sound("D4", 5.0)), live(sound("D4", 5.0), 1.2), Fall(1.3))
    assert pedal.screen().note == "D4"
    play(pedal, live(sound("C4", 90.0), 1.4))
    assert (pedal.screen().note, pedal.screen().target) == ("C4", "D4")
    assert pedal.screen().string.now_cents == pytest.approx(90.0)
    play(pedal, Hold(1.6, sound("C4", 5.0)), live(sound("C4", 5.0), 1.7))
    assert pedal.screen().note == "C4"
    assert pedal.screen().string.now_cents == pytest.approx(0.0)


def test_a_pitch_before_its_onset_stands_on_no_foot():
    pedal = a_pedal(mode="watch")
    play(pedal, *a_bend_as_events("C4", 100.0), *ended(a_verdict()), live(sound("G4"), 2.1))
    assert pedal.screen().string.now_cents is None


def test_the_verdict_stays_until_the_next_one_and_is_logged():
    pedal = a_pedal(mode="watch")
    entries = play(pedal, *a_bend_as_events("C4", 169.0), *ended(a_verdict(error_cents=-31.4, verdict="flat")))
    assert [(e.mode, e.key, e.target_note, e.verdict.verdict) for e in entries] == [
        ("watch", "G minor pentatonic", "D4", "flat")
    ]
    flat = VerdictCard("FLAT", -31, "rang out", "On the note.", note="C4")
    assert pedal.screen().verdict == flat
    play(pedal, *a_bend_as_events("F4", 20.0, onset_s=9.0))
    assert pedal.screen().verdict == flat
    play(pedal, *ended(a_curl(onset_s=9.0, end_s=10.0)))
    assert pedal.screen().verdict.word == "TRUE"


def test_a_curl_shows_its_height_not_an_error():
    pedal = a_pedal(mode="watch")
    play(pedal, *ended(a_curl(bend_cents=42.3, error_cents=0.0)))
    assert pedal.screen().verdict == VerdictCard("TRUE", 42, "cut", "On the note.", is_height=True, note="Bb3")


@pytest.mark.parametrize(("gap_s", "word"), [(1.0, "TRUE"), (4.0, "STEADY")])
def test_a_plain_note_soon_after_a_bend_leaves_the_verdict_to_be_glanced_at(gap_s: float, word: str):
    pedal = a_pedal(mode="watch")
    play(pedal, *ended(a_verdict(end_s=2.0)))
    assert play(pedal, *ended(a_verdict(kind="steady", shape="level", end_s=2.0 + gap_s))) == []
    assert pedal.screen().verdict.word == word


@pytest.mark.parametrize(
    ("kind", "word"), [("slide", "SLIDE"), ("hammer_on", "HAMMER"), ("unclear", "UNCLEAR"), ("steady", "STEADY")]
)
def test_what_is_no_bend_shows_no_number(kind: str, word: str):
    pedal = a_pedal(mode="watch")
    play(pedal, *ended(a_verdict(kind=kind, shape="not_a_bend", verdict="unclear", error_cents=None)))
    assert pedal.screen().verdict == VerdictCard(word, None, "", "On the note.", note="C4")


def test_again_wipes_the_verdict():
    pedal = a_pedal(mode="watch")
    play(pedal, *ended(a_verdict()))
    press(pedal, "again")
    assert pedal.screen().verdict is None
