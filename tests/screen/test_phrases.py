"""The short words: what is said, in which order, and how it is shortened."""

from __future__ import annotations

import re

import pytest

from pedal.modes.screen_model import Status, TuneScreen
from pedal.screen.canvas import LARGE, SMALL, ellipsis, fitting, wrap
from pedal.screen.phrases import bend_words, key_within, signed_or_dash, troubles, tuning_figure
from tests.conftest import REPOSITORY

STATUS = Status("tune", "Bb minor pentatonic")


@pytest.mark.parametrize(
    ("cents", "settled", "words"),
    [
        (None, False, ""),
        (-3.24, True, "−3.2"),
        (-3.24, False, "−3"),
        (0.04, True, "0.0"),
        (9.94, True, "+9.9"),
        (9.96, True, "+10"),
        (-38.7, True, "−39"),
    ],
)
def test_a_string_is_told_to_a_tenth_only_where_it_helps(cents, settled, words):
    assert tuning_figure(TuneScreen(STATUS, 4, "D3", cents, settled)) == words


@pytest.mark.parametrize(
    ("note", "target", "words"),
    [("Bb3", "C4", "B♭3▸C4"), ("F#4", None, "F♯4"), (None, None, "B♭"), (None, "C4", "B♭")],
)
def test_from_where_to_where(note, target, words):
    assert bend_words(note, target, STATUS.key) == words


def test_without_a_key_it_asks_to_play():
    assert bend_words(None, None, "") == "PLAY"


@pytest.mark.parametrize(
    ("columns", "words"),
    [(126, "B♭ minor pentatonic"), (80, "B♭ min pent"), (20, "B♭"), (3, "")],
)
def test_a_key_is_shortened_until_it_fits(columns, words):
    assert key_within(STATUS.key, columns, SMALL) == words


def test_what_hurts_most_is_said_first():
    everything = Status("watch", "G", True, 1200, True, True, True, 2, True)
    assert list(troubles(everything)) == ["CLIP", "SILENT", "LOST 99", "FAULT", "NO LOG", "FOOT 2"]
    assert list(troubles(STATUS)) == []


def test_every_mark_is_looked_up_by_its_own_word() -> None:
    everything = Status(
        "tune", "", clipped=True, lost_blocks=1, log_paused=True, silent_input=True, bad_switch=2, fault=True,
        no_output=True,
    )  # fmt: skip
    marks = [mark.rstrip(" 12") for mark in troubles(everything)]
    assert len(marks) == 7
    text = (REPOSITORY / "docs/troubleshooting.md").read_text()
    assert [mark for mark in marks if not re.search(rf"\b{mark}\b", text)] == []


@pytest.mark.parametrize(("figure", "words"), [(None, "–"), (0.2, "0"), (-7.6, "−8"), (14, "+14")])
def test_what_was_not_measured_is_a_dash(figure, words):
    assert signed_or_dash(figure) == words


def test_words_break_between_words_and_only_a_long_one_within():
    assert wrap("a slide in steps", SMALL.width("a slide in"), SMALL) == ["a slide in", "steps"]
    assert wrap("PENTATONIC", LARGE.width("PENTA"), LARGE) == ["PENTA", "TONIC"]
    assert wrap("", 50, SMALL) == []


def test_what_does_not_fit_ends_in_an_ellipsis_inside_the_line():
    lines = ellipsis(["Plug the interface in again,", "then play."], 60, SMALL, 2)
    assert len(lines) == 2
    assert lines[-1].endswith("…")
    assert all(SMALL.width(line) <= 60 for line in lines)
    assert ellipsis(["Plug it in."], 60, SMALL, 2) == ["Plug it in."]
    assert ellipsis(["Plug it in."], 60, SMALL, 0) == []


def test_the_largest_letters_that_fit_are_taken_and_the_smallest_if_none_do():
    assert fitting("AB", 30, LARGE, SMALL) is LARGE
    assert fitting("ABCDEF", 40, LARGE, SMALL) is SMALL
    assert fitting("ABCDEFGHIJKL", 10, LARGE, SMALL) is SMALL
