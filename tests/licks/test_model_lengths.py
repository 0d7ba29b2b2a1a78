"""Lengths, rests and beat of a model, and what its plain form keeps of a note."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from passes_by_rule import C4, D4, F4, G3, KEY, Bb3, lick_of, played  # type: ignore[import-not-found]

from pedal.licks.forms import asked
from pedal.licks.heard import HeardNote, model_of
from pedal.licks.lick import LickError, LickNote, plain_form
from pedal.licks.marks import mark_pass
from pedal.licks.text import read_lick, write_lick
from pedal.verdicts.aim import Bands


def model_at(onsets_s: list[float], ends_s: list[float]):
    plain = played(lick_of(C4, C4))[0]
    return model_of([replace(plain, onset_s=a, end_s=b) for a, b in zip(onsets_s, ends_s, strict=True)], KEY)


@pytest.mark.parametrize("begun_s", [0.0, 7.0])
@pytest.mark.parametrize(("silent_s", "meant"), [(0.0, False), (0.079, False), (0.081, True), (0.3, True)])
def test_a_silence_of_80_ms_is_a_rest_and_a_shorter_one_belongs_to_the_note(
    begun_s: float, silent_s: float, meant: bool
) -> None:
    onsets = [begun_s + 0.5 * n for n in range(4)]
    lick = model_at(onsets, [at + 0.5 - silent_s for at in onsets])
    sounding = 0.5 - silent_s if meant else 0.5
    lengths = [(note.beats * lick.beat_s, note.rest_beats * lick.beat_s) for note in lick.notes]
    assert lengths[:3] == [pytest.approx((sounding, 0.5 - sounding), abs=0.001)] * 3
    assert lengths[3] == pytest.approx((0.5 - silent_s, 0.0), abs=0.001)


@given(
    onsets=st.lists(st.floats(0.0, 14.99), min_size=2, max_size=24, unique=True).map(sorted), held_s=st.floats(0.0, 9.0)
)
@settings(max_examples=80, deadline=None)
def test_a_last_note_that_is_held_beyond_15_s_is_cut_there(onsets: list[float], held_s: float) -> None:
    """Lengths are rounded: so many of them may not make a lick too long that was not."""
    lick = model_at(onsets, [*onsets[1:], onsets[-1] + held_s])
    assert lick.seconds <= 15.0
    assert lick.seconds == pytest.approx(min(15.0, onsets[-1] - onsets[0] + held_s), abs=0.06)


def test_a_lick_whose_last_note_begins_after_15_s_is_refused() -> None:
    assert len(model_at([0.0, 14.9], [1.0, 15.2]).notes) == 2
    with pytest.raises(LickError, match="it was longer than 15 s: play a shorter lick"):
        model_at([0.0, 15.1], [1.0, 15.2])


@pytest.mark.parametrize(
    "beats", [[0.5] * 6, [1, 0.5, 0.5, 1], [1 / 3] * 6, [1 / 3, 1 / 3, 1 / 3, 1], [0.75, 0.25] * 3]
)
@pytest.mark.parametrize("tempo", [72.0, 84.0, 90.0, 100.0, 120.0])
def test_the_gaps_are_quarters_or_thirds_of_a_beat_of_50_to_150(beats: list[float], tempo: float) -> None:
    onsets = [sum(beats[:n]) * 60.0 / tempo for n in range(len(beats) + 1)]
    lick = model_at(onsets, [*onsets[1:], onsets[-1] + 0.3])
    assert 50.0 <= lick.beats_a_minute <= 150.0
    for note in lick.notes[:-1]:
        assert min(abs(note.beats * grid - round(note.beats * grid)) for grid in (3, 4)) < 0.005, note.beats


@pytest.mark.parametrize(
    ("gap_s", "beats_a_minute"), [(0.7, 85.7), (1.4, 85.7), (0.35, 85.7), (0.3, 100.0), (2.4, 50.0), (5.0, 90.0)]
)
def test_of_beats_that_fit_alike_the_one_nearest_to_90_is_taken(gap_s: float, beats_a_minute: float) -> None:
    """Also where no share of the gap is a beat from 0.4 to 1.2 s (5 s): then it is 90."""
    onsets = [gap_s * n for n in range(3)]
    assert model_at(onsets, [*onsets[1:], onsets[-1] + 0.3]).beats_a_minute == pytest.approx(beats_a_minute, abs=0.1)


@pytest.mark.parametrize(
    ("heard", "inflection"),
    [
        ({"kind": "curl", "bend_cents": 7.6}, ("curl", None, 8.0)),
        ({"kind": "curl", "bend_cents": 7.4}, ("plain", None, 0.0)),
        ({"kind": "curl", "bend_cents": 99.4}, ("curl", None, 99.0)),
        ({"kind": "curl", "bend_cents": 99.6}, ("plain", None, 0.0)),
        ({"kind": "curl", "bend_cents": None}, ("plain", None, 0.0)),
        ({"kind": "bend", "target_midi": C4 + 5, "error_cents": -12.4}, ("bend", C4 + 5, -12.0)),
        ({"kind": "bend", "target_midi": D4, "error_cents": None}, ("bend", D4, 0.0)),
        ({"kind": "bend_release", "target_midi": D4, "error_cents": 130.0}, ("bend", D4, 99.0)),
        ({"kind": "prebend", "target_midi": C4 + 1, "error_cents": -130.0}, ("prebend", C4 + 1, -99.0)),
        ({"kind": "bend", "target_midi": C4 + 6}, ("plain", None, 0.0)),
        ({"kind": "bend", "target_midi": C4}, ("plain", None, 0.0)),
        ({"kind": "steady", "target_midi": D4}, ("plain", None, 0.0)),
    ],
)
def test_what_the_hand_did_is_in_the_model_where_a_hand_can_do_it_again(heard: dict, inflection: tuple) -> None:
    first, second = played(lick_of(C4, C4))
    note = model_of([replace(first, **heard), second], KEY).notes[0]
    assert (note.inflection, note.target_midi, note.cents) == inflection


@pytest.mark.parametrize("kind", ["bend", "prebend", "curl", "steady"])
@pytest.mark.parametrize("ending", ["cut_sharp", "released"])
def test_only_what_was_bent_comes_back_to_its_fret(kind: str, ending: str) -> None:
    first, second = played(lick_of(C4, C4))
    heard = replace(first, kind=kind, target_midi=D4 if "bend" in kind else None, bend_cents=30.0, ending=ending)
    back = ending == "released" and kind != "steady"
    assert model_of([heard, second], KEY).notes[0].ending == ("release" if back else "cut")


def test_vibrato_and_how_a_note_begins_are_in_the_model() -> None:
    first, second = played(lick_of(C4, C4))
    heard = replace(first, vibrato_hz=5.24, vibrato_cents=20.4, begun_by="slide")
    note = model_of([heard, second], KEY).notes[0]
    assert (note.vibrato_hz, note.vibrato_cents, note.begun_by) == (5.2, 20, "slide")


@pytest.mark.parametrize(("vague", "of", "fine"), [(1, 5, True), (1, 4, False), (2, 10, True), (3, 14, False)])
def test_a_note_in_five_may_be_without_a_pitch(vague: int, of: int, fine: bool) -> None:
    notes: list[HeardNote] = played(lick_of(*[C4] * of))
    notes[:vague] = [replace(note, midi=None, kind="unclear") for note in notes[:vague]]
    if fine:
        assert len(model_of(notes, KEY).notes) == of - vague
    else:
        words = "a note had no clear pitch" if vague == 1 else f"{vague} notes had no clear pitch"
        with pytest.raises(LickError, match=words):
            model_of(notes, KEY)


def test_the_plain_form_of_a_bend_begins_as_the_bend_and_rests_and_rings_at_its_end() -> None:
    bend = LickNote(C4, 0.9, 0.25, "bend", D4, ending="release", begun_by="slide", string=4, fret=10)
    ring = LickNote(G3, 1.0, 0.5, ending="ring", begun_by="hammer_on")
    up = LickNote(C4, 1.0, 0.25, "bend", D4, ending="ring")
    plain = [
        (number, n.midi, n.beats, n.rest_beats, n.ending, n.begun_by, n.string, n.fret)
        for number, n in plain_form(replace(lick_of(G3, Bb3), notes=(bend, ring, up)))
    ]
    third = pytest.approx(0.3)
    assert plain == [
        (0, C4, third, 0.0, "cut", "slide", 4, 10),
        (0, D4, third, 0.0, "cut", "pluck", None, None),
        (0, C4, third, 0.25, "cut", "pluck", 4, 10),
        (1, G3, 1.0, 0.5, "ring", "hammer_on", None, None),
        (2, C4, 0.5, 0.0, "cut", "pluck", None, None),
        (2, D4, 0.5, 0.25, "ring", "pluck", None, None),
    ]


@pytest.mark.parametrize(
    ("beats", "words"), [(0.5, "1/2"), (1 / 3, "1/3"), (2.0, "2"), (0.75, "3/4"), (0.517, "0.517"), (0.0002, "0.001")]
)
def test_a_length_is_written_as_the_share_that_a_player_would_write(beats: float, words: str) -> None:
    assert write_lick(replace(lick_of(C4, F4), notes=(LickNote(C4, beats),) * 2)).splitlines()[-1].split()[1] == words


def test_a_curl_whose_height_nobody_gave_goes_to_the_middle_of_the_blue_zone() -> None:
    """20 to 50 cents (docs/licks.md): 35."""
    lick = read_lick(f"undertoe lick 1\nkey {KEY}\nBb3 1 curl\nC4 1\n")
    assert lick.notes[0].cents == 35.0


@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_a_note_is_asked_for_until_the_next_and_the_last_one_as_long_as_it_sounds(count: int) -> None:
    """At 90 a beat lasts two thirds of a second: three quarters of one sound, and a quarter is silent."""
    lick = replace(lick_of(*[C4] * count), notes=tuple(LickNote(C4, 0.75, 0.25) for _ in range(count)))
    told = asked(lick, "as_played")
    assert [one.gap_s for one in told] == pytest.approx([2 / 3] * (count - 1) + [0.5])
    assert [one.onset_s for one in told] == pytest.approx([n * 2 / 3 for n in range(count)])


@pytest.mark.parametrize(("model", "played_cents", "more"), [(20.0, 25.0, 5.0), (20.0, 0.0, -20.0), (0.0, 12.0, 12.0)])
def test_beside_the_model_stands_how_much_wider_the_vibrato_was(model: float, played_cents: float, more: float) -> None:
    notes = tuple(LickNote(midi, 1.0, vibrato_hz=5.0, vibrato_cents=model) for midi in (C4, D4))
    lick = replace(lick_of(C4, D4), notes=notes)
    heard = [replace(note, vibrato_cents=played_cents) for note in played(lick)]
    found = mark_pass(asked(lick, "as_played"), heard, question="as_played", key=KEY, bands=Bands())
    assert [mark.vibrato_cents for mark in found.marks] == [more, more]
