"""The README's presses are those of the default maps, and the terminal's keys are the four it speaks of."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pedal.live.assembly import Controls, assemble
from pedal.live.capture import Capture
from pedal.live.log_writer import LogWriter
from pedal.live.printer import Printer
from pedal.modes.action_map import DEFAULTS
from pedal.modes.input_events import Command
from pedal.modes.pedal import Pedal, PedalState
from pedal.settings.load import loads
from tests.live.doubles import ScriptedSource

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


def test_the_pedal_is_told_which_switch_is_held_for_a_model() -> None:
    chosen = loads("switches: {pins: [17, 27], actions: {lick 1_held: model_begin, lick 2_held: none}}").switches
    pedal = Pedal(PedalState(mode="echo"))
    capture, writer, printer = Capture(lambda: ScriptedSource([])), LogWriter(None, None), Printer(None)
    assemble(pedal, capture, log_writer=writer, printer=printer)
    assert pedal.screen().switch == 0
    switches: Any = None  # none is pressed here
    assemble(pedal, capture, log_writer=writer, printer=printer, controls=Controls(switches, 2, chosen))
    assert pedal.screen().switch == 2
    pedal.step(Command(0.0, "next_mode"))
    assert (pedal.settings.mode, pedal.screen().switch) == ("lick", 1)
