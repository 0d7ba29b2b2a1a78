"""What the wheel of a MIDI file means, at the edges; where a pass begins anew; where offers and written places end."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from passes_by_rule import C4, D4, F4, G3, KEY, Bb3, lick_of, played  # type: ignore[import-not-found]
from test_midi import BEAT, file_of, message, note, wheel  # type: ignore[import-not-found]

from pedal.licks.forms import asked
from pedal.licks.lick import Lick, LickError, LickNote
from pedal.licks.midi import lick_of_midi
from pedal.licks.offers import offers
from pedal.licks.passes import Passes
from pedal.licks.text import LickTextError, read_lick
from pedal.theory.neck import PLAIN_NECK, Neck, parse_tuning
from pedal.theory.scale import parse_key

HEAD = "undertoe lick 1\nkey G minor pentatonic\n"


def second(*messages) -> LickNote:
    """The second of two notes of a file: these messages."""
    return lick_of_midi(file_of([*note(G3), *messages]), KEY).notes[1]


def bent(midi: int, *levels: float, each: int = 40, first: float | None = None) -> LickNote:
    """The wheel at each of these cents in turn, `each` ticks apart, and then so to the end."""
    before = [] if first is None else [wheel(first)]
    return second(*before, *note(midi, BEAT, tuple((each, cents) for cents in levels)))


@pytest.mark.parametrize(
    ("midi", "levels", "is_heard_as"),
    [
        (Bb3, (7.9,), ("plain", None, 0.0, "cut")),
        (Bb3, (8.1,), ("curl", None, 8.0, "cut")),
        (Bb3, (91.8,), ("curl", None, 92.0, "cut")),
        (Bb3, (92.2,), ("bend", Bb3 + 1, -8.0, "cut")),
        (C4, (35.0,), ("bend", C4 + 1, -65.0, "cut")),
        (C4, (149.0,), ("bend", C4 + 1, 49.0, "cut")),
        (C4, (151.0,), ("bend", C4 + 2, -49.0, "cut")),
        (Bb3, (35.0, 11.0), ("curl", None, 35.0, "cut")),
        (Bb3, (35.0, 10.0), ("curl", None, 35.0, "release")),
        (C4, (200.0, 61.0), ("bend", D4, 0.0, "cut")),
        (C4, (200.0, 59.0), ("bend", D4, 0.0, "release")),
        (C4, (-5.9, 200.0), ("bend", D4, 0.0, "cut")),
    ],
)
def test_a_wheel_is_a_curl_a_bend_or_nothing(midi: int, levels: tuple[float, ...], is_heard_as: tuple) -> None:
    level, *back = levels if levels[0] >= 0 else levels[1:]
    found = bent(midi, *levels[: len(levels) - len(back) - 1], level, level, *back, each=120 if back else 40)
    assert (found.inflection, found.target_midi, found.cents, found.ending) == is_heard_as


@pytest.mark.parametrize(
    ("first", "top", "inflection"),
    [
        (200.0, 200.0, ("prebend", D4, 0.0)), (60.0, 60.0, ("prebend", C4 + 1, -40.0)),
        (59.0, 59.0, ("bend", C4 + 1, -41.0)), (145.0, 200.0, ("prebend", C4 + 1, 45.0)),
        (135.0, 200.0, ("bend", D4, 0.0)),
    ],
)  # fmt: skip
def test_a_wheel_that_stands_up_at_the_pluck_is_a_prebend(first: float, top: float, inflection: tuple) -> None:
    found = bent(C4, top, first=first)
    assert (found.inflection, found.target_midi, found.cents) == inflection


@pytest.mark.parametrize(
    ("lower", "stays", "target"), [(100.0, 300, C4 + 1), (100.0, 100, D4), (90.0, 300, D4), (110.0, 300, C4 + 1)]
)
def test_a_bend_goes_to_where_the_wheel_stands_longest_in_the_upper_half(lower: float, stays: int, target: int) -> None:
    found = second(*note(C4, BEAT, ((40, lower), (stays, 200.0))))
    assert found.target_midi == target


def test_a_wheel_down_is_refused_where_it_is_more_than_an_unsteady_one() -> None:
    with pytest.raises(LickError, match="is bent down by 6 cents, which no finger does"):
        bent(C4, -6.2, 0.0)


def control(number: int, value: int, channel: int = 0):
    return message("control_change", control=number, value=value, channel=channel)


REACH = [control(101, 0), control(100, 0)]


@pytest.mark.parametrize(
    ("controls", "reach"),
    [
        ([], 200.0),
        ([*REACH, control(6, 7)], 700.0),
        ([*REACH, control(6, 7), control(38, 50)], 750.0),
        ([*REACH, control(6, 7), control(101, 127), control(100, 127), control(6, 12)], 700.0),
        ([control(101, 0), control(100, 1), control(6, 12)], 200.0),
        ([control(101, 1), control(100, 0), control(6, 12), control(38, 9)], 200.0),
        ([control(6, 12)], 200.0),
        ([control(101, 0, 3), control(100, 0, 3), control(6, 12, 3)], 200.0),
    ],
)
def test_the_reach_of_the_wheel_is_registered_parameter_0_of_its_channel(controls: list, reach: float) -> None:
    """MIDI 1.0 Detailed Specification: 101 and 100 choose the parameter, 6 and 38 set semitones and cents."""
    found = second(*controls, *note(C4, BEAT, ((40, 100.0),)))
    assert found.height_cents == pytest.approx(100.0 * reach / 200.0, abs=1.0)


@pytest.mark.parametrize(("cents", "fine"), [(549.0, True), (551.0, False)])
def test_a_bend_of_a_file_goes_as_far_as_a_finger(cents: float, fine: bool) -> None:
    row = [
        *REACH,
        control(6, 12),
        message("note_on", note=C4),
        wheel(cents, 40, 1200.0),
        message("note_off", BEAT, note=C4),
    ]
    if fine:
        assert second(*row).target_midi == C4 + 5
    else:
        with pytest.raises(LickError, match="is further than a finger bends"):
            second(*row)


def test_a_note_ends_with_a_velocity_of_0_and_drums_are_no_notes() -> None:
    ending = [message("note_on", note=C4), message("note_on", BEAT // 2, note=C4, velocity=0)]
    drums = [message("note_on", note=38, channel=9), message("note_off", BEAT, note=38, channel=9)]
    lick = lick_of_midi(file_of([*drums, *note(G3), *ending, *drums]), KEY)
    assert [(n.midi, n.beats) for n in lick.notes] == [(G3, 1.0), (C4, 0.5)]


@pytest.mark.parametrize(("gap_ticks", "fine"), [(19, False), (22, True)])
def test_notes_30_ms_apart_are_legato_and_nearer_ones_a_chord(gap_ticks: int, fine: bool) -> None:
    """At 90 a beat of 480 ticks lasts 0.667 s: 22 ticks are 30.6 ms."""
    row = [message("note_on", note=C4), message("note_on", gap_ticks, note=D4), message("note_off", BEAT, note=C4),
           message("note_off", note=D4)]  # fmt: skip
    if fine:
        assert [n.midi for n in lick_of_midi(file_of(row), KEY).notes] == [C4, D4]
    else:
        with pytest.raises(LickError, match="holds chords"):
            lick_of_midi(file_of(row), KEY)


@pytest.mark.parametrize(("size", "sentence"), [(100_000, "the MIDI file is damaged"), (100_001, "larger than 100 kB")])
def test_a_file_of_100_kb_is_looked_at(size: int, sentence: str) -> None:
    with pytest.raises(LickError, match=sentence):
        lick_of_midi(b"MThd" + bytes(size - 4), KEY)


@pytest.mark.parametrize(
    ("first", "after", "passes"),
    [
        (LickNote(G3, 0.5), LickNote(G3, 0.5), [5, 1]),
        (LickNote(G3, 0.5), LickNote(G3 + 9, 0.5), [6]),
        (LickNote(G3, 0.5), LickNote(F4, 0.5), [6]),
        (LickNote(C4, 0.5, 0.0, "prebend", D4), LickNote(C4, 0.5), [5, 1]),
        (LickNote(C4, 0.5, 0.0, "prebend", D4), LickNote(D4, 0.5), [5, 1]),
        (LickNote(C4, 0.5, 0.0, "bend", D4), LickNote(C4, 0.5), [5, 1]),
    ],
    ids=["the same", "another", "the last again", "a pre-bend fretted", "its target fretted", "a bend fretted"],
)
def test_after_the_last_note_only_the_first_one_begins_another_pass(first, after, passes: list[int]) -> None:
    lick = Lick((first, *lick_of(Bb3, G3 + 24, D4 + 12, F4).notes), KEY, 90.0)
    heard = played(lick)
    end_s = heard[-1].end_s
    again = replace(played(replace(lick, notes=(after, after)))[0], onset_s=end_s + 0.1, end_s=end_s + 0.4)
    listened, found = Passes(asked(lick, "as_played")), []
    for one in (*heard, again):
        if over := listened.hear(one):
            found.append(len(over))
    assert [*found, len(listened.notes)] == passes


@pytest.mark.parametrize(("rest_beats", "silence_s"), [(0.0, 1.5), (0.5, 1.5), (1.5, 2.2), (3.0, 4.4)])
def test_a_pass_waits_for_2_2_times_the_longest_rest_within_it(rest_beats: float, silence_s: float) -> None:
    """At 90 a rest of one and a half beats lasts a second. One after the last note is waited for by nobody."""
    lick = Lick((LickNote(C4, 1.0, rest_beats), LickNote(D4, 0.5), LickNote(C4, 0.5, 6.0)), KEY, 90.0)
    assert Passes(asked(lick, "as_played")).silence_s == pytest.approx(silence_s)


@pytest.mark.parametrize(
    ("neck", "key", "spot", "begun_bent"),
    [
        (PLAIN_NECK, KEY, (1, 10), [(1, 8)]),
        (PLAIN_NECK, KEY, (3, 12), [(3, 10)]),
        (PLAIN_NECK, KEY, (1, 1), [(2, 3)]),
        (PLAIN_NECK, KEY, (2, 1), [(3, 3)]),
        (PLAIN_NECK, KEY, (6, 1), []),
        (Neck(parse_tuning("drop D"), capo=5), parse_key("Eb minor"), (5, 6), []),
        (Neck(parse_tuning("drop D"), capo=5), parse_key("Eb minor"), (5, 8), [(5, 6)]),
    ],
    ids=["its own", "higher up", "the next", "a third lower", "no string below", "out of reach", "over the capo"],
)
def test_the_first_note_is_begun_bent_on_its_own_string_or_the_next_within_a_reach(neck, key, spot, begun_bent) -> None:
    string, fret = spot
    first = LickNote(neck.midi(string, fret), 1.0, string=string, fret=fret)
    found = offers(Lick((first, first), key, tuning=neck.tuning), neck=neck, rig=None)
    assert [(one.spot.string, one.spot.fret) for one in found if one.place == "begin"] == begun_bent


@pytest.mark.parametrize(
    ("place", "fine"), [("4/10", True), ("3/5", True), ("4/010", False), ("04/10", False), ("4/", False), ("/9", False)]
)
def test_a_place_is_one_digit_of_string_and_two_of_fret(place: str, fine: bool) -> None:
    text = f"{HEAD}C4 1 at {place}\nD4 1\n"
    if fine:
        found = read_lick(text).notes[0]
        assert f"{found.string}/{found.fret}" == place
    else:
        with pytest.raises(LickTextError, match=re.escape("at needs string and fret, such as: at 3/5")):
            read_lick(text)
