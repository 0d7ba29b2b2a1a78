"""The guitar as the keyboard of the menu: the key by its root, the bend by its fretted note, the strings by ear."""

from __future__ import annotations

import pytest
from playing import a_pedal, live, play, press, sound

from pedal.modes.pedal import Pedal
from pedal.modes.rungs import Crossing
from pedal.modes.screen_model import BlindScreen, LadderScreen, MenuScreen
from pedal.notes.event import Onset, Rest
from pedal.theory.neck import Neck, parse_tuning

# Written out, and not taken from the code, so that a change of it is seen.
SHOWN_S = 0.5


def pluck(pedal: Pedal, pitch: str, at_s: float = 10.0, *, seen_s: float = SHOWN_S + 0.05, cents: float = 0.0) -> None:
    """A plain note, and so much time for it to be looked at."""
    hz = sound(pitch, cents)
    play(pedal, live(hz, at_s), Onset(at_s), Rest(at_s + 0.1, hz))
    for step in range(1, round(seen_s / 0.05) + 1):
        play(pedal, live(hz, at_s + 0.05 * step))


def in_row(pedal: Pedal, name: str) -> None:
    if not isinstance(pedal.screen(), MenuScreen):
        press(pedal, "menu")
    while pedal.screen().items[pedal.screen().index] != name:
        press(pedal, "next_target")


@pytest.mark.parametrize(
    ("pitch", "key"),
    [("C#3", "C# minor pentatonic"), ("F#2", "F# minor pentatonic"), ("G#4", "G# minor pentatonic"),
     ("D#4", "Eb minor pentatonic"), ("A#2", "Bb minor pentatonic"), ("G3", "G minor pentatonic")],
)  # fmt: skip
def test_the_menu_opens_at_the_key_and_takes_the_root_that_is_played(pitch: str, key: str):
    pedal = a_pedal()
    press(pedal, "menu")
    pluck(pedal, pitch, cents=-8.0)
    assert str(pedal.settings.key) == key
    assert str(pedal.aim.key) == key
    press(pedal, "menu")
    assert pedal.settings.mode == "watch"


def test_it_is_shown_for_half_a_second_before_it_counts():
    pedal = a_pedal()
    press(pedal, "menu")
    pluck(pedal, "A2", seen_s=0.4)
    assert (pedal.screen().value, pedal.screen().editing) == ("A", True)
    assert str(pedal.settings.key) == "G minor pentatonic"
    play(pedal, live(0.0, 10.6))
    assert (pedal.screen().value, pedal.screen().editing) == ("A", False)
    assert str(pedal.settings.key) == "A minor pentatonic"


def test_the_same_press_sends_it_away_or_takes_it_back():
    pedal = a_pedal()
    press(pedal, "menu")
    pluck(pedal, "A2", seen_s=0.3)
    press(pedal, "again")
    play(pedal, live(0.0, 20.0))
    assert str(pedal.settings.key) == "G minor pentatonic"
    pluck(pedal, "A2", 30.0)
    assert str(pedal.settings.key) == "A minor pentatonic"
    press(pedal, "again")
    assert str(pedal.settings.key) == "G minor pentatonic"
    press(pedal, "again")
    assert pedal.screen().editing, "only once: then it changes the row, as ever"


def test_what_was_taken_is_remembered():
    pedal = a_pedal()
    press(pedal, "menu")
    answers = [pedal.step(Rest(1.0, sound("C#3")))]
    answers += [pedal.step(live(0.0, 0.1 * step)) for step in range(1, 20)]
    assert any(answer.remember for answer in answers)
    assert pedal.memory()["key"] == "C# minor pentatonic"


def test_a_drone_follows_the_key_that_was_played():
    pedal = a_pedal(drone_on=True)
    press(pedal, "menu")
    pedal.step(Rest(1.0, sound("A2")))
    answers = [pedal.step(live(0.0, 0.1 * step)) for step in range(1, 20)]
    assert [answer.drone for answer in answers if answer.drone] == [pedal.drone]
    assert pedal.drone.hz == (220.0,)


@pytest.mark.parametrize("mode", ["ladder", "blind", "watch", "tune"])
def test_the_fretted_note_says_which_bend_to_practise(mode: str):
    pedal = a_pedal(mode=mode)
    in_row(pedal, "bend")
    pluck(pedal, "F4")
    press(pedal, "menu")
    screen = pedal.screen()
    assert isinstance(screen, BlindScreen if mode == "blind" else LadderScreen)
    assert (screen.string, screen.fret, screen.target) == (2, 6, "G4")


def test_a_note_that_another_position_has_moves_the_hand_there():
    pedal = a_pedal(mode="ladder", position=1)
    in_row(pedal, "bend")
    pluck(pedal, "D5")
    assert pedal.settings.position == 3
    assert pedal.screen().value == "(1)10▸F5"
    press(pedal, "again", "menu")
    assert (pedal.settings.position, pedal.screen().target) == (1, "Bb2"), "taken back"


def test_a_note_outside_the_key_says_so_and_changes_nothing():
    pedal = a_pedal(mode="ladder")
    in_row(pedal, "bend")
    before = pedal.memory()
    pluck(pedal, "E4")
    assert pedal.screen().value == "no E4 here"
    assert pedal.memory() == before


def test_a_bend_that_was_crossed_off_is_not_offered():
    pedal = a_pedal(mode="ladder", crossed_off=frozenset({Crossing(2, 6, 2)}))
    in_row(pedal, "bend")
    pluck(pedal, "F4")
    assert (pedal.screen().value, pedal.settings.position) == ("(3)10▸G4", 3)


def test_the_strings_are_checked_by_ear_and_nothing_is_changed():
    pedal = a_pedal(neck=Neck(capo=2))
    in_row(pedal, "tuning")
    before = pedal.memory()
    pluck(pedal, "F#2", cents=-12.0)
    assert pedal.screen().value == "F#2 -12"
    pluck(pedal, "E4", 20.0)
    assert pedal.screen().value == "no open string"
    press(pedal, "next_target", "previous_target")
    assert pedal.screen().value == "standard"
    assert pedal.memory() == before


@pytest.mark.parametrize(("cents", "words"), [(7.0, "Gb3 +7"), (-0.3, "Gb3 +0"), (0.3, "Gb3 +0")])
def test_a_string_is_named_as_in_tune(cents: float, words: str):
    pedal = a_pedal(neck=Neck(parse_tuning("half-step down")))
    in_row(pedal, "tuning")
    pluck(pedal, "Gb3", cents=cents)
    assert pedal.screen().value == words


def test_other_rows_are_deaf():
    pedal = a_pedal()
    in_row(pedal, "volume")
    before = pedal.memory()
    pluck(pedal, "C#3")
    assert pedal.memory() == before


def test_bends_are_walked_by_foot_as_well():
    pedal = a_pedal(mode="ladder")
    in_row(pedal, "bend")
    press(pedal, "again", "next_target", "next_target", "again", "menu")
    assert (pedal.screen().string, pedal.screen().fret) == (5, 3)


def test_the_mode_is_chosen_in_the_menu_both_ways_and_the_menu_goes():
    pedal = a_pedal()
    in_row(pedal, "mode")
    press(pedal, "again", "previous_target", "again")
    assert pedal.settings.mode == "tune"
    assert not isinstance(pedal.screen(), MenuScreen)
    press(pedal, "back")
    assert pedal.settings.mode == "watch"


def test_a_bend_is_crossed_off_in_the_menu():
    pedal = a_pedal(mode="ladder")
    in_row(pedal, "cross off")
    press(pedal, "again", "next_target")
    assert pedal.screen().value == "never again"
    press(pedal, "again", "menu")
    assert pedal.settings.crossed_off == {Crossing(6, 3, 3)}
    assert pedal.screen().rungs[0] == "crossed"
    watch = a_pedal()
    in_row(watch, "cross off")
    press(watch, "again", "again", "menu")
    assert watch.settings.crossed_off == frozenset()


def test_between_minor_and_major_a_key_may_have_another_name():
    pedal = a_pedal()
    press(pedal, "menu")
    pluck(pedal, "C#3")
    in_row(pedal, "scale")
    press(pedal, "again")
    while pedal.screen().value != "major":
        press(pedal, "next_target")
    press(pedal, "again")
    assert str(pedal.settings.key) == "Db major"
