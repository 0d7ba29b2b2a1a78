"""Lick: a model under a held switch, passes against it, offers, the shelf, and what goes wrong."""

from __future__ import annotations

from dataclasses import replace

import pytest
from playing import a_pedal, a_verdict, ended, live, play, press

from pedal.licks.lick import Lick, LickNote
from pedal.modes.input_events import Command, InputEvent
from pedal.modes.lick_shelf import KeptLick
from pedal.modes.pedal import Pedal
from pedal.modes.screen_model import LickScreen, MenuScreen
from pedal.notes.event import Onset
from pedal.theory.neck import Neck, parse_tuning
from pedal.theory.scale import parse_key

# Written out, and not taken from the code, so that a change of it is seen.
MOST_LICKS = 40

KEY = parse_key("G minor pentatonic")
ROW = ("G3", "Bb3", "C4", "D4", "F4")
MIDI = {"G3": 55, "Bb3": 58, "C4": 60, "D4": 62, "F4": 65}


def note(name: str, at_s: float, seconds: float = 0.3, **changes: object) -> list[InputEvent]:
    """A plain note from its pluck to its verdict, and a look at the string after it."""
    plain = {
        "rest_note": name, "kind": "steady", "shape": "level", "target_note": None, "target_degree": None,
        "bend_cents": 0.0, "error_cents": None, "absolute_cents": None, "verdict": "unclear", "ending": "cut",
    }  # fmt: skip
    end = at_s + seconds
    verdict = a_verdict(**(plain | {"onset_s": at_s, "end_s": end} | changes))
    return [Onset(at_s), live(0.0, at_s), live(0.0, end - 0.05), *ended(verdict), live(0.0, end)]


CURLED = {"kind": "curl", "verdict": "true", "bend_cents": 34.0, "ending": "cut_sharp", "shape": "rise"}


def row(names: tuple[str, ...] = ROW, at_s: float = 1.0, gap_s: float = 0.4, **changed: dict) -> list[InputEvent]:
    """Notes in turn; `n2={...}` changes the third."""
    happenings = []
    for state, name in enumerate(names):
        happenings += note(name, at_s + gap_s * state, **changed.get(f"n{state}", {}))
    return happenings


def silence(from_s: float, to_s: float) -> list[InputEvent]:
    count = round((to_s - from_s) / 0.1)
    return [live(0.0, from_s + 0.1 * n) for n in range(count + 1)]


def a_pedal_with_a_model(at_s: float = 1.0, **settings: object) -> Pedal:
    pedal = a_pedal(**({"mode": "lick", "key": KEY} | settings))
    play(pedal, live(0.0, at_s - 0.2))
    press(pedal, "model_begin")
    play(pedal, *row(at_s=at_s))
    press(pedal, "model_end")
    play(pedal, *silence(at_s + 2.0, at_s + 2.2))
    return pedal


def screen(pedal: Pedal) -> LickScreen:
    shown = pedal.screen()
    assert isinstance(shown, LickScreen)
    return shown


def a_kept(number: int = 3, **changes: object) -> KeptLick:
    lick = Lick(tuple(LickNote(MIDI[name], 0.5) for name in ROW), KEY)
    return KeptLick(number, replace(lick, **changes))  # type: ignore[arg-type]


def test_without_a_model_it_asks_for_one():
    pedal = a_pedal(mode="lick")
    assert screen(pedal).stage == "empty"
    assert play(pedal, *row()) == []


def test_what_is_played_under_the_held_switch_is_the_model():
    pedal = a_pedal(mode="lick", key=KEY)
    play(pedal, live(0.0, 0.9))
    press(pedal, "model_begin")
    assert screen(pedal).stage == "recording"
    assert play(pedal, *row()) == []
    assert (screen(pedal).line, len(screen(pedal).strip)) == ("5 notes", 5)
    press(pedal, "model_end")
    answer = pedal.step(live(0.0, 3.0))
    assert [one.number for one in answer.licks] == [0]
    assert [n.midi for n in answer.licks[0].lick.notes] == [MIDI[name] for name in ROW]
    assert (screen(pedal).stage, screen(pedal).title) == ("ready", "new G3 Bb3 C4 D4 …")


def test_silence_ends_a_model_under_a_foot_that_stays():
    pedal = a_pedal(mode="lick", key=KEY)
    press(pedal, "model_begin")
    play(pedal, *row())
    play(pedal, *silence(2.9, 4.3))
    assert screen(pedal).stage == "recording"
    play(pedal, *silence(4.3, 4.6))
    assert screen(pedal).stage == "ready"


def test_a_foot_that_leaves_before_the_first_note_leaves_the_pedal_listening():
    pedal = a_pedal(mode="lick", key=KEY)
    press(pedal, "model_begin", "model_end")
    play(pedal, *silence(0.0, 3.0))
    assert screen(pedal).stage == "recording"
    play(pedal, *row(at_s=3.2), *silence(5.2, 6.9))
    assert screen(pedal).stage == "ready"


def test_a_pedal_that_waits_for_nothing_stops_waiting():
    pedal = a_pedal(mode="lick", key=KEY)
    press(pedal, "model_begin", "model_end")
    play(pedal, *silence(0.0, 15.2))
    assert screen(pedal).stage == "empty"


def test_a_second_try_replaces_the_model():
    pedal = a_pedal_with_a_model()
    press(pedal, "model_begin")
    play(pedal, *row(("D4", "C4", "G3"), at_s=10.0))
    press(pedal, "model_end")
    play(pedal, *silence(11.2, 11.4))
    assert screen(pedal).title == "new D4 C4 G3"


@pytest.mark.parametrize(
    ("played", "words"),
    [
        (row(("G3",)), "no model: a lick of 1 note is none"),
        (
            row(n2={"rest_note": None, "kind": "unclear"}, n3={"rest_note": None, "kind": "unclear"}),
            "no model: 2 notes had no clear pitch",
        ),
        (row(("G3", "D4") * 13), "no model: a lick of 26 notes is too long"),
    ],
    ids=["one note", "a chord", "too many"],
)
def test_what_is_no_model_is_told_and_the_old_one_stays(played: list[InputEvent], words: str):
    played = [h for h in played if h is not None]
    pedal = a_pedal_with_a_model(at_s=-40.0)
    press(pedal, "model_begin")
    last_s = max(h.time_s for h in played if hasattr(h, "time_s"))
    play(pedal, *played)
    press(pedal, "model_end")
    play(pedal, *silence(last_s, last_s + 1.7))
    assert screen(pedal).line.startswith(words)
    assert [n.midi for n in pedal.settings.licks[0].lick.notes] == [MIDI[name] for name in ROW]


def test_one_note_that_was_not_clear_is_left_out_of_a_model_and_that_is_said():
    pedal = a_pedal(mode="lick", key=KEY)
    press(pedal, "model_begin")
    play(pedal, *row(n2={"rest_note": None, "kind": "unclear"}), *silence(2.9, 4.6))
    assert [n.midi for n in pedal.settings.licks[0].lick.notes] == [55, 58, 62, 65]
    assert screen(pedal).line == "1 unclear, left out"


def test_a_model_that_does_not_end_is_ended_and_told():
    pedal = a_pedal_with_a_model(at_s=-40.0)
    press(pedal, "model_begin")
    for state, name in enumerate(("G3", "Bb3", "C4", "D4", "F4", "G3")):
        at_s = 1.0 + 3.5 * state
        play(pedal, Onset(at_s), *silence(at_s, at_s + 3.4), *note(name, at_s, 3.4)[-3:])
        if screen(pedal).stage != "recording":
            break
    assert state == 4
    assert screen(pedal).line == "no model: it was longer than 15 s: play a shorter lick"
    assert [n.midi for n in pedal.settings.licks[0].lick.notes] == [MIDI[name] for name in ROW]


@pytest.mark.parametrize("away", ["menu", "next_mode", "recall"])
def test_menu_or_another_mode_cuts_the_recording_off(away: str):
    pedal = a_pedal_with_a_model()
    press(pedal, "model_begin")
    play(pedal, *row(("D4", "C4", "G3"), at_s=10.0))
    press(pedal, away, "model_end")
    press(pedal, "menu" if away == "menu" else "back")
    play(pedal, *silence(11.2, 14.0))
    assert screen(pedal).title == "new G3 Bb3 C4 D4 …"


def test_lost_sound_ends_a_recording_and_says_so():
    pedal = a_pedal_with_a_model()
    press(pedal, "model_begin")
    play(pedal, *row(("D4", "C4"), at_s=10.0), live(0.0, 11.0, after_hole=True))
    assert (screen(pedal).stage, screen(pedal).line) == ("ready", "sound was lost: hold and play again")


def test_an_input_that_was_away_ends_a_pass_and_says_so():
    pedal = a_pedal_with_a_model()
    assert play(pedal, *row(ROW[:3], at_s=10.0), live(0.0, 19.0, after_hole=True)) == []
    assert screen(pedal).line == "sound was lost: play it again"
    assert len(play(pedal, *silence(19.0, 20.0), *row(at_s=20.0), *silence(22.0, 24.0))) == 5


def test_a_hearing_that_is_behind_takes_in_a_second_at_once_and_a_pass_goes_on():
    """The end of a long note takes the slowest board so long: the rest of the pass was another one, its first note
    "left out", and the player was told that sound was lost."""
    pedal = a_pedal_with_a_model()
    first, rest = row(ROW[:3], at_s=10.0), row(ROW[3:], at_s=12.2)
    play(pedal, *first, live(0.0, 12.1), *rest)
    assert (screen(pedal).stage, screen(pedal).count) == ("marked", "5/5")


def test_a_pass_is_marked_at_its_last_note_and_logged_note_by_note():
    pedal = a_pedal_with_a_model()
    play(pedal, *row(at_s=10.0, gap_s=0.6, n1=CURLED))
    assert (screen(pedal).stage, screen(pedal).count) == ("marked", "4/5")
    assert screen(pedal).strip == ("plain", "curl_cut", "plain", "plain", "plain")
    assert (screen(pedal).caret, screen(pedal).line) == (1, "4 of 5, Bb3 crept up 34")
    entries = play(pedal, *silence(12.8, 15.0))
    assert [(e.mode, e.lick, e.lick_pass, e.lick_note, e.lick_mark) for e in entries] == [
        ("lick", "G3 Bb3 C4 D4 …", 1, n + 1, "curl_cut, not asked" if n == 1 else "plain") for n in range(5)
    ]
    assert all(e.verdict is not None for e in entries)


def test_a_note_left_out_is_logged_without_a_verdict():
    pedal = a_pedal_with_a_model()
    entries = play(pedal, *row(("G3", "Bb3", "D4", "F4"), at_s=10.0), *silence(12.0, 14.0))
    assert [(e.lick_note, e.lick_mark, e.skipped) for e in entries] == [
        (1, "plain", False), (2, "plain", False), (3, "left_out", True), (4, "plain", False), (5, "plain", False),
    ]  # fmt: skip


def test_while_it_is_played_the_next_note_is_marked():
    pedal = a_pedal_with_a_model()
    for state in range(4):
        play(pedal, *note(ROW[state], 10.0 + 0.4 * state))
        assert (screen(pedal).stage, screen(pedal).reached) == ("playing", state + 1)
        assert screen(pedal).note == ROW[state + 1]


def test_the_first_note_is_marked_from_its_pluck():
    pedal = a_pedal_with_a_model()
    play(pedal, *silence(3.5, 9.9), Onset(10.0), live(196.0, 10.1))
    assert (screen(pedal).stage, screen(pedal).reached, screen(pedal).note) == ("playing", 0, "G3")


def test_the_next_pass_begins_at_once():
    pedal = a_pedal_with_a_model()
    assert len(play(pedal, *row(at_s=10.0), *row(at_s=12.1))) == 5
    assert len(play(pedal, *silence(14.1, 16.2))) == 5


def test_a_pass_that_was_begun_anew_keeps_the_verdicts_of_the_notes_before_that_was_certain():
    pedal = a_pedal_with_a_model()
    entries = play(pedal, *row(ROW[:3], at_s=10.0), *row(at_s=11.2), *silence(13.2, 15.0))
    assert [(e.lick_pass, e.lick_note, e.lick_mark) for e in entries if e.lick_pass == 2] == [
        (2, n + 1, "plain") for n in range(5)
    ]
    assert [e.lick_note for e in entries if e.lick_pass == 2 and e.skipped] == []


def test_a_whole_pass_counts_when_the_player_leaves():
    pedal = a_pedal_with_a_model()
    play(pedal, *row(at_s=10.0))
    assert len(press(pedal, "next_mode")) == 5
    pedal = a_pedal_with_a_model()
    play(pedal, *row(ROW[:3], at_s=10.0))
    assert press(pedal, "next_mode") == []


@pytest.mark.parametrize("action", ["hear_model", "model_begin", "next_target"])
def test_a_whole_pass_that_is_shown_counts_whatever_is_pressed(action: str):
    pedal = a_pedal_with_a_model()
    play(pedal, *row(at_s=10.0))
    assert (screen(pedal).stage, screen(pedal).count) == ("marked", "5/5")
    assert [entry.lick_note for entry in press(pedal, action)] == [1, 2, 3, 4, 5]
    assert press(pedal, action) == []
    pedal = a_pedal_with_a_model()
    play(pedal, *row(ROW[:3], at_s=10.0))
    assert press(pedal, action) == []


@pytest.mark.parametrize("action", ["next_key", "previous_key", "next_position", "previous_position"])
def test_a_whole_pass_counts_where_the_player_goes_on_to_another_key_or_position(action: str):
    pedal = a_pedal_with_a_model()
    play(pedal, *row(at_s=10.0))
    assert [(entry.key, entry.lick_note) for entry in press(pedal, action)] == [(str(KEY), n + 1) for n in range(5)]
    pedal = a_pedal(mode="lick", key=KEY)
    play(pedal, live(0.0, 0.8))
    press(pedal, "model_begin")
    play(pedal, *row(at_s=1.0))
    press(pedal, action)
    assert screen(pedal).stage == "recording", "a model goes on, as it did"


def test_again_forgets_a_pass_that_is_shown():
    pedal = a_pedal_with_a_model()
    play(pedal, *row(at_s=10.0))
    assert press(pedal, "again", "hear_model") == []


def test_a_whole_pass_counts_when_the_pedal_is_switched_off():
    pedal = a_pedal_with_a_model()
    play(pedal, *row(at_s=10.0))
    assert [entry.lick_note for entry in pedal.leave()] == [1, 2, 3, 4, 5]
    assert pedal.leave() == ()


def test_a_short_press_walks_through_the_questions_and_the_offers():
    pedal = a_pedal_with_a_model()
    asks = []
    for _ in range(4):
        asks.append(screen(pedal).asks)
        press(pedal, "next_target")
    assert asks[:3] == ["as played", "plain", "sung"]
    assert asks[3] == "curl"  # F4 ends the lick: it must be cut off sharp
    assert (screen(pedal).stage, screen(pedal).asks, screen(pedal).note) == ("offer", "curl", "Bb3")  # the next one
    press(pedal, "previous_target")
    assert (screen(pedal).stage, screen(pedal).asks) == ("ready", "sung")


def test_sung_wants_the_curl_that_as_played_does_not():
    pedal = a_pedal_with_a_model()
    press(pedal, "next_target", "next_target")
    assert screen(pedal).asks == "sung"
    assert "to_curl" in screen(pedal).strip
    play(pedal, *row(at_s=10.0))
    assert screen(pedal).count != "5/5"


def test_an_offer_that_was_played_is_kept_by_a_press():
    pedal = a_pedal_with_a_model()
    press(pedal, "next_target", "next_target", "next_target")
    offered = screen(pedal)
    assert (offered.stage, offered.asks, offered.note) == ("offer", "curl", "F4")
    play(pedal, *row(at_s=10.0, n4=CURLED | {"rest_note": "F4"}))
    assert (screen(pedal).count, screen(pedal).line) == ("KEEP?", "there: press to keep it")
    play(pedal, *silence(12.2, 14.0))
    answer = pedal.step(Command(14.0, "next_target"))
    assert [n.inflection for n in answer.licks[0].lick.notes] == ["plain"] * 4 + ["curl"]
    assert pedal.settings.lick == 0


BENT = {
    "kind": "bend", "shape": "rise", "target_note": "D4", "verdict": "true", "bend_cents": 200.0, "error_cents": 0.0,
}  # fmt: skip


def a_pass_with_a_bend_over_two(pedal: Pedal) -> list[InputEvent]:
    """The kept row with C4 bent to D4 in place of the fretted one."""
    press(pedal, *["next_target"] * 4)
    assert (screen(pedal).stage, screen(pedal).asks, screen(pedal).note) == ("offer", "bend", "C4")
    return [*note("G3", 10.0), *note("Bb3", 10.4), *note("C4", 10.8, 0.45, **BENT), *note("F4", 11.6)]


def test_a_pass_at_an_offered_bend_is_logged_by_the_notes_of_the_lick():
    pedal = a_pedal(mode="lick", key=KEY, licks=(a_kept(name="old gate"),), lick=3)
    entries = play(pedal, *a_pass_with_a_bend_over_two(pedal), *silence(12.0, 14.0))
    assert [(one.lick, one.lick_note, one.lick_mark) for one in entries] == [
        ("old gate", 1, "plain"), ("old gate", 2, "plain"), ("old gate", 3, "bent"), ("old gate", 5, "plain"),
    ]  # fmt: skip


def test_a_lick_that_was_changed_has_a_name_of_its_own():
    """Its notes are others: under the old name the review would mix the figures of two licks."""
    pedal = a_pedal(mode="lick", key=KEY, licks=(a_kept(name="old gate"),), lick=3)
    play(pedal, *a_pass_with_a_bend_over_two(pedal), *silence(12.0, 14.0))
    press(pedal, "next_target")
    assert [(one.number, one.lick.name, len(one.lick.notes)) for one in pedal.settings.licks] == [
        (0, "old gate, bend 3", 4), (3, "old gate", 5),
    ]  # fmt: skip
    again = [*note("G3", 20.0), *note("Bb3", 20.4), *note("C4", 20.8, 0.45, **BENT), *note("F4", 21.6)]
    entries = play(pedal, *again, *silence(22.0, 24.0))
    assert [(one.lick, one.lick_pass, one.lick_note) for one in entries] == [
        ("old gate, bend 3", 1, n + 1) for n in range(4)
    ]


@pytest.mark.parametrize(("drone_on", "mark"), [(False, "bent"), (True, "near")])
def test_over_a_drone_a_bend_to_a_note_outside_the_key_is_held_to_half_the_bands(drone_on: bool, mark: str):
    outside = LickNote(60, 1.0, inflection="bend", target_midi=61)
    kept = a_kept(notes=(LickNote(55, 0.5), LickNote(58, 0.5), outside, LickNote(65, 0.5)))
    pedal = a_pedal(mode="lick", key=KEY, licks=(kept,), lick=3, drone_on=drone_on)
    flat = {"kind": "bend", "shape": "rise", "verdict": "unclear", "bend_cents": 92.0}
    play(pedal, *row(("G3", "Bb3", "C4", "F4"), n2=flat), *silence(3.0, 5.0))
    assert screen(pedal).strip[2] == mark


def test_while_it_is_played_the_place_stands_alone_and_the_share_only_once_it_was_right():
    """ "5/5" for the last note that is awaited, and then for five that were right, were the same letters."""
    pedal = a_pedal(mode="lick", key=KEY, licks=(a_kept(),), lick=3)
    counts = []
    for state, name in enumerate(ROW):
        play(pedal, *note(name, 1.0 + 0.4 * state))
        counts.append((screen(pedal).stage, screen(pedal).count))
    assert counts == [("playing", count) for count in "2345"] + [("marked", "5/5")]


def test_an_offer_that_was_not_there_is_dropped_by_a_press():
    pedal = a_pedal_with_a_model()
    press(pedal, "next_target", "next_target", "next_target")
    before = screen(pedal)
    play(pedal, *row(at_s=10.0), *silence(12.2, 14.0))
    assert screen(pedal).count == "DROP?"
    assert screen(pedal).line.endswith("press to drop")
    press(pedal, "next_target")
    assert (screen(pedal).asks, screen(pedal).note) != (before.asks, before.note)
    assert all(n.inflection == "plain" for n in pedal.settings.licks[0].lick.notes)


def test_another_phrase_twice_is_told_with_a_remedy():
    pedal = a_pedal_with_a_model()
    strange = ("E3", "A3", "B3", "E4", "C#4")
    assert play(pedal, *row(strange, at_s=10.0), *silence(12.0, 14.0)) == []
    assert screen(pedal).line == "another phrase"
    play(pedal, *row(strange, at_s=20.0), *silence(22.0, 24.0))
    assert screen(pedal).line == "not this lick: hold to learn it anew"
    play(pedal, *row(at_s=30.0), *silence(32.0, 34.0))
    assert screen(pedal).count == "5/5"


def menu_value(pedal: Pedal, name: str) -> str:
    """Walk the menu to a row; its value."""
    for _ in range(40):
        shown = pedal.screen()
        assert isinstance(shown, MenuScreen)
        if shown.items[shown.index] == name:
            return shown.value
        press(pedal, "next_target")
    raise AssertionError(name)


def offered_in(pedal: Pedal, name: str) -> list[str]:
    menu_value(pedal, name)
    press(pedal, "again")
    words: list[str] = []
    while (word := pedal.screen().value) not in words:  # type: ignore[union-attr]
        words.append(word)
        press(pedal, "next_target")
    return words


def test_a_kept_lick_is_chosen_in_the_menu_by_number_and_first_notes():
    pedal = a_pedal(mode="lick", key=KEY, licks=(a_kept(1), a_kept(3)))
    assert screen(pedal).stage == "empty"
    press(pedal, "menu")
    assert offered_in(pedal, "lick") == ["none", "1 G Bb C D", "3 G Bb C D"]
    press(pedal, "next_target", "again", "menu")
    assert screen(pedal).title == "1 G3 Bb3 C4 D4 …"
    assert pedal.memory()["lick"] == 1


def test_after_a_power_cut_the_lick_is_there_again():
    pedal = a_pedal(mode="lick", key=KEY, licks=(a_kept(3),))
    again = Pedal(pedal.settings, {**pedal.memory(), "lick": 3})
    assert screen(again).title == "3 G3 Bb3 C4 D4 …"
    gone = Pedal(replace(pedal.settings, licks=()), {**pedal.memory(), "lick": 3})
    assert screen(gone).stage == "empty"
    torn = Pedal(pedal.settings, {**pedal.memory(), "lick": "x"})
    assert screen(torn).stage == "empty"


def test_the_new_lick_is_kept_under_the_first_free_number():
    pedal = a_pedal_with_a_model(licks=(a_kept(1), a_kept(3)))
    press(pedal, "menu")
    assert offered_in(pedal, "keep lick") == ["2 kept", "as 2"]
    press(pedal, "next_target")
    answer = pedal.step(Command(9.0, "again"))
    assert [one.number for one in answer.licks] == [2]
    assert pedal.settings.lick == 2


def test_a_full_shelf_keeps_no_more_and_says_so():
    shelf = tuple(a_kept(n + 1) for n in range(MOST_LICKS))
    pedal = a_pedal_with_a_model(licks=shelf)
    press(pedal, "menu")
    assert offered_in(pedal, "keep lick") == [f"{MOST_LICKS} kept, full"]


def test_twenty_one_licks_are_all_there():
    shelf = tuple(a_kept(n + 1) for n in range(21))
    pedal = a_pedal(mode="lick", key=KEY, licks=shelf, lick=21)
    press(pedal, "menu")
    assert len(offered_in(pedal, "lick")) == 21


def test_each_player_counts_their_own_passes():
    """The review takes the highest number of a player's session for how often the lick was played."""
    pedal = a_pedal(mode="lick", key=KEY, licks=(a_kept(),), lick=3, players=("Ann", "Ben"), player="Ann")
    passes = [play(pedal, *row(at_s=at_s), *silence(at_s + 2.0, at_s + 4.0))[0] for at_s in (10.0, 20.0)]
    press(pedal, "menu")
    assert menu_value(pedal, "player") == "Ann"
    press(pedal, "again", "next_target", "again", "menu")
    passes += [play(pedal, *row(at_s=at_s), *silence(at_s + 2.0, at_s + 4.0))[0] for at_s in (30.0, 40.0)]
    assert [(one.player, one.lick_pass) for one in passes] == [("Ann", 1), ("Ann", 2), ("Ben", 1), ("Ben", 2)]


def test_a_lick_of_another_key_is_offered_transposed_and_that_is_said():
    pedal = a_pedal(mode="lick", key=parse_key("A minor pentatonic"), licks=(a_kept(1),))
    press(pedal, "menu")
    assert offered_in(pedal, "lick") == ["none", "1 A C D E, from G", "1 G Bb C D in G"]
    press(pedal, "next_target", "again", "menu")
    assert screen(pedal).title == "1 A3 C4 D4 E4 … (from G)"
    assert pedal.settings.key.tonic.letter == "A"
    play(pedal, *row(("A3", "C4", "D4", "E4", "G4"), at_s=10.0))
    assert screen(pedal).count == "5/5"


def test_its_own_key_may_be_chosen_in_place_of_transposing():
    pedal = a_pedal(mode="lick", key=parse_key("A minor pentatonic"), licks=(a_kept(1),))
    press(pedal, "menu")
    offered_in(pedal, "lick")
    press(pedal, "next_target", "next_target", "again", "menu")
    assert screen(pedal).title == "1 G3 Bb3 C4 D4 …"
    assert str(pedal.settings.key) == "G minor pentatonic"


def test_a_lick_of_another_tuning_is_said_and_placed_anew():
    kept = a_kept(1, notes=(LickNote(55, 0.5, string=4, fret=5), LickNote(58, 0.5)))
    down = Neck(parse_tuning("whole-step down"))
    pedal = a_pedal(mode="lick", key=KEY, licks=(kept,), lick=1, neck=down)
    assert screen(pedal).title == "1 G3 Bb3 (other tuning)"


def test_a_lick_off_the_neck_says_so():
    kept = a_kept(1, notes=(LickNote(40, 0.5), LickNote(43, 0.5)))
    pedal = a_pedal(mode="lick", key=parse_key("F minor pentatonic"), licks=(kept,), lick=1)
    assert (screen(pedal).stage, screen(pedal).line) == ("empty", "In F it does not fit this neck.")


@pytest.mark.parametrize(
    ("switches", "gesture", "action"),
    [(1, "1_held", "model_begin"), (1, "1_double", "hear_model"), (1, "1_short", "next_target"),
     (2, "2_held", "model_begin"), (2, "2_double", "hear_model"), (4, "2_held", "model_begin")],
)  # fmt: skip
def test_every_count_of_switches_reaches_the_lick(switches: int, gesture: str, action: str):
    from pedal.modes.action_map import ActionMap

    numbers, kind = gesture.split("_")
    assert ActionMap(switches).meaning(kind, (int(numbers),), "lick") == action  # type: ignore[arg-type]


def test_the_model_is_played_at_full_then_half_tempo_then_stopped():
    pedal = a_pedal_with_a_model()
    play(pedal, live(0.0, 5.0))
    orders = [pedal.step(Command(5.0, "hear_model")).play for _ in range(3)]
    assert [(order.lick is not None, order.tempo) for order in orders] == [(True, 1.0), (True, 0.5), (False, 1.0)]
    assert [order.level_db for order in orders[:2]] == [pedal.settings.drone_db + 12.0] * 2


def test_a_model_is_never_played_above_the_ceiling():
    pedal = a_pedal_with_a_model(drone_db=-20.0, ceiling_db=-12.0)
    assert pedal.step(Command(5.0, "hear_model")).play.level_db == -12.0


def test_what_the_pedal_plays_itself_is_no_pass():
    pedal = a_pedal_with_a_model()
    play(pedal, live(0.0, 9.9))
    press(pedal, "hear_model")
    assert play(pedal, *row(at_s=10.1), *silence(12.1, 14.0)) == []
    assert len(play(pedal, *row(at_s=20.0), *silence(22.0, 24.0))) == 5


def test_another_mode_stops_what_is_played():
    pedal = a_pedal_with_a_model()
    play(pedal, live(0.0, 5.0))
    press(pedal, "hear_model")
    order = pedal.step(Command(5.1, "next_mode")).play
    assert order is not None and order.lick is None


def test_a_new_model_begins_in_silence_and_not_with_what_the_pedal_still_plays():
    pedal = a_pedal_with_a_model()
    kept = pedal.settings.licks
    play(pedal, live(0.0, 5.0))
    pedal.step(Command(5.0, "hear_model"))
    play(pedal, live(0.0, 5.5))
    assert pedal.step(Command(5.5, "model_begin")).play.lick is None
    play(pedal, *note("A3", 5.7))
    assert screen(pedal).stage == "recording"
    assert screen(pedal).strip == ()
    play(pedal, *row(("D4", "F4", "G4"), 6.5))
    press(pedal, "model_end")
    play(pedal, *silence(8.0, 11.0))
    assert pedal.settings.licks != kept
    assert [one.midi for one in pedal._licks.lick.notes] == [62, 65, 67]


def test_another_key_stops_what_plays_in_the_old_one():
    pedal = a_pedal_with_a_model()
    play(pedal, live(0.0, 5.0))
    pedal.step(Command(5.0, "hear_model"))
    play(pedal, live(0.0, 5.2))
    assert pedal.step(Command(5.2, "next_key")).play.lick is None
    assert pedal.step(Command(5.3, "hear_model")).play.tempo == 1.0


def test_another_players_hand_is_offered_what_it_can_bear():
    """Ann's bends are heavy from 30 N on, Ben's from 6."""
    lick = a_kept(3, notes=tuple(LickNote(MIDI[name], 0.5) for name in ROW))
    hands = {"players": ("Ann", "Ben"), "player": "Ann", "hands": (("Ann", 30.0), ("Ben", 6.0))}
    pedal = a_pedal(mode="lick", key=KEY, licks=(lick,), lick=3, **hands)
    alone = a_pedal(mode="lick", key=KEY, licks=(lick,), lick=3, **hands | {"player": "Ben"})
    ann = pedal._licks._offers
    press(pedal, "menu")
    while menu_item(pedal) != "player":
        press(pedal, "next_target")
    press(pedal, "again", "next_target", "again", "menu")
    assert pedal.settings.player == "Ben"
    assert pedal._licks._offers == alone._licks._offers != ann


def test_another_a4_is_offered_what_the_strings_bear_at_it():
    lick = a_kept(3, notes=tuple(LickNote(MIDI[name], 0.5) for name in ROW))
    pedal = a_pedal(mode="lick", key=KEY, licks=(lick,), lick=3, a4_hz=400.0)
    then = a_pedal(mode="lick", key=KEY, licks=(lick,), lick=3, a4_hz=480.0)
    before = pedal._licks._offers
    pedal._move(replace(pedal.settings, a4_hz=480.0))
    assert pedal._licks._offers == then._licks._offers != before


def menu_item(pedal: Pedal) -> str:
    return pedal.screen().items[pedal.screen().index]
