"""The pedal: moving between modes, what is remembered, and that nothing whatever makes it fall over."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playing import a_bend_as_events, a_note, a_pedal, a_verdict, ended, live, play, press, sound

from pedal.modes.input_events import Action, Command, DevicesFound, InputEvent, LivePitch, LogPaused, SwitchTrouble
from pedal.modes.names import ModeName
from pedal.modes.pedal import Answer, Pedal, PedalState
from pedal.modes.screen_model import MenuScreen
from pedal.notes.event import End, Fall, Hold, Onset, Rest, Rise
from pedal.notes.note import Ending, Shape
from pedal.pitch.reading import Reading
from pedal.screen.drawing import draw
from pedal.theory.neck import TUNINGS, Neck, parse_tuning, tuning_words
from pedal.theory.scale import SCALES, parse_key
from pedal.verdicts.verdict import Kind, Word

# -- moving about ------------------------------------------------------------------------------------------------------


def test_modes_are_walked_in_a_ring_in_the_players_order():
    pedal = a_pedal(mode="blind", modes=("blind", "watch", "tune"))
    seen = []
    for _ in range(4):
        seen.append(pedal.settings.mode)
        press(pedal, "next_mode")
    assert seen == ["blind", "watch", "tune", "blind"]
    press(pedal, "previous_mode", "previous_mode")
    assert pedal.settings.mode == "tune"


def test_keys_are_walked_by_semitones_spelled_as_a_player_would():
    pedal = a_pedal()
    keys = []
    for _ in range(12):
        press(pedal, "next_key")
        keys.append(str(pedal.settings.key.tonic))
    assert keys == ["G#", "A", "Bb", "B", "C", "C#", "D", "Eb", "E", "F", "F#", "G"]
    press(pedal, "previous_key")
    assert str(pedal.settings.key) == "F# minor pentatonic"


@pytest.mark.parametrize(
    ("key", "up", "back"),
    [("Gb minor pentatonic", "G", "Gb"), ("D# minor", "E", "D#"), ("C# major", "D", "C#"), ("Ab blues", "A", "Ab")],
)
def test_the_foot_finds_the_players_own_spelling_of_a_key_again(key: str, up: str, back: str) -> None:
    pedal = a_pedal(key=parse_key(key))
    press(pedal, "next_key")
    assert str(pedal.settings.key.tonic) == up
    press(pedal, "previous_key")
    assert pedal.settings.key == parse_key(key)
    press(pedal, "next_key")
    later = Pedal(PedalState(key=parse_key(key)), pedal.memory())
    for _ in range(11):
        press(later, "next_key")
    assert str(later.settings.key.tonic) == back


def test_another_scale_is_spelled_as_players_say_it() -> None:
    pedal = a_pedal(key=parse_key("Db major"))
    pedal._move(replace(pedal.settings, key=parse_key("C# minor")))
    press(pedal, "next_key", "previous_key")
    assert str(pedal.settings.key) == "C# minor"


def test_positions_are_walked_in_a_ring_of_those_the_neck_holds():
    pedal = a_pedal(mode="ladder")
    for position in (2, 3, 4, 5, 1):
        press(pedal, "next_position")
        assert pedal.settings.position == position
    press(pedal, "previous_position")
    assert pedal.settings.position == 5


@pytest.mark.parametrize(
    ("key", "frets", "capo", "held", "lost", "nearest"),
    [
        ("G minor pentatonic", 12, 0, (1, 2, 3), 5, 3),
        ("G minor pentatonic", 15, 5, (3, 4, 5), 1, 3),
        ("C minor pentatonic", 12, 0, (1, 4, 5), 2, 1),
        ("C minor pentatonic", 12, 0, (1, 4, 5), 3, 4),
        ("E minor pentatonic", 15, 2, (1, 3, 4, 5), 2, 1),  # of two as near the lower one
    ],
)
def test_a_position_off_the_neck_becomes_the_nearest_on_it(
    key: str, frets: int, capo: int, held: tuple[int, ...], lost: int, nearest: int
):
    pedal = a_pedal(key=parse_key(key), neck=Neck(capo=capo, frets=frets), position=lost)
    assert pedal.settings.held_positions() == held, "else this test says nothing"
    assert pedal.settings.position == nearest


def test_a_pedal_tells_when_there_is_something_to_remember():
    pedal = a_pedal(mode="ladder")
    assert pedal.step(Command(0.0, "next_mode")).remember
    assert not pedal.step(Command(0.0, "again")).remember
    assert pedal.step(live(0.0, 1.0)) == Answer()


def test_a_try_on_the_ladder_is_worth_remembering():
    pedal = a_pedal(mode="ladder")
    rung = pedal.screen()
    answers = [pedal.step(h) for h in ended(a_verdict(rest_note=rung.note, target_note=rung.target))]
    assert answers[-1].remember


# -- the drone ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "sound", "steps", "hz"),
    [
        # Frequencies of the equal-tempered scale at A4 = 440 Hz, handbook table (C4 261.63, G3 196.00, Bb3 233.08 ...).
        ("G minor pentatonic", "root", 0, (196.00,)),
        ("G minor pentatonic", "fifth", 0, (196.00, 293.66)),
        ("C major", "octave", 0, (130.81, 261.63)),
        ("G minor pentatonic", "minor", 0, (196.00, 233.08, 293.66)),
        ("A major", "major", 0, (220.00, 277.18, 329.63)),
        ("E blues", "dominant", 0, (164.81, 207.65, 246.94, 293.66)),
        ("G minor pentatonic", "root", 1, (130.81,)),
        ("G minor pentatonic", "root", 2, (146.83,)),
        ("G minor pentatonic", "root", 3, (196.00,)),
    ],
)
def test_what_the_drone_plays(key: str, sound: str, steps: int, hz: tuple[float, ...]):
    pedal = a_pedal(key=parse_key(key), drone=sound)
    press(pedal, *["drone_chord"] * steps)
    answer = pedal.step(Command(0.0, "drone"))
    assert answer.drone is not None
    assert answer.drone.hz == pytest.approx(hz, abs=0.005)
    assert pedal.screen().status.drone
    assert pedal.aim.drone


def test_the_drone_follows_key_and_a4_and_is_ordered_only_when_it_changes():
    pedal = a_pedal(a4_hz=442.0)
    assert pedal.step(Command(0.0, "drone")).drone.hz == pytest.approx((196.0 * 442 / 440,), abs=0.005)
    assert pedal.step(Command(0.0, "next_mode")).drone is None
    assert pedal.step(Command(0.0, "next_key")).drone is not None
    assert pedal.step(Command(0.0, "drone")).drone.hz == ()


def test_the_drone_does_not_come_back_by_itself_after_a_power_cut():
    pedal = a_pedal()
    press(pedal, "drone")
    assert Pedal(PedalState(), pedal.memory()).drone.hz == ()


# -- the margins -------------------------------------------------------------------------------------------------------


def test_clipping_shows_long_enough_to_be_seen():
    pedal = a_pedal()
    play(pedal, live(0.0, 1.0, clipped=True), live(0.0, 2.0))
    assert pedal.screen().status.clipped
    play(pedal, live(0.0, 2.6))
    assert not pedal.screen().status.clipped


def test_lost_blocks_are_counted_and_forgiven():
    pedal = a_pedal()
    play(pedal, live(0.0, 1.0, lost=True), live(0.0, 1.1, lost=True), live(0.0, 5.0))
    assert pedal.screen().status.lost_blocks == 2
    play(pedal, live(0.0, 12.0))
    assert pedal.screen().status.lost_blocks == 0


def test_an_input_that_is_silent_for_five_seconds_is_marked():
    pedal = a_pedal()
    silence = [LivePitch(t, 0.0, -96.0) for t in (1.0, 3.0, 5.9)]
    play(pedal, *silence)
    assert not pedal.screen().status.silent_input
    play(pedal, LivePitch(6.1, 0.0, -96.0))
    assert pedal.screen().status.silent_input
    play(pedal, LivePitch(6.2, 0.0, -50.0))
    assert not pedal.screen().status.silent_input


def test_a_paused_log_and_a_bad_switch_are_marked_until_they_are_well():
    pedal = a_pedal()
    play(pedal, LogPaused(1.0, True), SwitchTrouble(1.0, 2, "stuck"), SwitchTrouble(1.5, 1, "noisy"))
    assert (pedal.screen().status.log_paused, pedal.screen().status.bad_switch) == (True, 1)
    play(pedal, LogPaused(2.0, False), SwitchTrouble(2.0, 1, "well"), SwitchTrouble(2.0, 2, "well"))
    assert (pedal.screen().status.log_paused, pedal.screen().status.bad_switch) == (False, None)


# -- memory ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "damaged"),
    [
        ("mode", "wach"), ("mode", 3), ("key", "H minor"), ("key", True), ("tuning", "E2 A2"), ("tuning", "six"),
        ("capo", -1), ("capo", 40), ("capo", "2"), ("capo", True), ("position", 0), ("position", 9), ("position", 1.5),
        ("a4_hz", 0.0), ("a4_hz", -440.0), ("a4_hz", math.nan), ("a4_hz", math.inf), ("a4_hz", "440"),
        ("true_cents", 0.0), ("near_cents", 1.0), ("order", "random"), ("crossed_off", "3/7"), ("crossed_off", "a/b/c"),
        ("crossed_off", 7), ("drone", "organ"), ("chord", 3), ("chord", -1), ("density", ""), ("device", 5),
        ("rung", -1), ("rung", "2"), ("rungs", "true true"), ("rungs", 5), ("rungs", " ".join(["won"] * 12)),
        ("blind", 99), ("blind", "x"), ("blind", True),
    ],
)  # fmt: skip
def test_a_damaged_value_is_passed_over_and_the_others_stand(name: str, damaged: object):
    good = a_pedal(mode="ladder", position=3, a4_hz=442.0)
    press(good, "skip", "cross_off")
    pedal = Pedal(PedalState(), good.memory() | {name: damaged})
    kept = {word: value for word, value in pedal.memory().items() if word not in (name, "rung", "rungs", "rungs_of")}
    wanted = {word: value for word, value in good.memory().items() if word in kept}
    if name in ("key", "tuning", "position"):  # the position follows them
        kept.pop("position", None), wanted.pop("position", None)
        kept.pop("blind", None), wanted.pop("blind", None)
    assert kept == wanted
    draw(pedal.screen(), density="glance", height=64)


@pytest.mark.parametrize("memory", [{}, {"": ""}, {"mode": None}, {"key": []}, {"rungs": {}}, {"unknown": 1}])
def test_rubbish_is_as_good_as_nothing(memory: dict):
    assert Pedal(PedalState(), memory).memory() == a_pedal().memory()


def test_memory_is_plain_words():
    assert all(type(value) in (str, int, float, bool) for value in a_pedal(mode="ladder").memory().values())


@pytest.mark.parametrize("words", TUNINGS.values())
def test_tunings_survive_their_words(words: str):
    assert parse_tuning(tuning_words(parse_tuning(words))) == parse_tuning(words)


# -- anything at all ---------------------------------------------------------------------------------------------------

times_s = st.floats(0.0, 1e5)
pitches_hz = st.sampled_from([0.0, 82.4, 98.0, 116.5, 233.1, 246.9, 466.2, 1400.0]) | st.floats(30.0, 2000.0)
cents = st.none() | st.floats(-500.0, 500.0)
names = st.sampled_from([None, "G2", "Bb2", "C3", "Bb3", "C4", "D4", "F4", "G4"])
verdicts = st.builds(
    a_verdict,
    end_s=times_s, rest_note=names, target_note=names, shape=st.sampled_from(get_args(Shape)),
    kind=st.sampled_from(get_args(Kind)), verdict=st.sampled_from(get_args(Word)), error_cents=cents, bend_cents=cents,
    rise_s=st.none() | st.floats(0, 5), hold_s=st.none() | st.floats(0, 20), ending=st.sampled_from(get_args(Ending)),
    vibrato_hz=st.floats(0, 15), vibrato_cents=st.floats(0, 200),
)  # fmt: skip
happenings = st.one_of(
    st.builds(Command, times_s, st.sampled_from(get_args(Action))),
    st.builds(Command, times_s, st.sampled_from(["menu", "again", "next_target", "next_mode"])),
    st.builds(LivePitch, times_s, pitches_hz, st.floats(-120, 0), st.booleans(), st.booleans()),
    st.builds(Reading, times_s, pitches_hz, st.floats(0, 1), st.floats(-120, 0), times_s),
    st.builds(Onset, times_s),
    st.builds(Rest, times_s, st.floats(30.0, 2000.0)),
    st.builds(Hold, times_s, st.floats(30.0, 2000.0)),
    st.builds(Rise, times_s),
    st.builds(Fall, times_s),
    st.builds(End, times_s, st.just(a_note())),
    verdicts,
    st.builds(SwitchTrouble, times_s, st.integers(1, 4), st.sampled_from(["stuck", "noisy", "well"])),
    st.builds(LogPaused, times_s, st.booleans()),
    st.builds(DevicesFound, times_s, st.lists(st.text(max_size=30), max_size=3).map(tuple)),
)
states = st.builds(
    PedalState,
    key=st.builds(
        lambda tonic, scale: parse_key(f"{tonic} {scale}"),
        st.sampled_from(["G", "Bb", "F#", "Db"]), st.sampled_from(list(SCALES)),
    ),
    neck=st.builds(
        lambda words, capo, frets: Neck(parse_tuning(words), capo, frets),
        st.sampled_from(list(TUNINGS)), st.integers(0, 4), st.sampled_from([5, 12, 22, 24]),
    ),
    a4_hz=st.sampled_from([415.0, 440.0, 442.0]),
    position=st.integers(1, 7),
    mode=st.sampled_from(get_args(ModeName)),
    order=st.sampled_from(["in_order", "by_need"]),
    density=st.sampled_from(["glance", "close"]),
)  # fmt: skip


@given(states, st.lists(happenings, max_size=40))
@settings(max_examples=200, deadline=None)
def test_whatever_happens_the_pedal_stands_and_can_be_drawn_and_restored(start: PedalState, played: list[InputEvent]):
    pedal = Pedal(start)
    for event in played:
        answer = pedal.step(event)
        assert all(entry.mode in get_args(ModeName) for entry in answer.entries)
        pedal.screen()
    draw(pedal.screen(), density=pedal.settings.density, height=64)
    memory = pedal.memory()
    later = Pedal(start, memory)
    assert later.memory() == memory
    assert replace(later.settings, drone_on=False, devices=()) == replace(pedal.settings, drone_on=False, devices=())
    if not isinstance(pedal.screen(), MenuScreen) and pedal.settings.mode != "recall":  # its page is not remembered
        assert type(later.screen()) is type(pedal.screen())
    assert replace(later.aim, drone=False) == replace(pedal.aim, drone=False)


@given(states, st.lists(happenings, max_size=25))
@settings(max_examples=60, deadline=None)
def test_the_same_history_gives_the_same_answers(start: PedalState, played: list[InputEvent]):
    one, other = Pedal(start), Pedal(start)
    assert [one.step(h) for h in played] == [other.step(h) for h in played]
    assert one.screen() == other.screen()


@given(st.lists(st.sampled_from(["next_mode", "previous_mode", "menu", "recall", "back", "next_position"]), max_size=8))
@settings(max_examples=50, deadline=None)
def test_moving_about_orders_no_sound_but_blinds_own(moves: list[Action]):
    pedal = a_pedal(modes=("tune", "watch", "curl", "ladder", "echo", "recall"))
    assert [pedal.step(Command(0.0, move)).drone for move in moves] == [None] * len(moves)


def test_a_note_that_sounds_goes_on_in_the_mode_the_player_moves_to():
    pedal = a_pedal(mode="tune", modes=("tune", "watch", "curl"))
    play(pedal, *a_bend_as_events("C4", 150.0))
    press(pedal, "next_mode")
    assert (pedal.screen().note, pedal.screen().string.now_cents) == ("C4", pytest.approx(150.0))
    press(pedal, "menu")
    play(pedal, End(2.0, a_note()), live(sound("C4"), 2.1))
    press(pedal, "menu")
    assert pedal.screen().string.now_cents is None


@pytest.mark.parametrize("name", ["watch", "curl"])
def test_a_note_that_was_plucked_in_another_mode_is_judged_by_none(name: ModeName):
    """It was logged as a try at what nobody had asked for when it was plucked; the next pluck counts."""
    pedal = a_pedal(mode="tune", modes=("tune", name))
    play(pedal, Onset(1.0))
    press(pedal, "next_mode")
    assert pedal.settings.mode == name
    assert play(pedal, *ended(a_verdict(onset_s=1.0, end_s=2.0))) == []
    play(pedal, Onset(3.0))
    assert len(play(pedal, *ended(a_verdict(onset_s=3.0, end_s=4.0)))) == 1


def test_back_leads_out_of_recall_however_often_it_was_asked_for():
    pedal = a_pedal(mode="curl")
    press(pedal, "recall", "recall", "back")
    assert pedal.settings.mode == "curl"
