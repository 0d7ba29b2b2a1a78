"""A verdict for one glance: figure, word on a ground that tells true, near, missed apart, the string as it ended."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from pedal.modes.screen_model import StringPicture, VerdictCard
from pedal.screen.canvas import HUGE, LARGE, LARGE_TIGHT, MEDIUM, SMALL, Canvas, Lettering, ellipsis, fitting, wrap
from pedal.screen.phrases import figure_label, figure_words
from pedal.screen.string_view import Field, draw_string
from pedal.theory.spelling import for_eyes

GAP = 6
EMBLEM = Field(x=84, columns=42, rest_y=29, rise=27)
USUAL_TARGET_CENTS = 200.0
USUAL_ZONE = (15.0, 60.0)
"""For the small picture where the string itself is not at hand any more."""
GROUNDED = {"TRUE", "NEAR"}


def draw_verdict(canvas: Canvas, card: VerdictCard, ended: StringPicture, *, emblem: bool) -> int:
    """The whole canvas of 128 x 64: figure and string above, word below; without a figure, the word and its reason.

    emblem : whether the string is drawn; where it is not, its place is free for the chord that goes on.
    Returns the column from which that place is free.
    """
    if card.figure is None:
        _draw_refusal(canvas, card)
        return canvas.width
    figure, label = figure_words(card), figure_label(card)
    end = canvas.write(figure, 1, 1, fitting(figure, EMBLEM.x - 3, HUGE, LARGE), standing=True)
    if end + 2 + SMALL.width(label) < EMBLEM.x:
        end = canvas.write(label, end + 2, 1 + HUGE.cap_rows - SMALL.cap_rows)
    _draw_word(canvas, card, 34)
    if emblem:
        draw_string(canvas, as_it_ended(card, ended), EMBLEM)
    return end


def _draw_word(canvas: Canvas, card: VerdictCard, y: int) -> None:
    """The word on its ground across the canvas: lit block for true, open tray for near, bare for all else."""
    columns = canvas.width - 2
    lettering = fitting(card.word, columns, LARGE, LARGE_TIGHT, MEDIUM)
    rows = lettering.rows + 4
    true = card.word == "TRUE"
    if true:
        canvas.fill(1, y, columns, rows)
    elif card.word == "NEAR":
        _draw_tray(canvas, y + 2, rows - 1)
    end = canvas.write(card.word, 8 if card.word in GROUNDED else 1, y + 2, lettering, standing=True, dark=true)
    right = columns - 4
    if card.timing and SMALL.width(card.timing) <= right - end - GAP:
        canvas.write(card.timing, right, y + 4, SMALL, anchor="right", dark=true)
    if card.ending and card.ending.upper() != card.word and SMALL.width(card.ending) <= right - end - GAP:
        canvas.write(card.ending, right, y + rows - SMALL.rows - 4, SMALL, anchor="right", dark=true)


def _draw_tray(canvas: Canvas, y: int, rows: int) -> None:
    """Two sides and a floor: a lid would touch the letters."""
    columns = canvas.width - 2
    canvas.fill(1, y, 2, rows)
    canvas.fill(columns - 1, y, 2, rows)
    canvas.fill(1, y + rows - 2, columns, 2)


def as_it_ended(card: VerdictCard, ended: StringPicture) -> StringPicture:
    """The string where the verdict found it: off the post by its error, or at its height in the zone; flat if released.

    The word decides whether it touches: true bands are narrower against a drone.
    """
    figure = float(card.figure or 0)
    if card.is_height or card.word == "RELEASED":
        zone = replace(ended, target_cents=None, zone_cents=ended.zone_cents or USUAL_ZONE, blind=False)
        released = card.word == "RELEASED"
        return replace(zone, now_cents=0.0 if released else figure, peak_cents=figure if released else None)
    target = ended.target_cents or USUAL_TARGET_CENTS
    true = abs(figure) if card.word == "TRUE" else abs(figure) - 0.5
    return StringPicture(target + figure, target, true_cents=true)


def draw_band(canvas: Canvas, card: VerdictCard, y: int) -> None:
    """The verdict in one line of 24 rows, for when the string needs the rest of the canvas."""
    columns = canvas.width - 2
    figure = figure_words(card)
    for lettering in (LARGE, LARGE_TIGHT):
        if figure and lettering.width(card.word) + lettering.width(figure) + 2 * GAP + 4 <= columns:
            canvas.write(figure, canvas.width - 1, y, lettering, anchor="right", standing=True)
            _draw_grounded(canvas, card, y, lettering)
            label, left = figure_label(card), canvas.width - 4 - lettering.width(figure)
            if left - SMALL.width(label) > lettering.width(card.word) + GAP + 4:
                canvas.write(label, left, y + lettering.cap_rows - SMALL.cap_rows, anchor="right")
            return
    _draw_grounded(canvas, card, y, fitting(card.word, columns, LARGE, LARGE_TIGHT, MEDIUM))
    room = columns - LARGE.width(card.word) - GAP
    small = next((c for c in (MEDIUM, SMALL) if figure and c.width(figure) <= room), None)
    if small:
        canvas.write(figure, canvas.width - 1, y + 24 - small.rows, small, anchor="right")


@lru_cache(8)
def last_verdict(now: str, card: VerdictCard, columns: int, rows: int) -> Canvas:
    """While the next note sounds: it is named large; at the right, smaller, the last verdict with its own note.

    A canvas to lay under the string: words stay as they are while it moves, and need not be written for every frame.
    """
    canvas, y = Canvas(columns, rows), 1
    left = canvas.write(now, 1, y, fitting(now, 46, LARGE, LARGE_TIGHT), standing=True) + GAP
    right = canvas.width - 1
    lettering = fitting(card.word, right - left - 4, MEDIUM, SMALL)
    columns = lettering.width(card.word) + 4
    if card.word == "TRUE":
        canvas.fill(right - columns, y - 1, columns, lettering.cap_rows + 2)
    elif card.word == "NEAR":
        canvas.fill(right - columns, y + lettering.cap_rows, columns, 1)
    canvas.write(card.word, right - 2, y, lettering, anchor="right", dark=card.word == "TRUE")
    parts = (for_eyes(card.note), figure_label(card), figure_words(card))
    canvas.write(" ".join(part for part in parts if part), right - 2, y + 18, anchor="right")
    return canvas


def _draw_grounded(canvas: Canvas, card: VerdictCard, y: int, lettering: Lettering) -> None:
    width = lettering.width(card.word)
    true = card.word == "TRUE"
    if true:
        canvas.fill(1, y - 1, width + 8, lettering.rows + 2)
    elif card.word == "NEAR":
        canvas.ink.rectangle((1, y + 25, 1 + width, y + 26), fill=255)
    canvas.write(card.word, 5 if true else 1, y, lettering, standing=True, dark=true)


def _draw_refusal(canvas: Canvas, card: VerdictCard) -> None:
    """Nothing to measure: the word as large as it goes, and why."""
    columns = canvas.width - 2
    lines = wrap(card.word, columns, LARGE_TIGHT)
    lettering = fitting(max(lines, key=LARGE.width), columns, *((HUGE,) if len(lines) == 1 else ()), LARGE, LARGE_TIGHT)
    y = 1
    for line in lines:
        canvas.write(line, canvas.width // 2, y, lettering, anchor="middle", standing=True)
        y += lettering.rows + 2
    for words in ellipsis([card.line], columns, SMALL, (canvas.height - y) // SMALL.rows):
        canvas.write(words, canvas.width // 2, y, SMALL, anchor="middle")
        y += SMALL.rows
