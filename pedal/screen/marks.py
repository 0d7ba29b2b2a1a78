"""Small marks: what is wrong or on, a shape for each rung, the place in a list."""

from __future__ import annotations

from collections.abc import Sequence

from pedal.modes.screen_model import Side, Status
from pedal.screen.canvas import DARK, LARGE, LARGE_TIGHT, LIT, MEDIUM, SMALL, Canvas, Lettering, cut, fitting
from pedal.screen.letters import SMALL_FACE
from pedal.screen.phrases import drone_words, key_within, troubles
from pedal.theory.pulse import BEATS_A_BAR
from pedal.theory.spelling import for_eyes

APART = 4
"""Columns that part two words of a line at the least."""
RUNG_DOTS = 6
SIDE_COLUMNS = 17
BETWEEN_APART = 4
BADGE_ROWS = SMALL_FACE.cap_rows + 2


def draw_headline(canvas: Canvas, words: str, y: int = 1) -> None:
    """Words in large letters, across the canvas."""
    canvas.write(words, 1, y, fitting(words, canvas.width - 2, LARGE, LARGE_TIGHT), standing=True)


def draw_ends(canvas: Canvas, left: str, right: str, y: int) -> None:
    """Words in large letters at both ends of one line."""
    room = canvas.width - 2 - APART
    lettering = next((c for c in (LARGE, LARGE_TIGHT) if c.width(left) + c.width(right) <= room), LARGE_TIGHT)
    canvas.write(left, 1, y, lettering, standing=True)
    canvas.write(right, canvas.width - 1, y, lettering, anchor="right", standing=True)


def draw_pair(canvas: Canvas, left: str, right: str = "", *, y: int = 1) -> None:
    """On 32 rows: one line of words, in the largest letters that hold both ends apart."""
    lettering = _pair_lettering(canvas, left, right)
    canvas.write(left, 1, y, lettering, standing=True)
    canvas.write(right, canvas.width - 1, y, lettering, anchor="right", standing=True)


def fits_between_pair(canvas: Canvas, words: str, left: str, right: str) -> bool:
    """Whether small words in the middle of the canvas touch neither end of such a line."""
    lettering, half = _pair_lettering(canvas, left, right), (SMALL.width(words) + 1) // 2 + 1
    middle = canvas.width // 2
    return 1 + lettering.width(left) <= middle - half and middle + half <= canvas.width - 1 - lettering.width(right)


def _pair_lettering(canvas: Canvas, left: str, right: str) -> Lettering:
    room = canvas.width - 8
    return next((c for c in (LARGE, LARGE_TIGHT, MEDIUM) if c.width(left) + c.width(right) <= room), SMALL)


def badge_columns(words: str) -> int:
    """How many dots wide a badge of these words is, its margins included."""
    return SMALL.width(words) + 4


def draw_badge(canvas: Canvas, words: str, right: int, y: int) -> int:
    """Dark words on a lit ground, ending before the column `right`; returns the badge's first column."""
    columns = badge_columns(words)
    canvas.fill(right - columns, y, columns, BADGE_ROWS)
    canvas.write(words, right - columns + 2, y + 1, SMALL, dark=True)
    return right - columns


def draw_troubles(canvas: Canvas, status: Status, left: int) -> int:
    """A badge each in the upper right corner, the most urgent at the edge, as many as end right of the column `left`.

    Returns the column before which there is still room.
    """
    right = canvas.width - 1
    for trouble in troubles(status):
        if right - badge_columns(trouble) < left:
            break
        right = draw_badge(canvas, trouble, right, 0) - 3
    return right


def draw_heading(canvas: Canvas, status: Status, words: str | None = None, shorter: str = "") -> None:
    """The mode and what the pedal sounds; at the right end troubles, and `words`, the key if there are none.

    Without room for the words `shorter` stands there; without room for that, nothing.
    """
    left = canvas.write(status.mode.upper(), 1, 1) + 6
    if status.drone or status.chord:
        left = canvas.write(drone_words(status), left, 1) + 6
    right = draw_troubles(canvas, status, left)
    room = right - left
    said = key_within(status.key, room, SMALL) if words is None else words
    if SMALL.width(said) > room:
        said = shorter
    if SMALL.width(said) <= room:
        canvas.write(said, right, 1, anchor="right")


def draw_heavy(canvas: Canvas, words: str, x: int, y: int) -> None:
    """A weight with its handle, and how heavy."""
    canvas.frame(x + 3, y, 5, 4)
    canvas.ink.polygon(((x + 1, y + 3), (x + 9, y + 3), (x + 10, y + 8), (x, y + 8)), fill=LIT)
    canvas.write(words, x + 14, y + 2)


def draw_name(canvas: Canvas, title: str, y: int) -> None:
    """A lick's name, or the first of its notes, as much as can be read standing."""
    room, words = canvas.width - 2, for_eyes(title.removeprefix("new ")).upper()
    while LARGE_TIGHT.width(words) > room and " " in words.rstrip("… "):
        words = words.rstrip("… ").rpartition(" ")[0] + "…"
    draw_headline(canvas, cut(words, room, LARGE_TIGHT), y)


def draw_chord(
    canvas: Canvas,
    chord: str,
    right: int,
    y: int,
    *,
    beat: int,
    beat_y: int | None = None,
    lettering: Lettering = LARGE_TIGHT,
) -> int:
    """A chord, ending before the column `right`: its root to be read standing, where bends may follow it.

    What kind it is stands small: it is the same in all bars, and a small m is no capital. Returns its first column.
    """
    root = chord[:2] if chord[1:2] in ("b", "#") else chord[:1]
    kind = chord[len(root) :]
    x = right - lettering.width(for_eyes(root)) - (SMALL.width(kind) + 1 if kind else 0)
    canvas.fill(x - 2, y - 1, right - x + 3, lettering.cap_rows + 2, dark=True)
    end = canvas.write(for_eyes(root), x, y, lettering, standing=lettering is LARGE_TIGHT)
    canvas.write(kind, end + 1, y + lettering.cap_rows - SMALL.cap_rows)
    draw_beat(canvas, beat, right, y + lettering.cap_rows + 2 if beat_y is None else beat_y)
    return x


def draw_side(canvas: Canvas, side: Side, right: int, y: int) -> None:
    """A post for the beat, before the column `right`: a flag before it says early, after it late; a block, on it."""
    middle = right - SIDE_COLUMNS // 2 - 1
    canvas.fill(middle - 1, y, 3, LARGE.cap_rows)
    if side == "on":
        canvas.fill(middle - 5, y + 7, 11, 10)
        return
    for step in range(7):
        columns = 7 - step if side == "late" else step + 1
        canvas.fill(middle + 2 + step if side == "late" else middle - 8 + step, y + 12 - columns, 1, 2 * columns)


def draw_beat(canvas: Canvas, beat: int, right: int, y: int) -> None:
    """Four places of a bar, the one that sounds now filled; nothing without a pulse."""
    for place in range(BEATS_A_BAR if beat else 0):
        x = right - 6 * (BEATS_A_BAR - place) + 1
        canvas.fill(x - 1, y - 1, 6, 5, dark=True)
        if place == beat - 1:
            canvas.fill(x, y, 4, 3)
        else:
            canvas.fill(x + 1, y + 1, 2, 1)


def draw_margins(canvas: Canvas, status: Status, y: int, *, lettering: Lettering = LARGE_TIGHT) -> None:
    """In the upper corners of the string's field, over what is there; the beat below it.

    Left the mode, right the worst trouble, else the chord that the pedal sounds.
    """
    canvas.write(status.mode.upper(), 1, y, cleared=True)
    trouble = next(troubles(status), "")
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, y - 1)
    elif status.chord:
        beat_y = canvas.height - 3 if lettering is LARGE_TIGHT else None
        draw_chord(canvas, status.chord, canvas.width - 1, y, beat=status.beat, beat_y=beat_y, lettering=lettering)
    elif status.drone:
        canvas.write("DRONE", canvas.width - 1, y, anchor="right", cleared=True)


def draw_rungs(canvas: Canvas, rungs: Sequence[str], index: int | None, y: int, *, bar_rows: int = 2) -> None:
    """A shape for each rung: dot open, block true, frame near, cross missed, dash skipped, stroke crossed off.

    The one at `index` has a bar of `bar_rows` above it.
    """
    pitch = min(10, (canvas.width - 2) // max(1, len(rungs)))
    left = (canvas.width - pitch * len(rungs) + pitch - RUNG_DOTS) // 2
    for place, rung in enumerate(rungs):
        x = left + pitch * place
        _draw_rung(canvas, rung, x, y)
        if place == index:
            canvas.fill(x - 1, y - 1 - bar_rows, RUNG_DOTS + 2, bar_rows)


def _draw_rung(canvas: Canvas, rung: str, x: int, y: int) -> None:
    end = RUNG_DOTS - 1
    match rung:
        case "true":
            canvas.fill(x, y, RUNG_DOTS, RUNG_DOTS)
        case "near":
            canvas.frame(x, y, RUNG_DOTS, RUNG_DOTS)
        case "missed":
            canvas.ink.line((x, y, x + end, y + end), fill=LIT)
            canvas.ink.line((x, y + end, x + end, y), fill=LIT)
        case "skipped":
            canvas.fill(x, y + 2, RUNG_DOTS, 2)
        case "crossed":
            canvas.ink.line((x, y + end, x + end, y), fill=LIT)
        case _:
            canvas.fill(x + 2, y + 2, 2, 2)


def draw_place(canvas: Canvas, index: int, count: int, y: int) -> None:
    """Where we are in a list: a thin rail with a lit part."""
    if count < 2:
        return
    columns = canvas.width - 2
    canvas.ink.line((1, y + 1, columns, y + 1), fill=LIT)
    start, end = columns * index // count, columns * (index + 1) // count
    canvas.fill(1 + start, y, end - start, 3)
    canvas.ink.point((1 + start, y + 1), fill=DARK)


def draw_place_beside(canvas: Canvas, index: int, count: int, x: int) -> None:
    """The same rail upright, where lines of words take all rows."""
    if count < 2:
        return
    rows = canvas.height - 2
    canvas.ink.line((x + 1, 1, x + 1, rows), fill=LIT)
    start, end = rows * index // count, rows * (index + 1) // count
    canvas.fill(x, 1 + start, 3, end - start)
    canvas.ink.point((x + 1, 1 + start), fill=DARK)


def draw_between(canvas: Canvas, words: str, left: str, right: str, y: int) -> None:
    """Small, in one or two lines, in the gap between large letters `left` and `right` at a line's ends; or nothing."""
    for lettering in (LARGE, LARGE_TIGHT):
        if lettering.width(left) + lettering.width(right) > canvas.width - 2 - BETWEEN_APART:
            continue
        begin = 1 + lettering.width(left) + BETWEEN_APART
        end = canvas.width - 1 - lettering.width(right) - BETWEEN_APART
        for lines in ([words], words.rsplit(" ", 1)):
            if max(SMALL.width(line) for line in lines) <= end - begin:
                for place, line in enumerate(lines):
                    canvas.write(line, (begin + end - SMALL.width(line)) // 2, y + SMALL.rows * place)
                return
        return
