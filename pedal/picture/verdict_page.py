"""A verdict for one glance: figure, word on a ground that tells true, near, missed apart, the string as it ended."""

from __future__ import annotations

from dataclasses import replace

from pedal.modes.screen_model import StringPicture, VerdictFace
from pedal.picture.phrases import figure_label, figure_words
from pedal.picture.sheet import HUGE, LARGE, LARGE_TIGHT, MEDIUM, SMALL, Lettering, Sheet, broken, fitting, told
from pedal.picture.string_view import Field, draw_string
from pedal.theory.spelling import for_eyes

GAP = 6
EMBLEM = Field(x=84, columns=42, rest_y=29, rise=27)
USUAL_TARGET_CENTS = 200.0
USUAL_ZONE = (15.0, 60.0)
"""For the small picture where the string itself is not at hand any more."""
GROUNDED = {"TRUE", "NEAR"}


def draw_verdict(sheet: Sheet, face: VerdictFace, ended: StringPicture, *, emblem: bool = True) -> None:
    """The whole sheet of 128 x 64: figure and string above, word below; without a figure, the word and its reason.

    emblem : whether the string is drawn; where it is not, its place is free for the chord that goes on.
    """
    if face.figure is None:
        _draw_refusal(sheet, face)
        return
    figure, label = figure_words(face), figure_label(face)
    end = sheet.write(figure, 1, 1, fitting(figure, EMBLEM.x - 3, HUGE, LARGE), standing=True)
    if end + 2 + SMALL.width(label) < EMBLEM.x:
        sheet.write(label, end + 2, 1 + HUGE.cap_rows - SMALL.cap_rows)
    _draw_word(sheet, face, 34)
    if emblem:
        draw_string(sheet, as_it_ended(face, ended), EMBLEM)


def _draw_word(sheet: Sheet, face: VerdictFace, y: int) -> None:
    """The word on its ground across the sheet: lit block for true, open tray for near, bare for all else."""
    columns = sheet.width - 2
    lettering = fitting(face.word, columns, LARGE, LARGE_TIGHT, MEDIUM)
    rows = lettering.rows + 4
    true = face.word == "TRUE"
    if true:
        sheet.fill(1, y, columns, rows)
    elif face.word == "NEAR":
        _draw_tray(sheet, y + 2, rows - 1)
    end = sheet.write(face.word, 8 if face.word in GROUNDED else 1, y + 2, lettering, standing=True, dark=true)
    right = columns - 4
    if face.timing and SMALL.width(face.timing) <= right - end - GAP:
        sheet.write(face.timing, right, y + 4, SMALL, anchor="right", dark=true)
    if face.ending and face.ending.upper() != face.word and SMALL.width(face.ending) <= right - end - GAP:
        sheet.write(face.ending, right, y + rows - SMALL.rows - 4, SMALL, anchor="right", dark=true)


def _draw_tray(sheet: Sheet, y: int, rows: int) -> None:
    """Two sides and a floor: a lid would touch the letters."""
    columns = sheet.width - 2
    sheet.fill(1, y, 2, rows)
    sheet.fill(columns - 1, y, 2, rows)
    sheet.fill(1, y + rows - 2, columns, 2)


def as_it_ended(face: VerdictFace, ended: StringPicture) -> StringPicture:
    """The string where the verdict found it: off the post by its error, or at its height in the zone; flat if released.

    The word decides whether it touches: true bands are narrower against a drone.
    """
    figure = float(face.figure or 0)
    if face.is_height or face.word == "RELEASED":
        zone = replace(ended, target_cents=None, zone_cents=ended.zone_cents or USUAL_ZONE, blind=False)
        let_down = face.word == "RELEASED"
        return replace(zone, now_cents=0.0 if let_down else figure, peak_cents=figure if let_down else None)
    target = ended.target_cents or USUAL_TARGET_CENTS
    true = abs(figure) if face.word == "TRUE" else abs(figure) - 0.5
    return StringPicture(target + figure, target, true_cents=true)


def draw_band(sheet: Sheet, face: VerdictFace, y: int) -> None:
    """The verdict in one line of 24 rows, for when the string needs the rest of the sheet."""
    columns = sheet.width - 2
    figure = figure_words(face)
    for lettering in (LARGE, LARGE_TIGHT):
        if figure and lettering.width(face.word) + lettering.width(figure) + 2 * GAP + 4 <= columns:
            sheet.write(figure, sheet.width - 1, y, lettering, anchor="right", standing=True)
            _draw_grounded(sheet, face, y, lettering)
            label, left = figure_label(face), sheet.width - 4 - lettering.width(figure)
            if left - SMALL.width(label) > lettering.width(face.word) + GAP + 4:
                sheet.write(label, left, y + lettering.cap_rows - SMALL.cap_rows, anchor="right")
            return
    _draw_grounded(sheet, face, y, fitting(face.word, columns, LARGE, LARGE_TIGHT, MEDIUM))
    room = columns - LARGE.width(face.word) - GAP
    small = next((c for c in (MEDIUM, SMALL) if figure and c.width(figure) <= room), None)
    if small:
        sheet.write(figure, sheet.width - 1, y + 24 - small.rows, small, anchor="right")


def draw_last(sheet: Sheet, now: str, face: VerdictFace, y: int) -> None:
    """While the next note sounds: it is named large; at the right, smaller, the last verdict with its own note."""
    left = sheet.write(now, 1, y, fitting(now, 46, LARGE, LARGE_TIGHT), standing=True) + GAP
    right = sheet.width - 1
    lettering = fitting(face.word, right - left - 4, MEDIUM, SMALL)
    columns = lettering.width(face.word) + 4
    if face.word == "TRUE":
        sheet.fill(right - columns, y - 1, columns, lettering.cap_rows + 2)
    elif face.word == "NEAR":
        sheet.fill(right - columns, y + lettering.cap_rows, columns, 1)
    sheet.write(face.word, right - 2, y, lettering, anchor="right", dark=face.word == "TRUE")
    parts = (for_eyes(face.note), figure_label(face), figure_words(face))
    sheet.write(" ".join(part for part in parts if part), right - 2, y + 18, anchor="right")


def _draw_grounded(sheet: Sheet, face: VerdictFace, y: int, lettering: Lettering) -> None:
    width = lettering.width(face.word)
    true = face.word == "TRUE"
    if true:
        sheet.fill(1, y - 1, width + 8, lettering.rows + 2)
    elif face.word == "NEAR":
        sheet.ink.rectangle((1, y + 25, 1 + width, y + 26), fill=255)
    sheet.write(face.word, 5 if true else 1, y, lettering, standing=True, dark=true)


def _draw_refusal(sheet: Sheet, face: VerdictFace) -> None:
    """Nothing to measure: the word as large as it goes, and why."""
    columns = sheet.width - 2
    lines = [face.word] if LARGE_TIGHT.width(face.word) <= columns else broken(face.word, columns, LARGE_TIGHT)
    lettering = fitting(max(lines, key=LARGE.width), columns, *((HUGE,) if len(lines) == 1 else ()), LARGE, LARGE_TIGHT)
    y = 1
    for line in lines:
        sheet.write(line, sheet.width // 2, y, lettering, anchor="middle", standing=True)
        y += lettering.rows + 2
    for words in told([face.line], columns, SMALL, (sheet.height - y) // SMALL.rows):
        sheet.write(words, sheet.width // 2, y, SMALL, anchor="middle")
        y += SMALL.rows
