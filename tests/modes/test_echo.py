"""Echo: a model bend, and how alike the bends after it are."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from playing import a_bend_as_events, a_curl, a_pedal, a_verdict, ended, live, play, press

from pedal.modes.bend_profile import BendProfile, bend_profile_of, compare
from pedal.modes.screen_model import EchoScreen, ScreenModel
from pedal.notes.event import Onset
from pedal.screen.drawing import lay_out

MODEL = {"bend_cents": 200.0, "rise_s": 0.2, "hold_s": 0.5, "vibrato_hz": 5.0, "vibrato_cents": 20.0}


def a_pedal_with_a_model(**model: object):
    pedal = a_pedal(mode="echo")
    press(pedal, "model_begin")
    play(pedal, *a_bend_as_events("C4", 200.0), *ended(a_verdict(**(MODEL | model))))
    press(pedal, "model_end")
    return pedal


def test_before_a_model_bends_are_not_measured():
    pedal = a_pedal(mode="echo")
    assert play(pedal, *ended(a_verdict())) == []
    screen = pedal.screen()
    assert isinstance(screen, EchoScreen)
    assert (screen.stage, screen.likeness) == ("empty", None)


@pytest.mark.parametrize("mode", ["echo", "lick"])
def test_it_says_which_switch_is_held_for_a_model(mode: str):
    """With two, the first one held goes back a mode."""
    pedal = a_pedal(mode=mode)
    assert pedal.screen().switch == 0
    pedal.know_switches({"echo": 2, "lick": 3})
    screen = pedal.screen()
    assert screen.switch == {"echo": 2, "lick": 3}[mode]
    unknown = replace(screen, switch=0)
    for density, height, words, without in (
        ("glance", 64, f"HOLD {screen.switch}", "HOLD"),
        ("close", 64, f"HOLD {screen.switch}, PLAY", "HOLD AND PLAY"),
        ("glance", 32, f"HOLD {screen.switch}+PLAY", "HOLD+PLAY"),
    ):
        assert words in written(screen, density, height)
        assert without in written(unknown, density, height)


def written(screen: ScreenModel, density: str, height: int = 64) -> list[str]:
    return [one.words for one in lay_out(screen, density=density, height=height).written]


def test_the_model_is_what_is_bent_while_the_switch_is_held():
    pedal = a_pedal(mode="echo")
    press(pedal, "model_begin")
    assert pedal.screen().stage == "recording"
    assert play(pedal, *a_bend_as_events("C4", 190.0), *ended(a_verdict(**MODEL))) == []
    assert pedal.screen().stage == "recording"
    press(pedal, "model_end")
    assert (pedal.screen().stage, pedal.screen().model, pedal.screen().likeness) == ("ready", "C4 +200", None)


def test_a_model_that_still_sounds_when_the_foot_leaves_is_taken_when_it_ends():
    pedal = a_pedal(mode="echo")
    press(pedal, "model_begin")
    play(pedal, *a_bend_as_events("C4", 190.0))
    press(pedal, "model_end")
    assert pedal.screen().stage == "recording"
    play(pedal, *ended(a_verdict(**MODEL)))
    assert pedal.screen().stage == "ready"


def test_a_model_that_is_hammered_before_it_is_bent_is_taken_though_the_foot_has_left():
    """The fault: the first tone of the pluck used up the turn, and the bend was nothing, or a copy of the old model."""
    pedal = a_pedal_with_a_model()
    press(pedal, "model_begin")
    play(pedal, Onset(9.0))
    press(pedal, "model_end")
    steady = a_verdict(kind="steady", bend_cents=None)
    bend = a_verdict(**(MODEL | {"bend_cents": 300.0, "begun_by": "hammer_on"}))
    assert play(pedal, *ended(steady), *ended(bend)) == []
    assert (pedal.screen().stage, pedal.screen().model) == ("ready", "C4 +300")


def test_a_pluck_without_a_bend_is_waited_for_no_longer_than_it_sounds():
    pedal = a_pedal_with_a_model()
    press(pedal, "model_begin")
    play(pedal, Onset(9.0))
    press(pedal, "model_end")
    play(pedal, *ended(a_verdict(kind="steady", bend_cents=None)), live(0.0, 10.0))
    assert (pedal.screen().stage, pedal.screen().model) == ("ready", "C4 +200")


@pytest.mark.parametrize("leaves", ["while it rings", "after it"])
def test_a_copy_that_rings_when_the_foot_comes_down_is_no_model(leaves: str):
    pedal = a_pedal_with_a_model()
    play(pedal, Onset(9.0))
    press(pedal, *(["model_begin", "model_end"] if leaves == "while it rings" else ["model_begin"]))
    (entry,) = play(pedal, *ended(a_verdict(**(MODEL | {"bend_cents": 150.0}))))
    press(pedal, "model_end")
    assert (entry.mode, pedal.screen().stage, pedal.screen().model) == ("echo", "ready", "C4 +200")


def test_a_foot_that_leaves_without_a_bend_keeps_the_old_model():
    pedal = a_pedal_with_a_model()
    press(pedal, "model_begin", "model_end")
    assert (pedal.screen().stage, pedal.screen().model) == ("ready", "C4 +200")


@pytest.mark.parametrize("away", ["next_mode", "previous_mode", "recall"])
def test_another_mode_under_the_held_switch_ends_the_recording(away: str):
    pedal = a_pedal_with_a_model()
    press(pedal, "model_begin", away, "model_end", "back")
    assert (pedal.screen().stage, pedal.screen().model) == ("ready", "C4 +200")
    assert len(play(pedal, *ended(a_verdict(**(MODEL | {"bend_cents": 150.0}))))) == 1
    assert pedal.screen().model == "C4 +200"


@pytest.mark.parametrize("presses", [("model_begin", "menu", "model_end"), ("model_begin", "model_end", "menu")])
def test_what_rings_under_the_menu_is_no_model_nor_what_comes_after_it(presses: tuple[str, ...]):
    pedal = a_pedal_with_a_model()
    play(pedal, *a_bend_as_events("C4", 190.0))
    press(pedal, *presses)
    play(pedal, *ended(a_verdict(**(MODEL | {"bend_cents": 150.0}))))
    press(pedal, "menu")
    play(pedal, *ended(a_verdict(**(MODEL | {"bend_cents": 170.0}))))
    assert (pedal.screen().stage, pedal.screen().model) == ("ready", "C4 +200")


def test_a_string_that_rings_on_over_the_menu_does_not_become_the_model():
    pedal = a_pedal_with_a_model()
    press(pedal, "model_begin")
    play(pedal, *a_bend_as_events("C4", 190.0))
    press(pedal, "menu", "model_end", "menu")
    play(pedal, *ended(a_verdict(**(MODEL | {"bend_cents": 150.0}))))
    assert pedal.screen().model == "C4 +200"


def test_a_slide_is_no_model():
    pedal = a_pedal(mode="echo")
    press(pedal, "model_begin")
    play(pedal, *ended(a_verdict(kind="slide", verdict="unclear")))
    press(pedal, "model_end")
    assert pedal.screen().stage == "empty"


def test_the_last_bend_of_the_hold_is_the_model():
    pedal = a_pedal(mode="echo")
    press(pedal, "model_begin")
    play(pedal, *ended(a_verdict(**MODEL)), *ended(a_verdict(rest_note="F4", bend_cents=188.0)))
    press(pedal, "model_end")
    assert pedal.screen().model == "F4 +188"


def test_a_perfect_echo_is_100_and_is_logged():
    pedal = a_pedal_with_a_model()
    entries = play(pedal, *ended(a_verdict(**MODEL)))
    assert [entry.mode for entry in entries] == ["echo"]
    screen = pedal.screen()
    assert (screen.likeness, screen.height_cents, screen.rise_percent, screen.ending_same) == (100, 0.0, 0.0, True)


def test_differences_are_the_players_less_the_models():
    pedal = a_pedal_with_a_model()
    play(
        pedal,
        *ended(a_verdict(bend_cents=188.0, rise_s=0.3, hold_s=0.25, vibrato_hz=5.0, vibrato_cents=30.0, ending="cut")),
    )
    screen = pedal.screen()
    assert screen.height_cents == pytest.approx(-12.0)
    assert screen.rise_percent == pytest.approx(50.0)
    assert screen.hold_percent == pytest.approx(-50.0)
    assert screen.vibrato_percent == pytest.approx(50.0)
    assert screen.ending_same is False
    assert 20 < screen.likeness < 50


def test_the_post_stands_at_the_models_height():
    pedal = a_pedal_with_a_model(bend_cents=35.0, kind="curl")
    play(pedal, *a_bend_as_events("Bb3", 20.0))
    picture = pedal.screen().string
    assert (picture.target_cents, picture.zone_cents) == (35.0, None)
    assert picture.now_cents == pytest.approx(20.0)


def test_a_curl_can_be_a_model_and_its_ending_counts():
    pedal = a_pedal_with_a_model(kind="curl", ending="cut_sharp")
    play(pedal, *ended(a_curl(**MODEL, ending="released", verdict="released")))
    assert (pedal.screen().ending_same, pedal.screen().likeness) == (False, 71)


def test_again_wipes_the_comparison_and_keeps_the_model():
    pedal = a_pedal_with_a_model()
    play(pedal, *ended(a_verdict(**MODEL)))
    press(pedal, "again")
    assert (pedal.screen().stage, pedal.screen().likeness) == ("ready", None)


def test_an_onset_while_the_model_sounds_does_not_confuse_it():
    pedal = a_pedal(mode="echo")
    press(pedal, "model_begin")
    play(pedal, Onset(1.0))
    press(pedal, "model_end")
    play(pedal, Onset(2.0), *ended(a_verdict(**MODEL)))
    assert pedal.screen().stage == "ready"


# -- the likeness ------------------------------------------------------------------------------------------------------

gaits = st.builds(
    BendProfile,
    height_cents=st.floats(-50, 450),
    rise_s=st.floats(0, 3),
    hold_s=st.floats(0, 10),
    vibrato_hz=st.sampled_from([0.0]) | st.floats(1, 12),
    vibrato_cents=st.floats(0, 100),
    ending=st.sampled_from(["cut_sharp", "released", "rang_out", "cut"]),
)


@given(gaits)
def test_a_bend_is_100_like_itself(profile: BendProfile):
    assert compare(profile, profile).figure == 100.0


@given(gaits, gaits)
def test_likeness_lies_from_0_to_100_and_is_the_same_both_ways(one: BendProfile, other: BendProfile):
    figure = compare(one, other).figure
    assert 0.0 <= figure <= 100.0
    assert compare(other, one).figure == pytest.approx(figure)


def changed(profile: BendProfile, field: str, step: float) -> BendProfile:
    values = {name: getattr(profile, name) for name in BendProfile.__slots__}
    return BendProfile(**(values | {field: values[field] + step}))


@given(
    gaits,
    gaits,
    st.sampled_from(["height_cents", "rise_s", "hold_s", "vibrato_cents"]),
    st.floats(0, 5),
    st.floats(0, 5),
)
def test_a_greater_difference_in_any_part_is_less_alike(
    model: BendProfile, copy: BendProfile, field: str, near: float, more: float
):
    at_the_model = BendProfile(
        **({n: getattr(copy, n) for n in BendProfile.__slots__} | {field: getattr(model, field)})
    )
    one = compare(model, changed(at_the_model, field, near)).figure
    further = compare(model, changed(at_the_model, field, near + more)).figure
    assert further <= one <= compare(model, at_the_model).figure
    if more > 0.01 and one > 1e-6:
        assert further < one


@given(gaits, st.floats(1.0, 8.0), st.floats(1.0, 1.4), st.floats(1.0, 1.4))
def test_a_greater_difference_in_rate_is_less_alike(model: BendProfile, hz: float, near: float, more: float):
    base = {n: getattr(model, n) for n in BendProfile.__slots__}
    model = BendProfile(**(base | {"vibrato_hz": hz}))
    one, further = (BendProfile(**(base | {"vibrato_hz": hz * factor})) for factor in (near, near * more))
    still = BendProfile(**(base | {"vibrato_hz": 0.0}))
    assert compare(model, still).figure <= compare(model, further).figure <= compare(model, one).figure <= 100.0


@given(gaits)
def test_another_ending_is_less_alike(profile: BendProfile):
    base = {n: getattr(profile, n) for n in BendProfile.__slots__}
    other = BendProfile(**(base | {"ending": "cut" if profile.ending != "cut" else "released"}))
    assert compare(profile, other).figure == pytest.approx(100.0 / 2**0.5)


@pytest.mark.parametrize(
    ("field", "step", "figure"),
    [("height_cents", 25.0, 50.0), ("vibrato_cents", 50.0, 50.0), ("height_cents", 2.5, 93.3), ("rise_s", 0.23, 70.7)],
)
def test_worked_values(field: str, step: float, figure: float):
    model = BendProfile(200.0, 0.2, 0.5, 5.0, 20.0, "cut")
    assert compare(model, changed(model, field, step)).figure == pytest.approx(figure, abs=0.05)


def test_only_bends_have_a_profile():
    assert bend_profile_of(a_verdict()) is not None
    assert bend_profile_of(a_verdict(kind="steady")) is None
    assert bend_profile_of(a_verdict(bend_cents=None)) is None
