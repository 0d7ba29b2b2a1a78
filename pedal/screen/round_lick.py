"""The screens of a lick in a Round: the strip of Lick, and below it how often it was right and how often not."""

from __future__ import annotations

from pedal.modes.screen_model import RoundLickScreen
from pedal.screen.canvas import MEDIUM, SMALL, Canvas, cut, fitting
from pedal.screen.marks import APART, draw_badge, draw_ends, draw_name, draw_rungs
from pedal.screen.phrases import troubles
from pedal.screen.strip import FEW, LARGEST, USUAL, draw_strip, line_of, strip_rows
from pedal.theory.spelling import for_eyes

MARKS_Y = 57
STRIP_Y, CLOSE_STRIP_Y, LOW_STRIP_Y = 27, 29, 18


def draw_round_lick_glance(canvas: Canvas, model: RoundLickScreen) -> None:
    """Standing: how it went or where one is, in large letters; the strip; the tries."""
    left, right = _words(model)
    if right or model.paused or not model.title:
        draw_ends(canvas, left, right, 1)
    else:
        draw_name(canvas, model.title, 1)
    count = len(model.strip.strip)
    size = LARGEST if count <= FEW else USUAL if strip_rows(count, 2) == 1 else 8
    below = draw_strip(canvas, model.strip, STRIP_Y, rows=2, size=size)
    if below + SMALL.rows <= MARKS_Y + 1:
        _line(canvas, model, below)
    trouble = next(troubles(model.status), "")
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, STRIP_Y)
    draw_rungs(canvas, model.marks, None, MARKS_Y)


def draw_round_lick_close(canvas: Canvas, model: RoundLickScreen) -> None:
    """Sitting: its name too, and what is left of the Round or of the homework."""
    left = canvas.write("ROUND", 1, 1) + 6
    trouble = next(troubles(model.status), "")
    words = f"lick  {f'task {model.homework}' if model.homework else f'{model.minutes_left} min'}"
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, 0)
    elif SMALL.width(words) <= canvas.width - 1 - left:
        canvas.write(words, canvas.width - 1, 1, anchor="right")
    strip = model.strip
    count = " ".join(filter(None, (strip.count, for_eyes(strip.note))))
    title = "PAUSED" if model.paused else for_eyes(model.title)
    room = canvas.width - 2 - (SMALL.width(count) + APART if count else 0)
    canvas.write(cut(title, room, SMALL), 1, 11, fitting(title, room, MEDIUM, SMALL))
    canvas.write(count, canvas.width - 1, 14, anchor="right")
    below = draw_strip(canvas, strip, CLOSE_STRIP_Y, rows=2, size=7)
    if below + SMALL.rows <= MARKS_Y + 1 and strip.line != strip.title:
        _line(canvas, model, below)
    draw_rungs(canvas, model.marks, None, MARKS_Y)


def draw_round_lick_low(canvas: Canvas, model: RoundLickScreen) -> None:
    """On 32 rows there is no room for the tries but as a figure, before the lick is played."""
    left, right = _words(model)
    if not model.strip.count:
        right = f"{model.marks.count('true')}/{model.marks.count('true') + model.marks.count('open')}"
    trouble = next(troubles(model.status), "")
    taken = SMALL.width(trouble) + 4 if trouble else MEDIUM.width(right)
    canvas.write(left, 1, 0, fitting(left, canvas.width - 8 - taken, MEDIUM, SMALL), standing=True)
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, 1)
    else:
        canvas.write(right, canvas.width - 1, 0, MEDIUM, anchor="right", standing=True)
    draw_strip(canvas, model.strip, LOW_STRIP_Y, rows=1, size=8)


def _words(model: RoundLickScreen) -> tuple[str, str]:
    """What stands large: the count and the note while it is played and after, else which lick."""
    if model.paused:
        return "PAUSED", ""
    if model.strip.count:
        return model.strip.count, for_eyes(model.strip.note)
    return model.strip.title.upper(), ""


def _line(canvas: Canvas, model: RoundLickScreen, y: int) -> None:
    """How it went in words; before that, the lick's name, and what else there is to know."""
    strip = model.strip
    if strip.line != strip.title:
        words = next(iter(line_of(strip, canvas.width - 2, 1)), "")
    else:
        more = (f"TASK {model.homework}" if model.homework else "", "HEAVY" if model.heavy else "")
        which = for_eyes(model.title) if strip.count or model.paused else strip.title.upper()
        words = "  ".join(filter(None, (*more, which)))
    canvas.write(cut(words, canvas.width - 2, SMALL), 1, y)
