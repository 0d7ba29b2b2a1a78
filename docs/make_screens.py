"""Draws the pictures in docs/screens: contact sheets of all screens, single screens for the README, a bend as a film.

Run from the repository: `python docs/make_screens.py [FOLDER]`.
"""

from __future__ import annotations

import argparse
import itertools
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import get_args

import numpy as np
from PIL import Image

from hw.picture_files import GifScreen, enlarged
from pedal.modes.screen_model import RungMark, ScreenModel, Side, StringPicture, StripMark, VerdictCard, WatchScreen
from pedal.screen.canvas import MEDIUM, Canvas
from pedal.screen.drawing import draw
from pedal.screen.letters import SMALL_FACE, spell, word_mask
from pedal.screen.marks import draw_chord, draw_heavy, draw_rungs, draw_side
from pedal.screen.samples import samples
from pedal.screen.setup_page import draw_set_up
from pedal.screen.setup_samples import SET_UP_PAGES
from pedal.screen.string_view import Field, draw_string
from pedal.screen.strip import LARGEST, draw_mark

GLASS, DOT, PAGE, INK = (8, 10, 14), (214, 236, 255), (40, 44, 52), (200, 204, 212)
SINGLE = {
    "watch rising": "bend", "watch true": "true", "watch near": "near", "watch flat": "flat", "curl true": "curl",
    "curl released": "released", "ladder waiting": "ladder", "blind waiting": "blind", "tune there": "tune",
}  # fmt: skip
COLUMNS, SCALE, GUTTER, LABEL = 4, 2, 14, 14
FRAMES_A_SECOND = 25
SIGN_ROWS = 30
STRINGS = {
    "post": StringPicture(60.0, 200.0),
    "post, touched": StringPicture(200.0, 200.0),
    "notch": StringPicture(120.0, 200.0, peak_cents=190.0),
    "zone": StringPicture(5.0, zone_cents=(15.0, 50.0)),
    "zone, reached": StringPicture(35.0, zone_cents=(15.0, 50.0)),
    "no target": StringPicture(60.0),
    "curtain": StringPicture(blind=True),
}


def as_on_glass(bitmap: Image.Image, scale: int) -> Image.Image:
    """The bitmap as a panel shows it: bright dots on dark glass, a thin gap between dots where there is room for it."""
    lit = np.array(enlarged(bitmap, scale), bool)
    if scale > 2:
        lit[scale - 1 :: scale] = lit[:, scale - 1 :: scale] = False
    return Image.fromarray(np.where(lit[..., np.newaxis], DOT, GLASS).astype(np.uint8))


def write(page: Image.Image, words: str, x: int, y: int) -> None:
    """Words in the pedal's own small letters."""
    page.paste(INK, (x, y), word_mask(spell(words, SMALL_FACE), SMALL_FACE, 1))


def contact_sheet(models: Mapping[str, ScreenModel], *, density: str, height: int = 64) -> Image.Image:
    """All screens on one page with their names."""
    return sheet_of({name: draw(model, density=density, height=height) for name, model in models.items()}, height)


def sheet_of(bitmaps: Mapping[str, Image.Image], height: int = 64) -> Image.Image:
    """Bitmaps on one page with their names."""
    wide, high = 128 * SCALE + GUTTER, height * SCALE + GUTTER + LABEL
    rows = -(-len(bitmaps) // COLUMNS)
    page = Image.new("RGB", (COLUMNS * wide + GUTTER, rows * high + GUTTER), PAGE)
    for place, (name, bitmap) in enumerate(bitmaps.items()):
        x, y = GUTTER + wide * (place % COLUMNS), GUTTER + high * (place // COLUMNS)
        write(page, name, x, y)
        page.paste(as_on_glass(bitmap, SCALE), (x, y + LABEL))
    return page


def signs() -> dict[str, Image.Image]:
    """Each shape that is no word, on a canvas of its own, by what docs/screens.md calls it."""
    drawn = {}

    def sign(name: str) -> Canvas:
        canvas = Canvas(128, SIGN_ROWS)
        drawn[name] = canvas.bitmap
        return canvas

    for name, string in STRINGS.items():
        draw_string(sign(name), string, Field(x=25, columns=78, rest_y=SIGN_ROWS - 5, rise=SIGN_ROWS - 7))
    for side in filter(None, get_args(Side)):
        draw_side(sign("on the beat" if side == "on" else side), side, 73, 3)
    draw_chord(sign("third beat of four"), "Gm", 76, 2, beat=3)
    draw_heavy(sign("heavy"), "", 58, 10)
    for rung in get_args(RungMark):
        draw_rungs(sign(rung), [rung], None, 12)
    draw_rungs(sign("the present one"), ["true", "open", "open"], 1, 14)
    for mark in get_args(StripMark):
        draw_mark(sign(f"note: {mark.replace('_', ' ')}"), mark, 58, 8, LARGEST)
    sign("a curl is asked for").write("F4~", 64, 6, MEDIUM, anchor="middle")
    return drawn


def a_bend() -> Iterator[ScreenModel]:
    """A whole-step bend that arrives a little late, stays, and is judged; `FRAMES_A_SECOND` models a second."""
    rising = samples()["watch rising"]
    assert isinstance(rising, WatchScreen)
    string = StringPicture(0.0, 200.0)
    peak = 0.0
    for frame in range(3 * FRAMES_A_SECOND):
        time_s = frame / FRAMES_A_SECOND
        share = min(1.0, max(0.0, (time_s - 0.5) / 1.0))
        cents = 203.0 * share * share * (3.0 - 2.0 * share)
        peak = max(peak, cents)
        yield replace(rising, string=replace(string, now_cents=cents, peak_cents=peak))
    yield replace(
        rising,
        string=replace(string, now_cents=None, peak_cents=peak),
        verdict=VerdictCard("TRUE", 3, "rang out", "a whole step to D4, held 1.5 s"),
    )


def film(path: Path) -> None:
    """The bend as the screen shows it."""
    ticks = itertools.count()
    screen = GifScreen(path, dot=3, clock=lambda: next(ticks) / FRAMES_A_SECOND)
    for model in a_bend():
        screen.show(draw(model))
    screen.close()


def main() -> None:
    """Draw everything into the folder."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", nargs="?", type=Path, default=Path(__file__).parent / "screens")
    folder = parser.parse_args().folder
    folder.mkdir(parents=True, exist_ok=True)
    models = samples()
    contact_sheet(models, density="glance").save(folder / "all-glance.png", optimize=True)
    contact_sheet(models, density="close").save(folder / "all-close.png", optimize=True)
    contact_sheet(models, density="glance", height=32).save(folder / "all-32-rows.png", optimize=True)
    pages = {name: draw_set_up(page) for name, page in SET_UP_PAGES.items()}
    sheet_of(pages).save(folder / "set-up.png", optimize=True)
    sheet_of(signs(), SIGN_ROWS).save(folder / "signs.png", optimize=True)
    for name, short in SINGLE.items():
        as_on_glass(draw(models[name]), 4).save(folder / f"{short}.png", optimize=True)
    film(folder / "bend.gif")


if __name__ == "__main__":
    main()
