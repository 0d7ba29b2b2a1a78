"""Words that just fill their room are written whole, and those a dot wider give way: the room itself, page by page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

from pedal.modes.screen_model import MenuScreen, MessageScreen, ScreenModel, VerdictCard
from pedal.screen.canvas import LARGE, LARGE_TIGHT, MEDIUM, SMALL, Lettering, cut, ellipsis, fitting, wrap
from pedal.screen.drawing import lay_out
from pedal.screen.samples import samples

SAMPLES = samples()


def letters_of(columns: int, lettering: Lettering = SMALL) -> str:
    """One word, just so wide."""
    return words_by_width(lettering)[columns]


@cache
def words_by_width(lettering: Lettering) -> dict[int, str]:
    found: dict[int, str] = {}
    for narrow in range(60):
        for wide in range(60 - narrow):
            word = "n" * wide + "i" * narrow
            if word:
                found.setdefault(lettering.width(word), word)
    return found


def test_the_words_of_these_tests_are_as_wide_as_they_say() -> None:
    assert all(SMALL.width(letters_of(columns)) == columns for columns in range(60, 128))
    assert MEDIUM.width(letters_of(126, MEDIUM)) == 126


def message(words: str, title: str = "ONE") -> MessageScreen:
    return MessageScreen(title, (words,))


def told(words: str) -> ScreenModel:
    return replace(SAMPLES["lick ready"], line=words)


def reason(words: str) -> ScreenModel:
    flat = SAMPLES["watch flat"]
    return replace(flat, verdict=replace(flat.verdict, line=words, timing="", more=()))


def refused(words: str) -> ScreenModel:
    return replace(SAMPLES["watch flat"], verdict=VerdictCard("UNCLEAR", None, line=words))


def value(words: str) -> MenuScreen:
    return replace(SAMPLES["menu"], value=words)


@pytest.mark.parametrize(
    ("model", "density", "height", "lettering", "columns"),
    [
        (message, "glance", 64, SMALL, 126),
        (message, "close", 64, SMALL, 126),
        (message, "glance", 32, SMALL, 126),
        (lambda words: MessageScreen(words, ()), "close", 64, MEDIUM, 126),
        (lambda words: MessageScreen(words, ()), "glance", 32, MEDIUM, 126),
        (told, "glance", 64, SMALL, 126),
        (told, "glance", 32, SMALL, 126),
        (reason, "close", 64, SMALL, 126),
        (refused, "glance", 64, SMALL, 126),
        (value, "close", 64, MEDIUM, 124),
        (value, "glance", 32, MEDIUM, 124),
    ],
    ids=[
        "message glance", "message close", "message low", "title close", "title low", "lick glance", "lick low",
        "reason", "refusal", "value close", "value low",
    ],
)  # fmt: skip
def test_a_line_has_all_of_its_room(
    model: Callable[[str], ScreenModel], density: str, height: int, lettering: Lettering, columns: int
) -> None:
    dot = 2 if lettering is MEDIUM else 1
    for more in (0, dot):
        words = letters_of(columns + more, lettering)
        written = lay_out(model(words), density=density, height=height).written  # type: ignore[arg-type]
        whole = [one for one in written if one.words == words and one.lettering is lettering]
        assert bool(whole) == (not more), f"{columns + more} columns"


@pytest.mark.parametrize("lettering", [SMALL, MEDIUM, LARGE])
def test_what_is_just_as_wide_as_its_room_is_neither_broken_nor_shortened(lettering: Lettering) -> None:
    word = "WINDOW"
    columns = lettering.width(word)
    assert wrap(word, columns, lettering) == [word]
    assert wrap(f"{word} {word}", lettering.width(f"{word} {word}"), lettering) == [f"{word} {word}"]
    assert cut(word, columns, lettering) == word
    assert ellipsis([word], columns, lettering, 1) == [word]
    assert fitting(word, columns, lettering, SMALL) is lettering
    less = columns - 1
    assert "".join(wrap(word, less, lettering)) == word and len(wrap(word, less, lettering)) == 2
    assert wrap(f"{word} {word}", lettering.width(f"{word} {word}") - 1, lettering) == [word, word]
    assert cut(word, less, lettering).endswith("…") and lettering.width(cut(word, less, lettering)) <= less
    assert ellipsis([word, "and"], columns, lettering, 1)[0].endswith("…")


@pytest.mark.parametrize(("word", "lines"), [("HAMMER ON", ["HAMMER", "ON"]), ("SLIDE", ["SLIDE"])])
def test_a_refusal_takes_as_many_lines_as_it_needs(word: str, lines: list[str]) -> None:
    written = lay_out(replace(SAMPLES["watch flat"], verdict=VerdictCard(word, None, line=""))).written
    fits = LARGE_TIGHT.width(word) <= 126
    assert [one.words for one in written] == ([word] if fits else lines)
