"""Chords and beats on the pedal: what sounds now, what bends aim at, what is late, and what the log keeps of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pedal.licks.lick import Lick, LickNote
from pedal.modes.input_events import BeatsBegan, Command, DelayHeard, LivePitch
from pedal.modes.lick_shelf import KeptLick
from pedal.modes.memory import restore
from pedal.modes.menu import NAMES
from pedal.modes.menu_items import ITEMS
from pedal.modes.state import PedalState
from pedal.notes.event import Onset, Rest
from pedal.notes.note import Trace
from pedal.theory.cents import hz_of
from pedal.theory.scale import parse_key
from tests.modes.playing import a_pedal, a_verdict, ended, play, press

BPM = 60
TWELVE = ["G7"] * 4 + ["C7"] * 2 + ["G7"] * 2 + ["D7", "C7", "G7", "D7"]
QUICK = ["G7", "C7", *TWELVE[2:]]


def now(pedal, time_s: float) -> str:
    play(pedal, LivePitch(time_s, 0.0, -60.0))
    return pedal.screen().status.chord


def in_time(pedal, zero_s: float = 0.0) -> None:
    press(pedal, "drone")
    play(pedal, BeatsBegan(0.0, zero_s, 60 / BPM))


def a_bend_that_arrives(at_s: float, **changes: object):
    """C4 to D4 in a straight line of cents, over a fifth of a second; it comes within 10 cents at `at_s`."""
    rise_s, rate = 0.2, 375
    onset_s = at_s - 0.3 - 0.95 * rise_s
    t = onset_s + np.arange(round(1.2 * rate)) / rate
    cents = 200.0 * np.clip((t - onset_s - 0.3) / rise_s, 0.0, 1.0)
    trace = Trace(t, hz_of(60) * 2 ** (cents / 1200), np.full(len(t), -20.0))
    return a_verdict(onset_s=onset_s, end_s=onset_s + 1.2, trace=trace, rise_s=rise_s, **changes)


@pytest.mark.parametrize(
    ("form", "bars"), [("one_chord", ["G7"] * 13), ("twelve_bars", TWELVE), ("quick_change", QUICK)]
)
def test_one_press_starts_the_chords_and_the_screen_follows_them(form: str, bars: list[str]) -> None:
    pedal = a_pedal(backing=form, bpm=BPM, drone="dominant")
    assert now(pedal, 0.5) == ""
    order = pedal.step(Command(0.0, "drone")).drone
    assert order is not None and order.pulse is not None and order.pulse.bpm == BPM
    play(pedal, BeatsBegan(0.0, 10.0, 60 / BPM))
    assert now(pedal, 12.0) == "G7", "the count-in shows what is to come"
    assert [now(pedal, 14.0 + 4 * bar + 2.0) for bar in range(len(bars))] == bars
    assert now(pedal, 14.0 + 4 * 12 + 0.1) == bars[0], "and again from the top"
    assert pedal.step(Command(0.0, "drone")).drone.pulse is None
    assert now(pedal, 90.0) == ""


@pytest.mark.parametrize("mode", ["tune", "watch", "curl", "ladder", "blind", "echo", "recall"])
def test_every_mode_shows_the_chord_and_the_beat(mode: str) -> None:
    pedal = a_pedal(mode=mode, backing="twelve_bars", bpm=BPM, drone="minor")
    if not pedal.settings.drone_on:
        press(pedal, "drone")
    play(pedal, BeatsBegan(0.0, 0.0, 60 / BPM))
    assert now(pedal, 4 + 16 + 2.5) == "Cm"
    assert pedal.screen().status.beat == 3


@pytest.mark.parametrize("off_ms", [-210.0, -34.0, 0.0, 12.0, 240.0])
def test_a_bend_is_early_or_late_by_what_it_was(off_ms: float) -> None:
    pedal = a_pedal(mode="watch", backing="twelve_bars", bpm=BPM, drone="dominant")
    in_time(pedal, zero_s=0.25)
    (entry,) = play(pedal, *ended(a_bend_that_arrives(20.25 + off_ms / 1000)))
    assert entry.beat_ms == pytest.approx(off_ms, abs=3.0)
    assert entry.chord == "C7", "the fifth bar"
    side = "late" if off_ms > 0 else "early"
    words = pedal.screen().verdict.timing
    assert words == "on the beat" if off_ms == 0.0 else side in words
    assert pedal.screen().verdict.side == ("on" if abs(off_ms) <= 20 else side)


def test_a_bend_that_arrives_just_before_the_bar_was_meant_for_its_chord() -> None:
    pedal = a_pedal(mode="watch", backing="twelve_bars", bpm=BPM, drone="dominant")
    in_time(pedal)
    (entry,) = play(pedal, *ended(a_bend_that_arrives(4 + 16 - 0.05)))
    assert entry.chord == "C7"
    assert entry.beat_ms == pytest.approx(-50, abs=3)


def test_without_a_pulse_nothing_is_early_or_late() -> None:
    pedal = a_pedal(mode="watch")
    (entry,) = play(pedal, *ended(a_bend_that_arrives(20.0)))
    assert (entry.beat_ms, entry.chord) == (None, None)
    press(pedal, "drone")
    (entry,) = play(pedal, *ended(a_bend_that_arrives(30.0)))
    assert (entry.beat_ms, entry.chord) == (None, "G")
    assert pedal.screen().verdict.timing == ""


def test_while_the_output_says_nothing_the_rest_goes_on() -> None:
    pedal = a_pedal(mode="watch", backing="twelve_bars", bpm=BPM, drone="dominant")
    press(pedal, "drone")
    (entry,) = play(pedal, *ended(a_bend_that_arrives(30.0)))
    assert entry.beat_ms is None
    assert pedal.screen().verdict.word == "TRUE"


def test_bends_may_aim_at_third_and_seventh_of_the_chord() -> None:
    """Over G7 in G minor: from A4 to B4, the third, where the key alone would ask for B flat."""
    pedal = a_pedal(mode="watch", backing="twelve_bars", bpm=BPM, drone="dominant", follow="chord")
    assert pedal.aim.goals == frozenset()
    in_time(pedal)
    play(pedal, LivePitch(6.0, 0.0, -60.0))
    assert pedal.aim.goals == frozenset({11, 5})
    play(pedal, LivePitch(4 + 16 + 1.0, 0.0, -60.0))
    assert pedal.aim.goals == frozenset({4, 10}), "C7: E and B flat"


def test_the_degree_of_the_chord_is_told() -> None:
    pedal = a_pedal(mode="watch", backing="twelve_bars", bpm=BPM, drone="dominant", follow="chord")
    in_time(pedal)
    play(pedal, *ended(a_bend_that_arrives(21.0, target_note="E4")))
    assert "3 of C7" in pedal.screen().verdict.more


def test_rises_are_called_even_or_not_from_the_fourth_on() -> None:
    pedal = a_pedal(mode="watch")
    for n in range(3):
        play(pedal, *ended(a_verdict(onset_s=float(n), rise_s=0.24)))
    assert not any("rise" in words for words in pedal.screen().verdict.more)
    play(pedal, *ended(a_verdict(onset_s=9.0, rise_s=0.25)))
    assert "rise 0.24 s, even" in pedal.screen().verdict.more
    for n, rise_s in enumerate((0.1, 0.5, 0.3, 0.7, 0.2)):
        play(pedal, *ended(a_verdict(onset_s=20.0 + n, rise_s=rise_s)))
    assert any(words.endswith("uneven") for words in pedal.screen().verdict.more)


def test_another_tempo_begins_anew_and_the_old_beat_is_forgotten() -> None:
    pedal = a_pedal(mode="watch", backing="one_chord", bpm=BPM, drone="dominant")
    in_time(pedal)
    press(pedal, "drone")
    press(pedal, "drone")
    (entry,) = play(pedal, *ended(a_bend_that_arrives(30.0)))
    assert entry.beat_ms is None


@pytest.mark.parametrize(
    ("name", "torn"),
    [("bpm", 0), ("bpm", -80), ("bpm", 39), ("bpm", 161), ("bpm", "80"), ("bpm", True), ("backing", "waltz"),
     ("feel", "swung"), ("follow", "drums")],
)  # fmt: skip
def test_a_torn_memory_changes_nothing(name: str, torn: object) -> None:
    assert restore(PedalState(), {name: torn}) == PedalState()


def test_what_was_chosen_outlives_a_power_cut() -> None:
    chosen = a_pedal(backing="quick_change", bpm=132, feel="straight", follow="chord")
    there = restore(PedalState(), chosen.memory())
    assert (there.backing, there.bpm, there.feel, there.follow) == ("quick_change", 132, "straight", "chord")
    assert not there.drone_on, "it does not begin to play by itself"


def test_the_menu_has_tempo_feel_and_form() -> None:
    pedal = a_pedal(backing="drone")
    press(pedal, "menu")
    names = pedal.screen().items
    assert {"backing", "tempo", "feel", "bends to"} <= set(names)
    while pedal.screen().items[pedal.screen().index] != "tempo":
        press(pedal, "next_target")
    press(pedal, "again", "next_target", "again")
    assert pedal.settings.bpm == 85


def test_chords_are_spelled_in_the_key() -> None:
    pedal = a_pedal(key=parse_key("Bb minor pentatonic"), backing="twelve_bars", bpm=BPM, drone="minor")
    in_time(pedal)
    assert [now(pedal, 4 + 4 * bar + 1.0) for bar in (0, 4, 8)] == ["Bbm", "Ebm", "Fm"]
    assert replace(pedal.settings, key=parse_key("C# minor")).key.spell(61) == "C#4"


def test_a_pulse_that_no_output_plays_is_marked_and_a_drone_is_not():
    pedal = a_pedal(backing="one_chord", bpm=BPM)
    now(pedal, 10.0)
    press(pedal, "drone")
    now(pedal, 13.9)
    assert not pedal.screen().status.no_output
    now(pedal, 14.1)
    assert pedal.screen().status.no_output
    play(pedal, BeatsBegan(14.2, 14.0, 60 / BPM))
    assert not pedal.screen().status.no_output
    press(pedal, "drone")
    now(pedal, 30.0)
    assert not pedal.screen().status.no_output
    drone = a_pedal(backing="drone", drone_on=True)
    now(drone, 30.0)
    assert not drone.screen().status.no_output


def test_round_tells_when_a_bend_came():
    pedal = a_pedal(backing="one_chord", bpm=BPM, mode="round")
    in_time(pedal)
    press(pedal, "next_target")
    while getattr(pedal.asked, "part", "") != "bend":
        press(pedal, "next_target")
    item = pedal.asked
    verdict = a_bend_that_arrives(5.040, rest_note=item.note, target_note=item.target)
    (entry,) = play(pedal, *ended(replace(verdict, bend_cents=100.0 * item.semitones)))
    card = pedal.screen().verdict
    assert entry.beat_ms is not None
    assert card.timing == f"{round(abs(entry.beat_ms))} ms {'late' if entry.beat_ms > 0 else 'early'}"


def test_lick_tells_where_the_bends_of_a_pass_lay():
    lick = Lick(
        (LickNote(55, 1.0), LickNote(60, 2.0, inflection="bend", target_midi=62)), parse_key("G minor pentatonic")
    )
    pedal = a_pedal(backing="one_chord", bpm=BPM, mode="lick", licks=(KeptLick(1, lick),), lick=1)
    in_time(pedal)
    plain = a_verdict(
        onset_s=3.5, end_s=4.3, rest_note="G3", kind="steady", shape="level", target_note=None, bend_cents=0.0,
        error_cents=None, verdict="unclear", ending="cut",
    )  # fmt: skip
    play(pedal, *ended(plain), *ended(a_bend_that_arrives(5.040)))
    assert pedal.screen().details.startswith("40 ms late  ")


def test_a_key_that_is_played_to_the_menu_begins_another_pulse_as_one_that_is_pressed_does():
    pedal = a_pedal(backing="one_chord", bpm=BPM)
    in_time(pedal)
    assert now(pedal, 5.0) == "G" and pedal.screen().status.beat == 2
    press(pedal, "menu")
    play(pedal, Onset(6.0), Rest(6.1, hz_of(45)))
    orders = [pedal.step(LivePitch(6.1 + 0.1 * n, hz_of(45), -20.0)).drone for n in range(8)]
    assert [order.pulse is not None for order in orders if order is not None] == [True]
    assert pedal.screen().status.beat == 0, "nothing is known of it before the output tells"
    play(pedal, BeatsBegan(7.0, 6.0, 60 / BPM))
    assert pedal.screen().status.beat > 0


def test_a_pass_that_is_over_because_the_pedal_is_switched_off_has_its_chord():
    lick = Lick(tuple(LickNote(midi, 0.5) for midi in (55, 58)), parse_key("G minor pentatonic"))
    pedal = a_pedal(backing="one_chord", bpm=BPM, drone="minor", mode="lick", licks=(KeptLick(1, lick),), lick=1)
    in_time(pedal)
    level = {"kind": "steady", "shape": "level", "target_note": None, "bend_cents": 0.0, "verdict": "unclear"}
    for name, at_s in (("G3", 10.0), ("Bb3", 10.5)):
        play(pedal, *ended(a_verdict(onset_s=at_s, end_s=at_s + 0.4, rest_note=name, **level)))
    assert [entry.chord for entry in pedal.leave()] == ["Gm", "Gm"]


def test_while_nobody_knows_what_the_drivers_hide_early_and_late_are_told_as_about() -> None:
    pedal = a_pedal(mode="watch", backing="twelve_bars", bpm=BPM, drone="dominant", delay_heard=False)
    in_time(pedal, zero_s=0.25)
    (about,) = play(pedal, *ended(a_bend_that_arrives(20.284)))
    assert (about.beat_ms, about.chord) == (None, "C7"), "the review would claim to the millisecond what nobody knows"
    assert pedal.screen().verdict.timing.startswith("~3")
    assert pedal.screen().verdict.side == "", "no sign for what is not known"
    play(pedal, DelayHeard(22.0, 12.5))
    (heard,) = play(pedal, *ended(a_bend_that_arrives(24.284)))
    assert heard.beat_ms == pytest.approx(34, abs=3)
    assert pedal.screen().verdict.timing.startswith("3")


def test_a_delay_that_was_heard_outlives_a_power_cut_and_a_setting_that_is_changed_overrules_it() -> None:
    pedal = a_pedal(delay_heard=False)
    assert pedal.memory()["delay"] == "0"
    answer = pedal.step(DelayHeard(3.0, 12.54))
    assert answer.remember and pedal.memory()["delay"] == "12.5 heard"
    again = restore(PedalState(delay_heard=False), pedal.memory())
    assert (again.delay_ms, again.delay_heard) == (12.5, True)
    for damaged in ("heard", "9999 heard", "-50.1 heard", "nan", 3, ""):
        untouched = restore(PedalState(delay_heard=False), {"delay": damaged})
        assert (untouched.delay_ms, untouched.delay_heard) == (0.0, False)


def test_the_menu_shows_what_was_heard_and_hears_anew() -> None:
    item = next(one for one in ITEMS if one.name == "clicks")
    state = PedalState(delay_ms=12.5, delay_heard=True)
    assert item.value(state) == "12 ms", "heard, or set by hand"
    anew = item.choices(state)[1].state
    assert item.value(anew) == "not heard" and len(item.choices(anew)) == 1


def test_louder_chords_go_on_where_they_are_and_so_do_beat_and_goals() -> None:
    """The output plays the same pulse on, and tells no beat anew that it has told."""
    pedal = a_pedal(mode="watch", backing="twelve_bars", bpm=120, follow="chord")
    press(pedal, "drone")
    play(pedal, BeatsBegan(0.1, 0.0, 0.5), LivePitch(11.0, 0.0, -60.0))
    before, goals = pedal.screen().status, pedal.aim.goals
    press(pedal, "menu", *["next_target"] * NAMES.index("volume"), "again", "next_target", "again", "menu")
    assert pedal.drone.level_db > PedalState().drone_db
    play(pedal, LivePitch(11.01, 0.0, -60.0))
    assert (pedal.screen().status, pedal.aim.goals) == (before, goals)
    assert (before.chord, before.beat > 0) == ("C", True)
