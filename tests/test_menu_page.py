"""docs/menu.md tells every row of the menu in its order, and what the lamp says."""

from __future__ import annotations

import re
from pathlib import Path

from pedal.modes.lamp_rhythm import TRUE_S
from pedal.modes.menu import NAMES

PAGE = (Path(__file__).resolve().parent.parent / "docs" / "menu.md").read_text()


def test_every_row_stands_there_in_its_order() -> None:
    menu = PAGE.split("## The lamp")[0]
    assert tuple(re.findall(r"^\| (?!row \|)([^|-][^|]*?) \|", menu, re.MULTILINE)) == NAMES


def test_the_lamps_long_light_is_as_long_as_it_says() -> None:
    assert f"lights for {TRUE_S:g} seconds | true" in PAGE
