"""A lick in a Round: which one, when, what counts, what is logged, and what the hand and the power cut do to it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from playing import live, play, press
from test_lick import CURLED, KEY, MIDI, ROW, a_kept, row, silence

from pedal.licks.lick import Lick, LickNote
from pedal.modes.input_events import Command, InputEvent
from pedal.modes.lick_log import LickHistory, passes_in
from pedal.modes.lick_shelf import KeptLick
from pedal.modes.log_entry import LogEntry
from pedal.modes.pedal import Pedal, PedalState
from pedal.modes.rungs import Crossing
from pedal.modes.screen_model import RoundLickScreen
from pedal.practice.homework import Homework, Task
from pedal.practice.item import Item
from pedal.theory.scale import parse_key

LOW = KeptLick(3, replace(a_kept().lick, name="old gate"))
HIGH = KeptLick(4, Lick(tuple(LickNote(MIDI[name] + 12, 0.5) for name in ROW), KEY, name="high road"))
HEAVY = KeptLick(5, Lick(
    (LickNote(58, 0.5), LickNote(70, 1.0, inflection="bend", target_midi=72, string=1, fret=6)), KEY, name="hard road",
))  # fmt: skip


class LickRound:
    def __init__(
        self, *licks: KeptLick, past: tuple[LogEntry, ...] = (), memory: dict | None = None, **settings
    ) -> None:
        state = PedalState(**({"mode": "round", "key": KEY, "licks": licks} | settings))
        self.pedal, self.now_s = Pedal(state, memory or {}, past), 0.0
        self.step(live(0.0, 0.0))

    def step(self, *events: InputEvent) -> list[LogEntry]:
        return play(self.pedal, *events)

    def to_the_lick(self) -> Item:
        press(self.pedal, "next_target")
        parts = []
        for _ in range(160):
            asked = self.pedal.asked
            if isinstance(asked, Item):
                parts.append(asked.part)
                if asked.part == "lick":
                    return asked
            if asked == "end":
                break
            press(self.pedal, "next_target")
        raise AssertionError(f"no lick among {parts}")

    def through(self, **changed: dict) -> list[LogEntry]:
        """One pass, and the silence that ends it."""
        begin_s = self.now_s + 0.5
        logged = self.step(*row(at_s=begin_s, **changed), *silence(begin_s + 2.0, begin_s + 3.8))
        self.now_s = begin_s + 3.8
        return logged


def a_pass(lick: str, right: int, *, at_s: float, number: int = 1, player: str | None = None) -> tuple[LogEntry, ...]:
    return tuple(
        LogEntry(
            at_s + 0.1 * n, "lick", str(KEY), None, lick=lick, lick_pass=number, lick_note=n + 1, player=player,
            lick_mark="plain" if n < right else "missed",
        )
        for n in range(5)
    )  # fmt: skip


@pytest.mark.parametrize(("drone_on", "mark"), [(False, "bent"), (True, "near")])
def test_over_a_drone_a_bend_to_a_note_outside_the_key_is_held_to_half_the_bands(drone_on: bool, mark: str) -> None:
    outside = LickNote(60, 0.5, inflection="bend", target_midi=61)
    notes = tuple(outside if n == 2 else LickNote(MIDI[name], 0.5) for n, name in enumerate(ROW))
    practised = LickRound(KeptLick(3, Lick(notes, KEY, name="odd road")), drone_on=drone_on)
    practised.to_the_lick()
    flat = {"kind": "bend", "shape": "rise", "verdict": "unclear", "bend_cents": 92.0}
    logged = practised.through(n2=flat)
    assert logged[2].lick_mark == mark


def parts_asked(practised: LickRound) -> list[str]:
    press(practised.pedal, "next_target")
    parts = []
    while practised.pedal.asked != "end" and len(parts) < 60:
        asked = practised.pedal.asked
        if isinstance(asked, Item) and (not parts or parts[-1] != asked.part):
            parts.append(asked.part)
        press(practised.pedal, "next_target")
    return parts


def test_it_comes_after_all_laps_and_only_where_one_is_kept():
    with_one = parts_asked(LickRound(LOW))
    first = with_one.index("lick")
    assert with_one[:first].count("bend") == 2
    assert with_one.count("lick") == 1
    assert "lick" not in parts_asked(LickRound())
    assert "lick" not in parts_asked(LickRound(KeptLick(0, LOW.lick))), "one that was only just played is not kept"


def test_three_right_passes_are_enough_and_each_is_logged_note_by_note():
    practised = LickRound(LOW)
    item = practised.to_the_lick()
    assert (item.note, item.lick, practised.pedal.aim.judge_as, practised.pedal.aim.target) == (
        "old gate",
        3,
        "watch",
        None,
    )
    entries = practised.through()
    assert [(e.mode, e.lick, e.lick_pass, e.lick_note, e.lick_mark) for e in entries] == [
        ("round", "old gate", 1, n, "plain") for n in range(1, 6)
    ]
    shown = practised.pedal.screen()
    assert isinstance(shown, RoundLickScreen)
    assert (shown.marks, shown.strip.count) == (("true", "open", "open"), "5/5")
    practised.through()
    assert practised.pedal.asked == item
    assert [e.lick_pass for e in practised.through()] == [3] * 5
    assert practised.pedal.asked != item


def test_five_that_were_not_right_are_enough_as_well():
    practised = LickRound(LOW, round_minutes=20)
    item = practised.to_the_lick()
    practised.through(n1=CURLED)
    assert practised.pedal.screen().marks == ("open", "open", "open", "near")
    practised.through(n1=CURLED, n3=CURLED)
    assert practised.pedal.screen().marks[-1] == "missed"
    for _ in range(2):
        practised.through(n1=CURLED)
    assert practised.pedal.asked == item
    practised.through(n1=CURLED)
    assert practised.pedal.asked != item


def test_the_last_pass_is_seen_before_the_next_thing_is_asked():
    practised = LickRound(LOW)
    practised.to_the_lick()
    for _ in range(3):
        practised.through()
    # `through` lets 1.8 s go by after the notes, and a pass is over after 1.5 s of them
    assert isinstance(practised.pedal.screen(), RoundLickScreen)
    assert practised.pedal.screen().marks == ("true",) * 3
    practised.step(*silence(practised.now_s, practised.now_s + 1.6))
    assert not isinstance(practised.pedal.screen(), RoundLickScreen)


def test_a_pass_that_begins_at_once_keeps_the_verdict_of_its_first_note():
    practised = LickRound(LOW)
    practised.to_the_lick()
    logged = practised.step(*row(at_s=1.0), *row(at_s=3.1), *silence(5.1, 6.9))
    assert [(entry.lick_pass, entry.lick_note, entry.skipped) for entry in logged] == [
        (number, n, False) for number in (1, 2) for n in range(1, 6)
    ]


def test_an_input_that_was_away_ends_a_pass_as_it_does_in_lick():
    practised = LickRound(LOW)
    practised.to_the_lick()
    assert practised.step(*row(ROW[:3], at_s=1.0), live(0.0, 10.0, after_hole=True)) == []
    assert (practised.pedal.screen().strip.line, practised.pedal.screen().marks) == (
        "sound was lost: play it again", ("open", "open", "open"),
    )  # fmt: skip


def test_a_hearing_that_is_behind_takes_in_a_second_at_once_and_a_pass_goes_on_as_it_does_in_lick():
    practised = LickRound(LOW)
    practised.to_the_lick()
    played = [*row(ROW[:3], at_s=1.0), live(0.0, 3.0), *row(ROW[3:], at_s=3.1)]
    assert len(practised.step(*played, *silence(4.1, 6.0))) == len(ROW)


@pytest.mark.parametrize("away", ["next_mode", "menu", "switched off"])
def test_a_whole_pass_counts_when_the_player_goes_elsewhere_and_a_broken_one_does_not(away: str):
    for names, counted in ((ROW, 5), (ROW[:3], 0)):
        practised = LickRound(LOW)
        item = practised.to_the_lick()
        practised.step(*row(names, at_s=1.0))
        logged = practised.pedal.leave() if away == "switched off" else press(practised.pedal, away)
        assert [(entry.lick_pass, entry.skipped) for entry in logged] == [(1, False)] * counted
        if away != "switched off":
            press(practised.pedal, "menu" if away == "menu" else "back")
        assert practised.step(*silence(3.0, 6.0)) == []
        assert (practised.pedal.asked, practised.pedal.screen().marks.count("true")) == (item, counted // 5)


def test_another_phrase_and_a_single_note_are_no_tries():
    practised = LickRound(LOW)
    practised.to_the_lick()
    logged = practised.step(*row(("F4", "F4", "F4", "F4", "F4", "F4"), at_s=1.0), *silence(4.0, 6.0))
    assert logged == []
    assert practised.pedal.screen().marks == ("open", "open", "open")


def test_next_in_the_silence_after_a_whole_pass_counts_it():
    practised = LickRound(LOW)
    practised.to_the_lick()
    practised.step(*row(at_s=1.0), live(0.0, 3.2))
    assert len(press(practised.pedal, "next_target")) == 5
    assert getattr(practised.pedal.asked, "part", "") != "lick"


@pytest.mark.parametrize(
    ("low", "high", "asked"),
    [(5, 2, "high road"), (2, 5, "old gate"), (None, 1, "high road"), (4, None, "old gate")],
)
def test_the_neediest_of_those_that_were_played_is_asked_for(low: int | None, high: int | None, asked: str):
    past: tuple[LogEntry, ...] = ()
    for name, right, at_s in (("old gate", low, -900.0), ("high road", high, -800.0)):
        past += () if right is None else a_pass(name, right, at_s=at_s)
    assert LickRound(LOW, HIGH, past=past).to_the_lick().note == asked


def test_without_passes_it_is_the_one_used_last():
    assert LickRound(LOW, HIGH, lick=4).to_the_lick().note == "high road"
    assert LickRound(LOW, HIGH).to_the_lick().note == "old gate"


def test_passes_of_another_player_choose_nothing():
    past = a_pass("high road", 0, at_s=-900.0, player="Ben")
    assert LickRound(LOW, HIGH, past=past, players=("Ann", "Ben"), player="Ann").to_the_lick().note == "old gate"
    assert LickRound(LOW, HIGH, past=past, players=("Ann", "Ben"), player="Ben").to_the_lick().note == "high road"


def test_what_is_played_in_a_round_does_not_change_its_lick():
    practised = LickRound(LOW, HIGH, past=a_pass("old gate", 4, at_s=-900.0) + a_pass("high road", 4, at_s=-800.0))
    first = practised.to_the_lick()
    practised.through()
    practised.through()
    practised.step(Command(practised.now_s, "next_position"))
    assert practised.pedal.asked.name == first.name


def test_heavy_bends_of_a_lick_count_and_end_it_at_the_ceiling():
    practised = LickRound(HEAVY, heavy_most=2, rig=PedalState().rig)
    state = practised.pedal.settings
    assert state.is_heavy(1, 6, 2), "else this test says nothing"
    item = practised.to_the_lick()
    assert item.heavy_bends == 1
    bent = {
        "kind": "bend", "verdict": "true", "rest_note": "Bb4", "target_note": "C5", "bend_cents": 200.0,
        "shape": "rise", "error_cents": 0.0,
    }  # fmt: skip
    for begin_s in (1.0, 6.0):
        assert practised.pedal.asked == item
        practised.step(*row(("Bb3", "Bb4"), at_s=begin_s, n1=bent), *silence(begin_s + 1.0, begin_s + 4.0))
    assert practised.pedal.asked != item
    assert parts_asked(LickRound(HEAVY, heavy_most=0)).count("lick") == 0


def test_heavy_bends_of_passes_in_lick_leave_fewer_to_a_round():
    """docs/round.md: counted in every mode in which a bend is asked for."""
    practised = LickRound(HEAVY, mode="lick", lick=5, heavy_most=3)
    bent = {
        "kind": "bend", "verdict": "true", "rest_note": "Bb4", "target_note": "C5", "bend_cents": 200.0,
        "shape": "rise", "error_cents": 0.0,
    }  # fmt: skip
    left = []
    for begin_s in (1.0, 6.0, 11.0, 16.0):
        logged = practised.step(*row(("Bb3", "Bb4"), at_s=begin_s, n1=bent), *silence(begin_s + 1.0, begin_s + 4.0))
        assert [entry.mode for entry in logged] == ["lick", "lick"]
        press(practised.pedal, "next_mode")
        left.append(practised.pedal.screen().heavy_left)
        press(practised.pedal, "previous_mode")
    assert left == [2, 1, 0, 0]
    fretted = LickRound(HEAVY, mode="lick", lick=5, heavy_most=3)
    assert len(fretted.step(*row(("Bb3", "Bb4"), at_s=1.0), *silence(2.0, 5.0))) == 2
    press(fretted.pedal, "next_mode")
    assert fretted.pedal.screen().heavy_left == 3, "a note that was fretted in its place strains nobody"


def test_a_lick_with_a_crossed_off_bend_is_not_asked_for():
    assert "lick" not in parts_asked(LickRound(HEAVY, crossed_off=frozenset({Crossing(1, 6, 2)})))


def test_after_a_power_cut_it_is_the_same_lick_with_its_tries():
    practised = LickRound(LOW, HIGH, past=a_pass("old gate", 2, at_s=-900.0), lick=4)
    item = practised.to_the_lick()
    practised.through()
    again = LickRound(LOW, HIGH, memory=practised.pedal.memory(), lick=4)
    assert again.pedal.asked.name == item.name
    assert again.pedal.screen().marks[0] == "true"


def test_the_closing_lines_call_it_by_its_name():
    practised = LickRound(LOW, round_minutes=5)
    practised.to_the_lick()
    for _ in range(3):
        practised.through()
    for _ in range(90):
        if practised.pedal.asked == "end":
            break
        press(practised.pedal, "next_target")
    at_s = practised.now_s
    while practised.pedal.asked != "end":
        at_s += 0.5
        practised.step(live(0.0, at_s))
        press(practised.pedal, "next_target")
    practised.step(*silence(at_s, at_s + 2.0))
    assert ("well", "lick 3 3/3", "lick old gate, 3/3 true") in practised.pedal.screen().lines


def test_passes_in_the_log_are_told_apart():
    two_days = a_pass("old gate", 5, at_s=-90_000.0) + a_pass("old gate", 3, at_s=-900.0)
    assert [(one.right, one.of) for one in passes_in(two_days)] == [(5, 5), (3, 5)]
    history = LickHistory(two_days)
    assert history.need("", "old gate", 0.0) > history.need("", "never", 0.0) > 0.0
    anns = LickHistory(replace(entry, player="ann") for entry in two_days)
    assert (len(anns.passes("Ann", "old gate")), len(anns.passes("", "old gate"))) == (2, 0), "however it is written"


def test_a_lick_that_a_teacher_set_is_asked_for_in_place_of_ones_own_choice():
    homework = Homework((Task("lick", 0, 0, 0, 2, "High Road"), Task("lick", 0, 0, 0, 2, "not kept")))
    assert LickRound(LOW, HIGH, homework=homework, past=a_pass("old gate", 0, at_s=-900.0)).to_the_lick() == (
        LickRound(HIGH, homework=homework).to_the_lick()
    )


def test_right_passes_count_for_the_homework_in_round_and_in_lick_and_then_it_is_done():
    homework = Homework((Task("lick", 0, 0, 0, 4, "old gate"),))
    past = a_pass("old gate", 5, at_s=-900.0) + a_pass("old gate", 4, at_s=-800.0, number=2)
    practised = LickRound(LOW, HIGH, homework=homework, past=past)
    assert practised.to_the_lick().note == "old gate"
    assert practised.pedal.screen().homework == "1/4"
    practised.through(n1=CURLED)
    assert practised.pedal.screen().homework == "1/4"
    for wanted in ("2/4", "3/4"):
        practised.through()
        assert practised.pedal.screen().homework == wanted
    press(practised.pedal, "recall", "previous_target")
    assert practised.pedal.screen().homework == "0/1"
    press(practised.pedal, "back")
    practised.through()
    press(practised.pedal, "recall", "previous_target")
    assert practised.pedal.screen().homework == "1/1"


@pytest.mark.parametrize(("lick", "heavy"), [(LOW, False), (HEAVY, True)])
def test_a_lick_with_a_heavy_bend_says_so(lick: KeptLick, heavy: bool):
    practised = LickRound(lick, rig=PedalState().rig)
    practised.to_the_lick()
    assert practised.pedal.screen().heavy is heavy


@pytest.mark.parametrize(("change", "goes_on"), [({}, True), ({"licks": (LOW, HIGH)}, False), ({"key": 0}, False)])
def test_a_pass_that_is_played_goes_on_unless_key_neck_or_licks_change(change: dict, goes_on: bool):
    practised = LickRound(LOW)
    practised.to_the_lick()
    practised.step(*row(ROW[:3], at_s=1.0))
    if "key" in change:
        change = {"key": parse_key("A minor pentatonic")}
    practised.pedal._mode.move(replace(practised.pedal.settings, **change))
    practised.step(*row(ROW[3:], at_s=2.2), *silence(3.0, 5.0))
    assert (practised.pedal.screen().marks.count("true") == 1) == goes_on
