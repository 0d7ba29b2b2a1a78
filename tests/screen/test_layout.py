"""Nothing is clipped, nothing overlaps, and what must be read standing is there and large, whatever the words."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import combinations, product

import pytest
from every_screen import screens
from hypothesis import given, settings
from standing import PANELS, PREFERRED_MINUTES, screen_arc_minutes

from pedal.modes.screen_model import (
    LickScreen,
    MenuScreen,
    MessageScreen,
    RecallScreen,
    ScreenModel,
    Side,
    Status,
    StringPicture,
    VerdictCard,
    WatchScreen,
)
from pedal.screen.canvas import Canvas, Written
from pedal.screen.drawing import draw, lay_out
from pedal.screen.letters import spell
from pedal.screen.samples import samples

SIZES = [("glance", 64), ("close", 64), ("glance", 32)]
SAMPLES = samples()


def lit_box(word: Written) -> tuple[int, int, int, int]:
    """Columns and rows of the capitals: tails below the line may reach into a blank row."""
    return word.x, word.y, word.x + word.columns, word.y + word.cap_rows


def overlaps(a: Written, b: Written) -> bool:
    ax, ay, aright, abottom = lit_box(a)
    bx, by, bright, bbottom = lit_box(b)
    return ax < bright and bx < aright and ay < bbottom and by < abottom


def smudged(canvas: Canvas, word: Written) -> bool:
    """Whether anything but the letters themselves is drawn where the letters are."""
    return canvas.bitmap.crop(lit_box(word)).tobytes() != alone(word, canvas.width, canvas.height)


@lru_cache(maxsize=20_000)
def alone(word: Written, width: int, height: int) -> bytes:
    """The dots of the word on a sheet of that size with nothing else on it: most words come again and again."""
    sheet = Canvas(width, height)
    if word.dark:
        sheet.fill(0, 0, width, height)
    sheet.write(word.words, word.x, word.y, word.lettering, dark=word.dark)
    return sheet.bitmap.crop(lit_box(word)).tobytes()


def faults(canvas: Canvas) -> list[str]:
    """Words that leave the sheet, lie on other words, or are drawn over."""
    words = [word for word in canvas.written if word.words.strip()]
    found = [f"{w.words!r} at {lit_box(w)} leaves the sheet" for w in words if not inside(canvas, w)]
    found += [f"{a.words!r} lies on {b.words!r}" for a, b in combinations(words, 2) if overlaps(a, b)]
    found += [f"{w.words!r} has letters that nobody drew" for w in words if unknown(w)]
    return found or [f"{w.words!r} is drawn over" for w in words if smudged(canvas, w)]


def unknown(word: Written) -> bool:
    return spell(word.words, word.lettering.face).count("?") != word.words.count("?")


def inside(canvas: Canvas, word: Written) -> bool:
    x, y, right, bottom = lit_box(word)
    return x >= 0 and y >= 0 and right <= canvas.width and bottom <= canvas.height


@pytest.mark.parametrize(("density", "height"), SIZES)
@given(model=screens)
@settings(max_examples=200, deadline=None)
def test_no_words_are_clipped_and_none_overlap(density: str, height: int, model: ScreenModel) -> None:
    assert faults(lay_out(model, density=density, height=height)) == []


@pytest.mark.parametrize(("density", "height"), SIZES)
@given(model=screens)
@settings(max_examples=100, deadline=None)
def test_none_overlap_where_nothing_is_wrong_either(density: str, height: int, model: ScreenModel) -> None:
    """The fault: a trouble takes the chord's place, so what lay on the chord was never seen."""
    if isinstance(model, MessageScreen):
        return
    model = replace(model, status=replace(model.status, **NOTHING_WRONG))
    assert faults(lay_out(model, density=density, height=height)) == []


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize(("density", "height"), SIZES)
def test_no_sample_has_a_fault(density: str, height: int, name: str) -> None:
    assert faults(lay_out(SAMPLES[name], density=density, height=height)) == []


def test_a_heading_without_room_keeps_no_word_that_says_nothing_alone() -> None:
    status = Status("recall", "G minor pentatonic", drone=True, clipped=True)
    recall = RecallScreen(status, (), tries=120, best_streak=18, page=0, pages=3)
    assert [word.words for word in lay_out(recall, density="close").written if word.words in ("18", "120")] == []
    blind = replace(SAMPLES["blind judged"], status=replace(status, mode="blind"))
    assert "tries" not in [word.words for word in lay_out(blind, density="close").written]


@pytest.mark.parametrize("value", ["mixolydian", "whole-step down", "half-step down", "minor pentatonic"])
def test_no_word_of_the_menu_is_broken_where_there_is_no_hyphen(value: str) -> None:
    menu = replace(SAMPLES["menu"], items=("scale",), index=0, value=value)
    written = [word.words for word in lay_out(menu).written]
    assert " ".join(word for word in written if word.upper() != "SCALE").replace("- ", "-") == value


def test_the_bend_after_a_verdict_is_said_to_be_the_next() -> None:
    """What a long press crosses off is the bend that stands there, and the last rung's is the one just judged."""
    judged = replace(SAMPLES["ladder judged"], string=1, fret=3, target="D5", status=Status("ladder", "G blues"))
    for climbed, told in ((False, True), (True, False)):
        assert ("NEXT" in [word.words for word in lay_out(replace(judged, climbed=climbed)).written]) == told


@pytest.mark.parametrize("asks", ["play", "curl", "bend", "pre-bend"])
@pytest.mark.parametrize(("density", "height"), SIZES)
def test_what_an_offer_asks_for_never_touches_its_note(density: str, height: int, asks: str) -> None:
    for letter, sign in product("ABCDEFG", ("", "b", "#")):
        offer = LickScreen(Status("lick", "A blues"), "offer", asks, "of 7", ("plain",), note=f"{letter}{sign}4")
        assert faults(lay_out(offer, density=density, height=height)) == []


CHORDS = ("G", "Ebm", "F#m", "Bb7")
FIGURES = range(-399, 400)
IN_TURN = [(CHORDS[(figure + figure // 10) % 4], figure) for figure in FIGURES]
"""Each figure under one of the chords, each last digit under all of them."""
AT_THE_ENDS = list(product(CHORDS, (*FIGURES[:12], *FIGURES[-12:])))


@pytest.mark.parametrize(
    "pairs",
    [
        pytest.param(IN_TURN + AT_THE_ENDS, id="in turn"),
        pytest.param(list(product(CHORDS, FIGURES)), id="all", marks=pytest.mark.wide),
    ],
)
@pytest.mark.parametrize("side", ["early", "on", "late"])
def test_the_flag_at_the_beat_touches_neither_figure_nor_chord(side: Side, pairs: list[tuple[str, int]]) -> None:
    for chord, figure in pairs:
        card = VerdictCard("FLAT" if figure < 0 else "SHARP", figure, side=side)
        model = WatchScreen(Status("watch", "A blues", chord=chord, beat=1), "C4", "D4", StringPicture(), card)
        assert faults(lay_out(model)) == [], (chord, figure)


WRONG: dict[str, dict[str, bool | int]] = {
    "CLIP": {"clipped": True},
    "SILENT": {"silent_input": True},
    "LOST 99": {"lost_blocks": 5000},
    "NO OUT": {"no_output": True},
    "FAULT": {"fault": True},
    "NO LOG": {"log_paused": True},
    "FOOT 4": {"bad_switch": 4},
}
NOTHING_WRONG = {field: getattr(Status("watch", "G blues"), field) for fields in WRONG.values() for field in fields}
JUDGED = {
    "watch true", "watch near", "watch flat", "watch slide", "watch late", "curl true", "curl released",
    "ladder judged", "ladder judged in time", "blind judged", "echo likeness",
}  # fmt: skip
"""The verdict has the canvas; the note after it tells again. Without a cable there is none: that is told at once."""
LISTS = {
    "ladder done", "lick refused", "recall", "recall session", "recall month", "recall code", "recall homework",
    "menu", "menu changing", "round begins", "round rest", "round well", "round tomorrow", "round then rest",
}  # fmt: skip
KEPT_BACK = {
    ("glance", 64): JUDGED | LISTS | {"round judged", "round in time"},
    ("close", 64): {"recall code"},
    ("glance", 32): JUDGED | LISTS | {"lick strange"},
}


@pytest.mark.parametrize("told", WRONG)
@pytest.mark.parametrize(("density", "height"), SIZES)
def test_what_is_wrong_is_told_wherever_one_plays_and_touches_nothing(density: str, height: int, told: str) -> None:
    kept_back = set()
    for name, model in SAMPLES.items():
        if isinstance(model, MessageScreen):
            continue
        alone = replace(model.status, **(NOTHING_WRONG | WRONG[told]))
        canvas = lay_out(replace(model, status=alone), density=density, height=height)
        assert faults(canvas) == [], name
        if told not in [word.words for word in canvas.written]:
            kept_back.add(name)
    told_at_once = JUDGED - {"echo likeness"} if (told, density, height) == ("SILENT", "glance", 64) else set()
    assert kept_back == KEPT_BACK[density, height] - told_at_once


def test_the_check_itself_sees_words_that_are_clipped_or_overlap():
    canvas = Canvas()
    canvas.write("outside", 110, 0)
    canvas.write("one", 0, 30)
    canvas.write("other", 5, 33)
    assert len(faults(canvas)) == 2
    drawn_over = Canvas()
    drawn_over.write("one", 10, 30)
    drawn_over.fill(0, 33, 128, 1)
    assert faults(drawn_over) == ["'one' is drawn over"]


@given(model=screens)
@settings(max_examples=150, deadline=None)
def test_glance_words_can_be_read_from_where_a_player_stands(model: ScreenModel) -> None:
    """At least 20 minutes of arc on the 2.42 inch panel from 1.6 m: ISO 9241-303's preferred height (from memory)."""
    minutes = screen_arc_minutes(model, PANELS["2.42 inch"], 1.6)
    if isinstance(model, MenuScreen) and len(model.value) > 18:
        return  # the name of a sound device is read bending down: it has no length that could be relied on
    assert minutes is not None, "a glance screen without a word to read"
    assert minutes >= PREFERRED_MINUTES


@pytest.mark.parametrize("name", SAMPLES)
def test_each_sample_screen_in_minutes_of_arc(name):
    assert screen_arc_minutes(SAMPLES[name], PANELS["2.42 inch"], 1.6) >= PREFERRED_MINUTES


@pytest.mark.parametrize("name", SAMPLES)
def test_the_lit_dots_of_standing_words_are_as_high_as_claimed(name):
    """The record of the sheet against the picture itself: the dots of each word fill its height."""
    canvas = lay_out(SAMPLES[name])
    for word in canvas.written:
        if word.standing and any(c.isalnum() for c in word.words):
            x, y, right, bottom = lit_box(word)
            crop = canvas.bitmap.crop((x, y, right, bottom))
            ground = crop.getpixel((0, 0)) if word.dark else 0
            lit = crop if not ground else crop.point(lambda v: 255 - v)
            left, top, _, low = lit.getbbox()
            assert low - top == word.cap_rows, word.words


@pytest.mark.parametrize("density", ["glance", "close"])
@given(model=screens)
@settings(max_examples=75, deadline=None)
def test_wandering_by_a_dot_cuts_no_letters(density: str, model: ScreenModel) -> None:
    canvas = lay_out(model, density=density)
    words = [word for word in canvas.written if word.words.strip()]
    assert all(word.x >= 1 and word.x + word.columns <= 127 for word in words)
    assert all(word.y + word.cap_rows <= 63 for word in words)


@given(model=screens)
@settings(max_examples=50, deadline=None)
def test_the_same_model_gives_the_same_picture(model: ScreenModel) -> None:
    for density, height in SIZES:
        first = draw(model, density=density, height=height)
        assert first.mode == "1"
        assert first.size == (128, height)
        assert first.tobytes() == draw(model, density=density, height=height).tobytes()


@pytest.mark.parametrize("height", [0, 63, 128])
def test_another_height_is_refused(height):
    with pytest.raises(ValueError, match=f"height must be 64 or 32 rows, got {height}"):
        draw(SAMPLES["message"], height=height)
