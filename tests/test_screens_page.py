"""docs/screens.md names every sign that its picture holds, and every mark of what is wrong."""

from __future__ import annotations

import re

from docs.make_screens import signs
from pedal.modes.screen_model import Status
from pedal.screen.phrases import troubles
from tests.conftest import REPOSITORY

PAGE = (REPOSITORY / "docs" / "screens.md").read_text()


def test_every_sign_stands_there_once() -> None:
    told = re.findall(r"^\| (?!sign \|)([^|-][^|]*?) \|", PAGE.split("## Words and figures")[0], re.MULTILINE)
    assert sorted(told) == sorted(signs())


def test_so_does_every_mark_of_what_is_wrong() -> None:
    everything = Status(
        "watch", "G minor pentatonic", clipped=True, lost_blocks=3, log_paused=True, silent_input=True, bad_switch=2,
        fault=True, no_output=True,
    )  # fmt: skip
    told = re.search(r"on a lit ground: ([^;]*);", PAGE)
    assert told is not None
    named = re.split(r", | or ", told[1])
    assert named == [re.sub(r" \d+$", "", words) for words in troubles(everything)]
