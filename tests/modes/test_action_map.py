"""What a press asks for: the default maps, the player's own lines, and the refusals."""

from __future__ import annotations

from itertools import combinations
from typing import get_args

import pytest

from pedal.modes.action_map import DEFAULTS, SCREENS, ActionMap, ActionMapError
from pedal.modes.feet import Feet
from pedal.modes.gesture import GestureTimes
from pedal.modes.input_events import Action, Command, SwitchTrouble
from pedal.modes.names import ModeName


@pytest.mark.parametrize("switches", DEFAULTS)
def test_a_default_map_written_out_by_the_player_is_that_map(switches: int):
    written, default = ActionMap(switches, DEFAULTS[switches]), ActionMap(switches)
    gestures = [(kind, (n,)) for kind in ("short", "long", "double", "held") for n in range(1, switches + 1)]
    gestures += [("both", pair) for pair in combinations(range(1, switches + 1), 2)]
    for screen in SCREENS:
        assert written.wishes(screen) == default.wishes(screen)
        for gesture in gestures:
            assert written.meaning(*gesture, screen) == default.meaning(*gesture, screen)


@pytest.mark.parametrize("switches", [1, 2, 3, 4])
def test_whatever_stands_on_the_floor_reaches_the_next_target_the_next_mode_and_the_menu(switches: int):
    actions = ActionMap(switches)
    reached = {actions.meaning(kind, (1,), "watch") for kind in ("short", "long", "held")}
    reached |= {actions.meaning("both", (1, 2), "watch")}
    assert {"next_target", "next_mode", "menu"} <= reached


@pytest.mark.parametrize("switches", [1, 2, 3, 4])
def test_the_menu_is_walked_chosen_in_and_left(switches: int):
    actions = ActionMap(switches)
    gestures = [(kind, (n,)) for kind in ("short", "long", "held") for n in range(1, switches + 1)] + [("both", (1, 2))]
    assert {"next_target", "again", "menu"} <= {actions.meaning(*gesture, "menu") for gesture in gestures}


@pytest.mark.parametrize("switches", [2, 3, 4])
def test_modes_are_walked_both_ways(switches: int):
    feet = Feet(ActionMap(switches))
    feet.edge(1.0, 1, True, mode="watch")
    assert feet.tick(1.9, mode="watch") == []
    assert feet.edge(2.0, 1, False, mode="watch") + feet.tick(2.1, mode="watch") == [Command(2.0, "next_mode")]
    feet.edge(3.0, 1, True, mode="curl")
    assert feet.tick(4.3, mode="curl") == [Command(4.2, "previous_mode")]


def test_one_switch_alone_does_all_of_it():
    actions = ActionMap(1)
    reached = {actions.meaning(kind, (1,), "menu") for kind in ("short", "long", "held")}
    assert reached == {"next_target", "again", "menu"}
    assert actions.meaning("held", (1,), "watch") == "menu"
    assert actions.meaning("held", (1,), "echo") == "model_begin"


def test_with_four_switches_the_press_that_goes_back_strikes_no_bend_out():
    """The README says that 2 long goes back a target; it crossed the bend off for good where one goes back most."""
    four = ActionMap(4)
    for mode in ("tune", "watch", "curl", "ladder", "blind", "round", "recall"):
        assert four.meaning("long", (2,), mode) == "previous_target"
        crosses_off = mode in ("ladder", "round")
        assert (four.meaning("both", (2, 3), mode) == "cross_off") == crosses_off
    for fewer in (2, 3):
        assert ActionMap(fewer).meaning("long", (2,), "ladder") == "cross_off"
        assert ActionMap(fewer).meaning("long", (2,), "round") == "cross_off"
    feet = Feet(four)
    feet.edge(1.0, 2, True, mode="ladder")
    assert feet.edge(1.03, 3, True, mode="ladder") + feet.tick(1.1, mode="ladder") == [Command(1.03, "cross_off")]


def test_only_what_means_something_is_looked_for():
    two = ActionMap(2)
    assert two.wishes("watch").held == {1}
    assert (two.wishes("echo").held, two.wishes("echo").long) == ({1, 2}, {1})
    assert two.wishes("menu").held == frozenset(), "in the menu a long press answers while the foot is down"
    assert two.wishes("watch").double == frozenset()
    assert two.wishes("watch").both == {(1, 2)}


def test_the_players_lines_stand_over_the_defaults_and_none_silences_one():
    actions = ActionMap(2, {"1_short": "next_key", "2_long": "none", "2_double": "drone"})
    assert actions.meaning("short", (1,), "watch") == "next_key"
    assert actions.meaning("long", (2,), "ladder") is None
    assert actions.meaning("double", (2,), "watch") == "drone"
    assert actions.wishes("ladder").long == {1}


def test_a_remapped_pedal_can_still_be_set_in_the_menu():
    actions = ActionMap(2, {"1_short": "next_key", "2_short": "next_position"})
    assert (actions.meaning("short", (1,), "menu"), actions.meaning("short", (2,), "menu")) == ("next_target", "again")
    assert ActionMap(2, {"menu 1_short": "previous_target"}).meaning("short", (1,), "menu") == "previous_target"


@pytest.mark.parametrize(
    ("switches", "chosen", "sentence"),
    [
        (2, {"1_tap": "drone"}, r"'1_tap' is no gesture: give a switch and short, long, double or held"),
        (2, {"1_2_short": "drone"}, r"'1_2_short' is no gesture"),
        (2, {"0_short": "drone"}, r"'0_short' is no gesture"),
        (2, {"3_short": "drone"}, r"'3_short' names switch 3, but there are 2"),
        (1, {"1_2_both": "menu"}, r"'1_2_both' names switch 2, but there is 1"),
        (0, {"1_short": "menu"}, r"'1_short' names switch 1, but there are none"),
        (2, {"2_1_both": "menu"}, r"'2_1_both' must name two switches, the lower first, such as 1_2_both"),
        (2, {"1_1_both": "menu"}, r"'1_1_both' must name two switches"),
        (2, {"1_short": "dron"}, r"'1_short' asks for 'dron', which is no action: choose .* \(perhaps drone\)"),
        (2, {"1_short": ""}, r"'1_short' asks for '', which is no action"),
        (2, {"laddr 1_short": "skip"}, r"'laddr 1_short' names no mode: choose .* \(perhaps ladder\)"),
        (5, {}, r"5 switches are more than this pedal reads: give 0 to 4"),
    ],
)
def test_a_line_that_means_nothing_is_refused(switches: int, chosen: dict, sentence: str):
    with pytest.raises(ActionMapError, match=sentence):
        ActionMap(switches, chosen)


def test_every_mode_may_have_its_own_lines():
    assert set(SCREENS) == {*get_args(ModeName), "menu"}
    for action in get_args(Action):
        assert ActionMap(1, {"1_short": action}).meaning("short", (1,), "tune") == action


# -- feet: recogniser and map together ---------------------------------------------------------------------------------


def test_a_press_becomes_a_command_with_the_time_of_the_press():
    feet = Feet(ActionMap(2))
    assert feet.edge(1.0, 1, True, mode="watch") == []
    assert feet.edge(1.2, 1, False, mode="watch") == []
    assert feet.tick(1.25, mode="watch") == [Command(1.2, "next_target")]


def test_a_held_model_ends_with_the_foot_even_if_the_mode_has_changed_meanwhile():
    feet = Feet(ActionMap(2))
    feet.edge(1.0, 2, True, mode="echo")
    assert feet.tick(1.7, mode="echo") == [Command(1.6, "model_begin")]
    feet.edge(3.0, 2, False, mode="recall")
    assert feet.tick(3.1, mode="recall") == [Command(3.0, "model_end")]


def test_the_same_press_is_long_in_a_mode_without_a_model():
    feet = Feet(ActionMap(2))
    feet.edge(1.0, 2, True, mode="watch")
    assert feet.tick(1.7, mode="watch") == [Command(1.6, "drone")]
    feet.edge(3.0, 2, False, mode="watch")
    assert feet.tick(3.1, mode="watch") == []


def test_trouble_passes_through_to_the_pedal():
    feet = Feet(ActionMap(1), GestureTimes(stuck_s=5.0))
    feet.edge(1.0, 1, True, mode="watch")
    feet.tick(2.3, mode="watch")
    assert feet.tick(6.5, mode="watch") == [SwitchTrouble(6.5, 1, "stuck")]


@pytest.mark.parametrize(
    ("switches", "chosen", "echo", "lick"),
    [
        (2, {}, 2, 2), (4, {}, 2, 2), (1, {}, 0, 0), (0, {}, 0, 0),
        (3, {"lick 3_held": "model_begin", "lick 2_held": "none"}, 2, 3),
        (2, {"2_held": "none"}, 0, 0), (2, {"2_held": "none", "echo 2_short": "model_begin"}, 0, 0),
    ],
)  # fmt: skip
def test_it_knows_which_switch_is_held_for_a_model(switches: int, chosen: dict, echo: int, lick: int):
    """One alone cannot be taken for another."""
    actions = ActionMap(switches, chosen)
    assert [actions.held_for("model_begin", mode) for mode in ("echo", "lick", "watch")] == [echo, lick, 0]
