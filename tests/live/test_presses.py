"""The README's presses are those of the default maps, and the terminal's keys are the four it speaks of."""

from __future__ import annotations

from pathlib import Path

from pedal.modes.action_map import DEFAULTS

README = " ".join((Path(__file__).parents[2] / "README.md").read_text().split())


def test_what_four_switches_do_differently_is_what_the_readme_says() -> None:
    changed = {line: action for line, action in DEFAULTS[4].items() if DEFAULTS[2].get(line) != action}
    assert changed == {
        "2_long": "previous_target",
        "ladder 2_long": "previous_target",
        "ladder 2_3_both": "cross_off",
        "round 2_long": "previous_target",
        "round 2_3_both": "cross_off",
        "3_short": "next_position",
        "3_long": "next_key",
        "4_short": "drone",
        "4_long": "drone_chord",
    }
    assert (
        "With four, as the keys of the terminal are: 2 long goes back a target (a Round has no way back), "
        "2 and 3 at once cross the bend off in Ladder and Round, 3 walks through positions (long: keys), "
        "4 switches the drone (long: its chord); all else as with two." in README
    )
