"""The code on the panel, decoded from its dots by OpenCV, which knows nothing of how it was made."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from PIL import Image

from pedal.modes.screen_model import CodeScreen, Status
from pedal.progress.lookback import LETTERS, Lookback, code_text, short_text
from pedal.screen.code_page import modules_of
from pedal.screen.drawing import draw

# Written out, and not taken from the code, so that a change of it is seen.
QUIET = 4

STATUS = Status("recall", "G minor pentatonic")
WORDS = ("b7→1 −22", "b3 released", "pre b3 ±34", "", "b3→4 less true")
WORST = tuple(Lookback(title, 60, 99_999, 100, "b7→b3 less true") for title in ("today", "last session", "last month"))


def shown(text: str, height: int, short: str = "TODAY 0 BENDS") -> Image.Image:
    return draw(CodeScreen(STATUS, text, short, 4, 5), height=height)


def decoded(picture: Image.Image, *, noise: float = 0.0, seed: int = 1) -> str:
    """What a camera's program reads: each dot is several of the camera's, unsharp, with noise."""
    dots = np.asarray(picture.convert("L")).repeat(8, axis=0).repeat(8, axis=1)
    around = np.pad(dots, 80)  # the panel's own dark ground
    seen = cv2.GaussianBlur(around, (0, 0), 2.0).astype(np.float64)
    seen += np.random.default_rng(seed).normal(0, noise, seen.shape)
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(np.clip(seen, 0, 255).astype(np.uint8))
    return text


@pytest.mark.parametrize("parts", [
    (Lookback("today", 1, 0, None),),
    (Lookback("today", 1, 12, 67), Lookback("last session", 1, 34, 62, WORDS[0])),
    *((Lookback("today", 1, 12, 67), Lookback("last session", 1, 3, 62, word), Lookback("last month", 9, 412, 58, word))
      for word in WORDS),
    WORST,
])  # fmt: skip
def test_the_dots_of_the_panel_decode_to_the_text(parts: tuple[Lookback, ...]) -> None:
    text = code_text(parts)
    assert set(text) <= LETTERS
    assert decoded(shown(text, 64)) == text
    assert decoded(shown(text, 64), noise=8.0) == text


@pytest.mark.parametrize("part", [Lookback("today", 1, 0, None), Lookback("today", 1, 9999, 100)])
def test_thirty_two_rows_hold_the_least(part: Lookback) -> None:
    text = short_text(part)
    assert decoded(shown("X", 32, text)) == text


def test_around_it_are_four_light_modules_and_all_of_it_is_on_the_panel() -> None:
    text = code_text(WORST)
    modules = modules_of(text, 64)
    assert modules is not None
    side = len(modules) + 2 * QUIET
    dots = np.asarray(shown(text, 64).convert("L")) > 0
    assert side <= 64
    top = (64 - side) // 2
    frame = dots[top : top + side, 2 : 2 + side].copy()
    frame[QUIET:-QUIET, QUIET:-QUIET] = True
    assert frame.all()


@pytest.mark.parametrize("height", [64, 32])
def test_a_text_that_is_too_long_is_said_in_words(height: int) -> None:
    long = "UNDERTOE " * 60
    assert modules_of(long, height) is None
    assert shown(long, height, long).getbbox() is not None


def test_without_the_library_the_page_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    modules_of.cache_clear()
    monkeypatch.setitem(sys.modules, "segno", None)
    assert modules_of("TODAY", 64) is None
    assert shown("TODAY", 64).getbbox() is not None
    modules_of.cache_clear()
