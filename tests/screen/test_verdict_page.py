"""The verdict's ground and the small picture beside it say the same as the word."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pedal.modes.screen_model import Status, StringPicture, VerdictCard, WatchScreen
from pedal.screen.drawing import draw, lay_out
from pedal.screen.phrases import signed
from pedal.screen.samples import samples
from pedal.screen.string_view import in_zone, on_post
from pedal.screen.verdict_page import as_it_ended

STATUS = Status("watch", "G minor pentatonic")
POST = StringPicture(None, 200.0, None, 190.0)
BOTH = StringPicture(None, 200.0, (15.0, 60.0), 40.0)


def page(word: str, figure: int | None, *, is_height: bool = False) -> WatchScreen:
    return WatchScreen(STATUS, "Bb3", "C4", BOTH, VerdictCard(word, figure, "cut", "because", is_height=is_height))


def light(model: WatchScreen) -> float:
    """Share of lit dots in the lower half, where the word stands."""
    half = draw(model).crop((0, 36, 128, 62)).convert("L")
    return sum(half.tobytes()) / 255 / (128 * 26)


def test_true_near_and_missed_differ_by_their_ground():
    """Told in the corner of the eye: the lower half is mostly lit, framed, or mostly dark."""
    true, near, flat = light(page("TRUE", 3)), light(page("NEAR", -18)), light(page("FLAT", -40))
    assert true > 0.6
    assert flat < 0.3
    assert flat < near < true - 0.3


@pytest.mark.parametrize(
    ("word", "error", "touches"),
    [
        ("TRUE", 9, True),
        ("TRUE", -9, True),
        ("TRUE", 0, True),
        ("NEAR", 6, False),
        ("NEAR", -12, False),
        ("FLAT", -26, False),
    ],
)
def test_the_small_string_touches_the_post_exactly_when_the_word_is_true(word, error, touches):
    """Against a drone 6 cents are near already: the word decides, not the usual band."""
    assert on_post(as_it_ended(VerdictCard(word, error), POST)) == touches


@pytest.mark.parametrize(("error", "side"), [(-30, -1), (30, 1)])
def test_flat_lies_below_the_post_and_sharp_above(error, side):
    ended = as_it_ended(VerdictCard("FLAT" if error < 0 else "SHARP", error), POST)
    assert (ended.now_cents - ended.target_cents) * side > 0


@pytest.mark.parametrize(("height", "inside"), [(38, True), (70, False), (9, False)])
def test_the_height_of_a_curl_is_shown_in_its_zone_without_a_post(height, inside):
    ended = as_it_ended(VerdictCard("TRUE", height, is_height=True), BOTH)
    assert ended.target_cents is None
    assert in_zone(ended) == inside


def test_a_released_curl_lies_flat_under_its_notch():
    ended = as_it_ended(VerdictCard("RELEASED", 38, is_height=True), BOTH)
    assert (ended.now_cents, ended.peak_cents) == (0.0, 38.0)


def test_error_and_height_look_different():
    assert draw(page("NEAR", 12)).tobytes() != draw(page("NEAR", 12, is_height=True)).tobytes()


def test_a_verdict_without_a_figure_says_why():
    words = [word.words for word in lay_out(page("UNCLEAR", None)).written]
    assert words == ["UNCLEAR", "because"]


def test_the_verdict_gives_way_to_the_note_that_sounds_and_keeps_its_own():
    """What is large is what sounds now; the last verdict stands beside it with the note it was said of."""
    sounding = WatchScreen(STATUS, "C4", "D4", StringPicture(50.0, 200.0), VerdictCard("FLAT", -34, note="F4"))
    written = lay_out(sounding).written
    assert {word.words for word in written if word.standing} == {"C4"}
    assert {word.words for word in written} >= {"FLAT", "F4 err −34"}


@pytest.mark.parametrize(
    ("figure", "decimals", "words"),
    [
        (12.0, 0, "+12"),
        (-12.4, 0, "−12"),
        (0.4, 0, "0"),
        (-0.4, 0, "0"),
        (-0.04, 1, "0.0"),
        (3.25, 1, "+3.2"),
        (-9.96, 1, "−10.0"),
    ],
)
def test_signed_figures(figure, decimals, words):
    assert signed(figure, decimals) == words


@pytest.mark.parametrize(
    ("side", "before", "after"), [("early", True, False), ("late", False, True), ("on", True, True)]
)
def test_early_and_late_are_told_by_which_side_of_the_beat_the_flag_is(side, before, after):
    late = samples()["watch late"]
    card = replace(late.verdict, side=side)
    bare, signed = (np.array(draw(replace(late, verdict=one)).convert("1")) for one in (replace(card, side=""), card))
    there = (signed & ~bare)[:30]
    post = int(np.argmax(there.sum(axis=0)))
    assert there[:, post].sum() >= 20, "the post is as high as what is read standing"
    assert there[:, : post - 1].any() == before
    assert there[:, post + 4 :].any() == after
