"""Draws the pictures in docs/screens: contact sheets of all screens, single screens for the README, a bend as a film.

Run from the repository: `python docs/make_screens.py [FOLDER]`.
"""

from __future__ import annotations

import argparse
import itertools
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from PIL import Image

from hw.picture_files import GifScreen
from pedal.modes.screen_model import ScreenModel, StringPicture, VerdictCard, WatchScreen
from pedal.screen.drawing import draw
from pedal.screen.letters import SMALL_FACE, spell, word_mask
from pedal.screen.samples import samples
from pedal.screen.setup_page import draw_set_up
from pedal.screen.setup_samples import SET_UP_PAGES

GLASS, DOT, PAGE, INK = (8, 10, 14), (214, 236, 255), (40, 44, 52), (200, 204, 212)
SINGLE = {
    "watch rising": "bend", "watch true": "true", "watch near": "near", "watch flat": "flat", "curl true": "curl",
    "curl released": "released", "ladder waiting": "ladder", "blind waiting": "blind", "tune there": "tune",
}  # fmt: skip
COLUMNS, SCALE, GUTTER, LABEL = 4, 2, 14, 14
FRAMES_A_SECOND = 25


def as_on_glass(bitmap: Image.Image, scale: int) -> Image.Image:
    """The bitmap as a panel shows it: bright dots on dark glass, a thin gap between dots where there is room for it."""
    glass = Image.new("RGB", (bitmap.width * scale, bitmap.height * scale), GLASS)
    dot = Image.new("RGB", (scale - (scale > 2), scale - (scale > 2)), DOT)
    for x, y in itertools.product(range(bitmap.width), range(bitmap.height)):
        if bitmap.getpixel((x, y)):
            glass.paste(dot, (x * scale, y * scale))
    return glass


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
    for name, short in SINGLE.items():
        as_on_glass(draw(models[name]), 4).save(folder / f"{short}.png", optimize=True)
    film(folder / "bend.gif")


if __name__ == "__main__":
    main()
