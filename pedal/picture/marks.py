"""Small marks: what is wrong or on, a shape for each rung, the place in a list."""

from __future__ import annotations

from collections.abc import Sequence

from pedal.modes.screen_model import Status
from pedal.picture.letters import SMALL_FACE
from pedal.picture.phrases import troubles
from pedal.picture.sheet import DARK, LIT, MEDIUM, SMALL, Sheet
from pedal.theory.pulse import BEATS_A_BAR
from pedal.theory.spelling import for_eyes

RUNG_DOTS = 6


def draw_badge(sheet: Sheet, words: str, right: int, y: int) -> int:
    """Dark words on a lit ground, ending before the column `right`; returns the badge's first column."""
    columns = SMALL.width(words) + 4
    sheet.fill(right - columns, y, columns, SMALL_FACE.cap_rows + 2)
    sheet.write(words, right - columns + 2, y + 1, SMALL, dark=True)
    return right - columns


def draw_heavy(sheet: Sheet, words: str, x: int, y: int) -> None:
    """A weight with its handle, and how heavy."""
    sheet.frame(x + 3, y, 5, 4)
    sheet.ink.polygon(((x + 1, y + 3), (x + 9, y + 3), (x + 10, y + 8), (x, y + 8)), fill=LIT)
    sheet.write(words, x + 14, y + 2)


def draw_chord(sheet: Sheet, chord: str, right: int, y: int, *, beat: int = 0) -> None:
    """A chord, ending before the column `right`: its root large; what kind it is small, for a small m is no capital."""
    root = chord[:2] if chord[1:2] in ("b", "#") else chord[:1]
    kind = chord[len(root) :]
    x = right - MEDIUM.width(for_eyes(root)) - (SMALL.width(kind) + 1 if kind else 0)
    sheet.fill(x - 2, y - 1, right - x + 3, MEDIUM.cap_rows + 2, dark=True)
    end = sheet.write(for_eyes(root), x, y, MEDIUM)
    sheet.write(kind, end + 1, y + MEDIUM.cap_rows - SMALL.cap_rows)
    draw_beat(sheet, beat, right, y + MEDIUM.cap_rows + 2)


def draw_beat(sheet: Sheet, beat: int, right: int, y: int) -> None:
    """Four places of a bar, the one that sounds now filled; nothing without a pulse."""
    for place in range(BEATS_A_BAR if beat else 0):
        x = right - 6 * (BEATS_A_BAR - place) + 1
        sheet.fill(x - 1, y - 1, 6, 5, dark=True)
        if place == beat - 1:
            sheet.fill(x, y, 4, 3)
        else:
            sheet.fill(x + 1, y + 1, 2, 1)


def draw_margins(sheet: Sheet, status: Status, y: int) -> None:
    """In the upper corners of the string's field, over what is there.

    Left the mode, right the worst trouble, else the chord that the pedal sounds.
    """
    sheet.write(status.mode.upper(), 1, y, cleared=True)
    trouble = next(troubles(status), "")
    if trouble:
        draw_badge(sheet, trouble, sheet.width - 1, y - 1)
    elif status.chord:
        draw_chord(sheet, status.chord, sheet.width - 1, y, beat=status.beat)
    elif status.drone:
        sheet.write("DRONE", sheet.width - 1, y, anchor="right", cleared=True)


def draw_rungs(sheet: Sheet, rungs: Sequence[str], index: int | None, y: int, *, bar_rows: int = 2) -> None:
    """A shape for each rung: dot open, block true, frame near, cross missed, dash skipped, stroke crossed off.

    The one at `index` has a bar of `bar_rows` above it.
    """
    pitch = min(10, (sheet.width - 2) // max(1, len(rungs)))
    left = (sheet.width - pitch * len(rungs) + pitch - RUNG_DOTS) // 2
    for place, rung in enumerate(rungs):
        x = left + pitch * place
        _draw_rung(sheet, rung, x, y)
        if place == index:
            sheet.fill(x - 1, y - 1 - bar_rows, RUNG_DOTS + 2, bar_rows)


def _draw_rung(sheet: Sheet, rung: str, x: int, y: int) -> None:
    end = RUNG_DOTS - 1
    match rung:
        case "true":
            sheet.fill(x, y, RUNG_DOTS, RUNG_DOTS)
        case "near":
            sheet.frame(x, y, RUNG_DOTS, RUNG_DOTS)
        case "missed":
            sheet.ink.line((x, y, x + end, y + end), fill=LIT)
            sheet.ink.line((x, y + end, x + end, y), fill=LIT)
        case "skipped":
            sheet.fill(x, y + 2, RUNG_DOTS, 2)
        case "crossed":
            sheet.ink.line((x, y + end, x + end, y), fill=LIT)
        case _:
            sheet.fill(x + 2, y + 2, 2, 2)


def draw_place(sheet: Sheet, index: int, count: int, y: int) -> None:
    """Where we are in a list: a thin rail with a lit part."""
    if count < 2:
        return
    columns = sheet.width - 2
    sheet.ink.line((1, y + 1, columns, y + 1), fill=LIT)
    start, end = columns * index // count, columns * (index + 1) // count
    sheet.fill(1 + start, y, end - start, 3)
    sheet.ink.point((1 + start, y + 1), fill=DARK)
