"""What `check` calls good can be built: every part that live makes of the settings takes them."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedal.cli.entry import main
from pedal.cli.map import _zone
from pedal.errors import SettingsError
from pedal.live.assembly import Controls, _feet
from pedal.live.starting_state import starting_state
from pedal.modes.pedal import Pedal
from pedal.modes.state import PedalState
from pedal.screen.care import brightness
from pedal.screen.drawing import draw
from pedal.settings.guitar import rig_of
from pedal.settings.kinds import Amount, IntRange
from pedal.settings.load import loads
from pedal.settings.parts import Settings
from pedal.settings.table import ROWS
from tests.live.doubles import HandSwitches

ORDERED = ("bands", "switches", "force", "audio", "display")
"""The sections whose numbers must suit each other."""


def build(chosen: Settings) -> list[tuple[str, tuple[int, int]]]:
    """As a session does, without a device; each mode that was entered, and the size of its picture."""
    _feet(Controls(HandSwitches(), len(chosen.switches.pins), chosen.switches))
    pedal = Pedal(starting_state(chosen))
    shown = []
    for mode in chosen.modes.order:
        pedal._enter(mode)  # type: ignore[arg-type]
        picture = draw(pedal.screen(), density=pedal.settings.density, height=chosen.display.height)
        shown.append((pedal.settings.mode, picture.size))
    _zone(chosen)
    rig_of(chosen)
    display = chosen.display
    brightness(display.dim_after_s, dim_after_s=display.dim_after_s, blank_after_s=display.blank_after_s)
    return shown


def edges() -> dict[str, tuple[float, ...]]:
    """For each number: its ends, its default, and the defaults of its neighbours, where two can meet."""
    numbers = {row.path: row for row in ROWS if isinstance(row.kind, Amount | IntRange) and row.section in ORDERED}
    by_section: dict[str, list[float]] = {}
    for row in numbers.values():
        by_section.setdefault(row.section, []).extend([row.default, row.kind.least, row.kind.most])  # type: ignore[attr-defined]
    return {
        path: tuple(value for value in by_section[row.section] if row.kind.least <= value <= row.kind.most)  # type: ignore[attr-defined]
        for path, row in numbers.items()
    }


EDGES = edges()


def test_without_settings_the_pedal_begins_as_its_state_does() -> None:
    """But for the ladder's order, and that nobody has heard the way out and back yet, which the modes need not know."""
    begun, state = starting_state(loads("")), PedalState()
    differ = [each.name for each in fields(state) if getattr(begun, each.name) != getattr(state, each.name)]
    assert differ == ["order", "delay_heard"]


@given(st.dictionaries(st.sampled_from(sorted(EDGES)), st.integers(0, 100), max_size=5))
@settings(max_examples=100, deadline=None)
def test_numbers_at_their_edges_are_refused_by_check_or_taken_by_the_pedal(picked: dict[str, int]) -> None:
    sections: dict[str, list[str]] = {}
    for path, number in picked.items():
        section, _, key = path.rpartition(".")
        value: Any = EDGES[path][number % len(EDGES[path])]
        sections.setdefault(section, []).append(f"{key}: {value}")
    text = "\n".join(f"{section}: {{{', '.join(words)}}}" for section, words in sections.items())
    try:
        chosen = loads(text, environment={"HOME": "/nowhere"})
    except SettingsError:
        return
    assert build(chosen) == [(mode, (128, chosen.display.height)) for mode in chosen.modes.order]


TOGETHER = {
    "long as held": ("switches: {long_s: 1.2}", "switches.long_s", "switches.long_s below switches.held_s"),
    "bounce as both": ("switches: {debounce_s: 0.08}", "switches.debounce_s", "switches.debounce_s below"),
    "both as double": ("switches: {both_s: 0.3}", "switches.both_s", "switches.both_s below switches.double_s"),
    "double as long": ("switches: {double_s: 0.6}", "switches.double_s", "switches.double_s below switches.long_s"),
    "a zone of no height": ("bands: {zone_low_cents: 60}", "bands.zone_low_cents", "below bands.zone_high_cents"),
    "a zone that reaches the semitone": ("bands: {zone_near_cents: 100}", "bands.zone_near_cents", "to 99 cents"),
    "a curl that is no rise": ("bands: {curl_least_cents: 7.9}", "bands.curl_least_cents", "from 8 to 50 cents"),
    "a zone that begins below any curl": ("bands: {zone_low_cents: 7}", "bands.zone_low_cents", "from 8 to 100 cents"),
    "a data line on 0": ("display: {bus: spi, data_pin: 0}", "display.data_pin", "from 1 to 27"),
}


@pytest.mark.parametrize(("text", "path", "words"), TOGETHER.values(), ids=TOGETHER.keys())
def test_what_the_pedal_would_die_of_is_refused_by_check(
    text: str, path: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "pedal.yaml"
    file.write_text(text + "\n")
    assert main(["check", str(file)]) == 2
    (sentence,) = capsys.readouterr().err.splitlines()
    assert f"pedal.yaml:1: {path}: expected" in sentence
    assert words in sentence


def test_the_library_takes_a_data_line_of_0_for_none() -> None:
    """Why 0 is refused: luma asks `if self._DC` before it sets the line (luma.core.interface.serial, bitbang)."""
    from luma.core.interface.serial import bitbang

    set_to: list[tuple[int, int]] = []

    class Pins:
        LOW, HIGH, OUT = 0, 1, 0

        def setup(self, *_: object) -> None:
            pass

        def output(self, pin: int, level: int) -> None:
            set_to.append((pin, level))

    for line in (0, 24):
        wire = bitbang(gpio=Pins(), DC=line, SCLK=1, SDA=2)
        wire.command(0xAE)
    assert {pin for pin, _ in set_to} & {0, 24} == {24}
