"""Where one pass ends and the next begins."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from passes_by_rule import C4, D4, F4, G3, Bb3, lick_of, played  # type: ignore[import-not-found]

from pedal.licks.forms import asked
from pedal.licks.heard import HeardNote
from pedal.licks.lick import Lick, LickNote
from pedal.licks.passes import Passes

LICK = lick_of(G3, Bb3, C4, D4, F4)


def counts(lick: Lick, heard: list[HeardNote]) -> list[int]:
    passes, over = Passes(asked(lick, "as_played")), []
    for note in heard:
        if done := passes.hear(note):
            over.append(len(done))
    if done := passes.finish():
        over.append(len(done))
    return over


@given(
    waits=st.lists(st.floats(0.02, 5.0), min_size=2, max_size=5),
    tempi=st.lists(st.sampled_from([0.5, 0.8, 1.0, 1.5, 2.0]), min_size=5, max_size=5),
)
@settings(max_examples=60, deadline=None)
def test_whole_passes_are_told_apart_however_soon_the_next_begins(waits: list[float], tempi: list[float]) -> None:
    heard: list[HeardNote] = []
    for wait, tempo in zip(waits, tempi, strict=False):
        heard += played(LICK, tempo=tempo, at_s=heard[-1].end_s + wait if heard else 0.0)
    assert counts(LICK, heard) == [5] * len(waits)


def test_a_player_who_stops_short_begins_another_pass() -> None:
    heard = played(LICK)[:3]
    heard += played(LICK, at_s=heard[-1].end_s + 1.2)
    assert counts(LICK, heard) == [3, 5]


def test_a_first_note_that_is_struck_again_and_again_does_not_begin_anew_each_time() -> None:
    assert counts(LICK, played(lick_of(G3, G3, G3, G3))) == [4]


def test_one_note_is_no_pass() -> None:
    heard = [*played(LICK)[:1], *played(LICK, at_s=9.0)]
    assert counts(LICK, heard) == [5]


def test_a_lick_with_a_long_rest_is_not_ended_by_it() -> None:
    lick = Lick((LickNote(G3, 0.5, 2.0), LickNote(D4, 0.5), LickNote(F4, 0.5)), LICK.key, 90.0)
    assert counts(lick, played(lick, tempo=0.5)) == [3]


def test_it_ends_after_the_silence_and_not_while_a_string_sounds() -> None:
    passes = Passes(asked(LICK, "as_played"))
    for note in played(LICK):
        passes.hear(note)
    end_s = played(LICK)[-1].end_s
    assert passes.whole
    assert passes.pause(end_s + 1.4, sounding=False) is None
    assert passes.pause(end_s + 9.0, sounding=True) is None
    assert len(passes.pause(end_s + 1.5, sounding=False) or ()) == 5
    assert passes.pause(end_s + 9.0, sounding=False) is None


def test_the_note_reached_is_the_next_one() -> None:
    passes = Passes(asked(LICK, "as_played"))
    for place, note in enumerate(played(LICK)):
        assert passes.reached == place
        passes.hear(note)


def test_a_flood_of_notes_is_one_bounded_pass() -> None:
    passes = Passes(asked(LICK, "as_played"))
    note = replace(played(LICK)[1], midi=64)
    for n in range(300):
        passes.hear(replace(note, onset_s=0.1 * n, end_s=0.1 * n + 0.1))
    assert len(passes.finish() or ()) == 72
