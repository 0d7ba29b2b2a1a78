"""The menu: everything that a stage needs without a computer, by one switch."""

from __future__ import annotations

import pytest
from playing import a_pedal, a_verdict, ended, live, play, press, sound

from pedal.modes.action_map import ActionMap
from pedal.modes.feet import Feet
from pedal.modes.input_events import Action, DelayHeard, DevicesFound
from pedal.modes.menu import NAMES
from pedal.modes.pedal import Pedal, PedalState
from pedal.modes.screen_model import MenuScreen, WatchScreen
from pedal.notes.event import Onset, Rest
from pedal.theory.neck import Neck, parse_tuning


def go_to(pedal: Pedal, name: str) -> None:
    while pedal.screen().items[pedal.screen().index] != name:
        press(pedal, "next_target")


def choose(pedal: Pedal, name: str, value: str) -> None:
    """Change one row to one of its values, as a foot would."""
    if not isinstance(pedal.screen(), MenuScreen):
        press(pedal, "menu")
    go_to(pedal, name)
    press(pedal, "again")
    for _ in range(100):
        if pedal.screen().value == value:
            break
        press(pedal, "next_target")
    assert pedal.screen().value == value
    press(pedal, "again")


def values_of(pedal: Pedal, name: str) -> list[str]:
    press(pedal, "menu")
    go_to(pedal, name)
    press(pedal, "again")
    values: list[str] = []
    while pedal.screen().value not in values:
        values.append(pedal.screen().value)
        press(pedal, "next_target")
    return values


def test_the_menu_comes_up_over_the_mode_and_goes_again():
    pedal = a_pedal()
    press(pedal, "menu")
    screen = pedal.screen()
    assert isinstance(screen, MenuScreen)
    assert (screen.items, screen.index, screen.value, screen.editing) == (NAMES, 0, "G", False)
    assert screen.status.mode == "menu"
    press(pedal, "menu")
    assert isinstance(pedal.screen(), WatchScreen)


def test_what_a_stage_needs_is_there():
    wanted = "key scale position tuning capo A4 tolerance input drone volume display device"
    assert set(wanted.split()) <= set(NAMES)


@pytest.mark.parametrize(
    ("name", "value", "read"),
    [
        ("key", "Bb", lambda s: str(s.key) == "Bb minor pentatonic"),
        ("scale", "mixolydian", lambda s: str(s.key) == "G mixolydian"),
        ("position", "4", lambda s: s.position == 4),
        ("tuning", "drop D", lambda s: s.neck.tuning == parse_tuning("drop D")),
        ("capo", "fret 3", lambda s: s.neck.capo == 3),
        ("A4", "442 Hz", lambda s: s.a4_hz == 442.0),
        ("tolerance", "±5", lambda s: (s.bands.true_cents, s.bands.near_cents) == (5.0, 12.5)),
        ("drone", "minor", lambda s: (s.drone, s.drone_on) == ("minor", True)),
        ("volume", "-42 dB", lambda s: s.drone_db == -42.0),
        ("targets", "by need", lambda s: s.order == "by_need"),
        ("display", "close", lambda s: s.density == "close"),
        ("device", "interface two", lambda s: s.device == "interface two"),
    ],
)
def test_a_value_is_chosen_taken_and_remembered(name: str, value: str, read):
    settings = PedalState(devices=("interface one", "interface two"))
    pedal = Pedal(settings)
    choose(pedal, name, value)
    assert read(pedal.settings)
    assert pedal.screen().value == value
    if name == "drone":
        return  # a drone does not come back by itself
    later = Pedal(settings, pedal.memory())
    assert read(later.settings)


def test_the_judge_hears_of_it_at_once():
    pedal = a_pedal()
    choose(pedal, "key", "A")
    choose(pedal, "A4", "442 Hz")
    choose(pedal, "capo", "fret 2")
    assert (str(pedal.aim.key), pedal.aim.a4_hz, pedal.aim.lowest_midi) == ("A minor pentatonic", 442.0, 42)


@pytest.mark.parametrize("leave", [("menu",), ("back", "back")])
def test_leaving_in_the_middle_changes_nothing(leave: tuple[Action, ...]):
    pedal = a_pedal()
    before = pedal.memory()
    press(pedal, "menu")
    go_to(pedal, "key")
    press(pedal, "again", "next_target", *leave)
    assert isinstance(pedal.screen(), WatchScreen)
    assert pedal.memory() == before


def test_previous_walks_back():
    pedal = a_pedal()
    press(pedal, "menu", "previous_target")
    assert pedal.screen().items[pedal.screen().index] == "leave"
    press(pedal, "again")
    assert isinstance(pedal.screen(), WatchScreen)


def test_only_positions_that_the_neck_holds_are_offered():
    assert values_of(a_pedal(), "position") == ["1", "2", "3", "4", "5"]
    assert values_of(a_pedal(neck=Neck(frets=12)), "position") == [
        str(n) for n in PedalState(neck=Neck(frets=12)).held_positions()
    ]


def test_the_players_own_tuning_scale_and_a4_are_among_the_values():
    pedal = a_pedal(neck=Neck(parse_tuning("C2 G2 D3 G3 B3 D4")), a4_hz=415.0)
    assert "C2 G2 D3 G3 B3 D4" in values_of(pedal, "tuning")
    press(pedal, "menu")
    assert "415 Hz" in values_of(pedal, "A4")


def test_the_drone_gets_no_louder_than_its_ceiling_and_is_changed_while_it_sounds():
    pedal = a_pedal(drone_db=-31.0, ceiling_db=-24.0)
    quieter = [f"-{db} dB" for db in range(48, 32, -3)]
    assert values_of(pedal, "volume") == ["-31 dB", "-30 dB", "-27 dB", "-24 dB", *quieter]
    press(pedal, "back", "menu", "drone")
    assert pedal.drone.level_db == -31.0
    choose(pedal, "volume", "-27 dB")
    assert pedal.drone.level_db == -27.0
    louder = Pedal(PedalState(ceiling_db=-24.0), {"drone_db": -12.0})
    assert louder.settings.drone_db == PedalState().drone_db


def test_devices_are_those_that_are_there_now():
    pedal = a_pedal()
    play(pedal, DevicesFound(1.0, ("one", "two")))
    assert values_of(pedal, "device") == ["system's own", "one", "two"]


@pytest.mark.parametrize(("count", "words"), [(0, "0 bends"), (1, "1 bend"), (2, "2 bends")])
def test_bends_that_were_crossed_off_are_counted(count: int, words: str):
    pedal = a_pedal(mode="ladder")
    press(pedal, *["cross_off"] * count)
    assert values_of(pedal, "crossed")[0] == words


def test_crossed_off_bends_can_be_brought_back():
    pedal = a_pedal(mode="ladder")
    press(pedal, "cross_off")
    choose(pedal, "crossed", "all back")
    assert pedal.settings.crossed_off == frozenset()
    press(pedal, "menu")
    assert pedal.screen().rungs[0] == "open"


@pytest.mark.parametrize(
    ("levels_db", "clipped", "word"),
    [
        ((), False, "play hard"),
        ((-55.0, -40.0), False, "gain up -40 dB"),
        ((-50.0, -18.4, -30.0), False, "good -18 dB"),
        ((-6.0,), False, "gain down -6 dB"),
        ((-12.0,), True, "clips: gain down"),
    ],
)
def test_the_gain_check(levels_db: tuple[float, ...], clipped: bool, word: str):
    pedal = a_pedal()
    press(pedal, "menu")
    go_to(pedal, "input")
    for level_db in levels_db:
        sample = live(0.0, 1.0, clipped=clipped)
        play(pedal, type(sample)(sample.time_s, 0.0, level_db, clipped))
    assert pedal.screen().value == word
    press(pedal, "again")
    assert pedal.screen().value == "play hard"


def test_notes_while_the_menu_is_up_are_neither_judged_nor_logged():
    pedal = a_pedal()
    press(pedal, "menu")
    assert play(pedal, *ended(a_verdict())) == []
    press(pedal, "menu")
    assert pedal.screen().verdict is None


def test_actions_that_mean_nothing_in_the_menu_do_nothing():
    pedal = a_pedal()
    press(pedal, "menu")
    before = (pedal.screen(), pedal.memory())
    press(pedal, "next_mode", "next_key", "next_position", "skip", "cross_off", "model_begin", "model_end", "recall")
    assert (pedal.screen(), pedal.memory()) == before


def stamp(pedal: Pedal, feet: Feet, at_s: float, lasting_s: float) -> float:
    """One press of switch 1, told to the pedal as the loop tells it."""
    mode = lambda: "menu" if isinstance(pedal.screen(), MenuScreen) else pedal.settings.mode  # noqa: E731
    for order in feet.edge(at_s, 1, True, mode=mode()):
        pedal.step(order)
    for i in range(1, int(lasting_s / 0.01)):
        for order in feet.tick(at_s + 0.01 * i, mode=mode()):
            pedal.step(order)
    for order in feet.edge(at_s + lasting_s, 1, False, mode=mode()):
        pedal.step(order)
    for order in feet.tick(at_s + lasting_s + 0.05, mode=mode()):
        pedal.step(order)
    return at_s + lasting_s + 0.5


def test_one_switch_reaches_the_menu_changes_the_key_and_leaves():
    pedal, feet = a_pedal(), Feet(ActionMap(1))
    now_s = stamp(pedal, feet, 1.0, 1.5)  # a foot that stays
    assert isinstance(pedal.screen(), MenuScreen)
    now_s = stamp(pedal, feet, now_s, 0.8)  # long: change this row
    assert pedal.screen().editing
    now_s = stamp(pedal, feet, now_s, 0.1)  # short: the next value
    assert pedal.screen().value == "G#"
    now_s = stamp(pedal, feet, now_s, 0.8)  # long: take it
    stamp(pedal, feet, now_s, 1.5)  # a foot that stays: leave
    assert isinstance(pedal.screen(), WatchScreen)
    assert str(pedal.settings.key) == "G# minor pentatonic"


def test_the_set_up_is_asked_for_in_the_menu():
    """The pedal cannot do it itself: it says so to whoever runs it, and the menu is closed."""
    pedal = a_pedal()
    press(pedal, "menu")
    go_to(pedal, "set-up")
    assert (pedal.screen().value, pedal.set_up_wanted) == ("begin", False)
    press(pedal, "again")
    assert pedal.set_up_wanted
    assert isinstance(pedal.screen(), WatchScreen)


def editing(row: str, **settings: object) -> Pedal:
    """The menu, at a row that is being changed."""
    pedal = a_pedal(**settings)
    press(pedal, "menu", *["next_target"] * NAMES.index(row), "again")
    return pedal


def test_a_drone_that_was_pressed_while_a_row_was_open_stays_when_its_value_is_taken() -> None:
    pedal = editing("volume")
    press(pedal, "drone", "drone_chord", "next_target", "again")
    assert (pedal.settings.drone_on, pedal.settings.chord) == (True, 1)
    assert pedal.settings.drone_db > PedalState().drone_db


def test_what_was_heard_while_a_row_was_open_stays_when_its_value_is_taken() -> None:
    pedal = editing("volume")
    play(pedal, DelayHeard(1.0, 34.0), DevicesFound(1.1, ("USB",)))
    press(pedal, "next_target", "again")
    assert (pedal.settings.delay_ms, pedal.settings.devices) == (34.0, ("USB",))
    assert pedal.settings.drone_db > PedalState().drone_db


def test_taking_back_a_played_key_leaves_the_drone_that_was_pressed_since() -> None:
    pedal = a_pedal()
    press(pedal, "menu")
    play(pedal, live(0.0, 1.0), Onset(1.0), Rest(1.1, sound("A3")), live(sound("A3"), 1.7))
    assert str(pedal.settings.key) == "A minor pentatonic"
    press(pedal, "drone", "again")
    assert (str(pedal.settings.key), pedal.settings.drone_on) == ("G minor pentatonic", True)


def test_a_value_that_is_taken_after_the_bend_below_the_menu_changed_leads_nowhere_else() -> None:
    """As when a Round's time is over under the menu: nobody chose a bend."""
    pedal = a_pedal(mode="round", round_minutes=5)
    time_s = 0.0

    def wait(seconds: float) -> None:
        nonlocal time_s
        for _ in range(round(seconds / 0.1)):
            time_s += 0.1
            play(pedal, live(0.0, time_s))

    press(pedal, "next_target")
    while time_s < 285.0:  # somebody plays, and nothing that was asked for
        wait(5.0)
        play(pedal, Onset(time_s), *ended(a_verdict(kind="steady", verdict="steady", onset_s=time_s, end_s=time_s)))
        if pedal._mode.rung_shown is None:
            press(pedal, "next_target")
    assert pedal._mode.rung_shown is not None
    press(pedal, "menu", *["next_target"] * NAMES.index("tolerance"), "again")
    wait(30.0)
    press(pedal, "next_target", "again", "menu")
    assert pedal.asked == "end"
    assert pedal.settings.mode == "round"
