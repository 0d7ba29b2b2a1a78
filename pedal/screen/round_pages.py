"""The screens of a Round, for standing, for sitting, and on 32 rows: its beginning, what to play, rest, three lines.

Before the pluck the verb stands where the string will be: what to do, with which fingers, and whether it is heavy.
"""

from __future__ import annotations

from pedal.modes.screen_model import (
    RoundEndScreen,
    RoundRestScreen,
    RoundScreen,
    RoundStartScreen,
    StringPicture,
)
from pedal.screen.canvas import HUGE, MEDIUM, SMALL, Canvas, ellipsis, fitting, wrap
from pedal.screen.marks import (
    APART,
    draw_badge,
    draw_between,
    draw_ends,
    draw_heading,
    draw_headline,
    draw_pair,
    draw_place,
    draw_rungs,
)
from pedal.screen.phrases import bend_words, ringed, signed, troubles, verdict_words
from pedal.screen.string_view import Field, draw_string
from pedal.screen.verdict_page import draw_band
from pedal.theory.spelling import for_eyes

RoundModel = RoundStartScreen | RoundScreen | RoundRestScreen | RoundEndScreen
FIELD = Field(x=1, columns=126, rest_y=48, rise=21)
CLOSE_FIELD = Field(x=1, columns=126, rest_y=50, rise=19, thickness=2)
LOW_FIELD = Field(x=1, columns=126, rest_y=28, rise=26)
MARKS_Y, LOW_MARKS_Y, VERB_Y = 57, 26, 33
PART_WORDS = {
    "plain": "play", "curl": "curl", "half": "half step", "bend": "bend", "prebend": "pre-bend", "between": "fret it",
}  # fmt: skip


def draw_round_glance(canvas: Canvas, model: RoundModel) -> None:
    """A page of a Round for a glance from 1.6 m: one headline, one figure, what is still wanted."""
    match model:
        case RoundStartScreen():
            draw_headline(canvas, "ROUND", 1)
            draw_headline(canvas, f"{model.minutes} MIN", 28)
            canvas.write(_start_words(model), 1, 54)
        case RoundRestScreen():
            draw_headline(canvas, "REST", 1)
            canvas.write(f"{model.seconds}", 1, 29, HUGE, standing=True)
            _beside(canvas, ("let the hand", "hang, keep", "it warm"), 58, 32)
        case RoundEndScreen():
            title, short, _ = model.lines[model.page]
            draw_headline(canvas, title.upper(), 1)
            draw_headline(canvas, _short(short), 30)
            draw_place(canvas, model.page, len(model.lines), 59)
        case RoundScreen():
            _glance_item(canvas, model)


def _glance_item(canvas: Canvas, model: RoundScreen) -> None:
    if model.verdict is not None and not _sounding(model):
        draw_band(canvas, model.verdict, 2)
        draw_ends(canvas, *_where(model), 30)
        draw_between(canvas, model.verdict.timing, *_where(model), 35)
    else:
        # A row higher where fingers are named, so that their line stands free of the verb below it.
        top = 0 if model.support and not _sounding(model) else 1
        draw_ends(canvas, *_where(model), top)
        if _sounding(model):
            draw_string(canvas, model.picture, FIELD)
        else:
            draw_headline(canvas, "PAUSED" if model.paused else PART_WORDS[model.part].upper(), VERB_Y)
        _margins(canvas, model, 25 + top)
    if model.marks:
        verb = model.verdict is None and not _sounding(model)
        draw_rungs(canvas, model.marks, None, MARKS_Y + verb)


def _sounding(model: RoundScreen) -> bool:
    """Whether there is a string to be looked at: not before it sounds, and never of a pre-bend."""
    bent = model.part in ("curl", "half", "bend")
    return bent and model.picture.now_cents is not None and not model.paused


def draw_round_close(canvas: Canvas, model: RoundModel) -> None:
    """A page of a Round for close eyes: string, fret, fingers and figures as well."""
    match model:
        case RoundStartScreen():
            draw_heading(canvas, model.status, f"position {model.position}")
            canvas.write(f"{model.minutes} MINUTES", 1, 11, MEDIUM)
            _lines(canvas, ("next begins it; menu: another length", f"heavy bends left: {model.heavy_left}"), 33, 3)
        case RoundRestScreen():
            draw_heading(canvas, model.status, f"{model.minutes_left} min left", f"{model.minutes_left} min")
            canvas.write(f"REST {model.seconds}", 1, 11, MEDIUM)
            _lines(canvas, ("Let the hand hang, and shake it out. Stop at pain; next ends the rest.",), 33, 3)
        case RoundEndScreen():
            draw_heading(canvas, model.status, "done")
            y = 10
            for title, _, whole in model.lines:
                for line in ellipsis([f"{title}: {for_eyes(whole)}"], canvas.width - 2, SMALL, 2):
                    canvas.write(line, 1, y)
                    y += SMALL.rows
        case RoundScreen():
            _close_item(canvas, model)


def _close_item(canvas: Canvas, model: RoundScreen) -> None:
    left = f"task {model.homework}" if model.homework else f"{model.minutes_left} min"
    draw_heading(canvas, model.status, f"{PART_WORDS[model.part]}  {left}", left)
    place, goal = _where(model)
    names = bend_words(model.note, model.target, "") if model.target != model.note else goal
    where = f"{place} {names}"
    card = model.verdict
    if card is not None and not _sounding(model):
        words = verdict_words(card)
        canvas.write(words, 1, 12, fitting(words, canvas.width - 2, MEDIUM, SMALL))
        canvas.write(where, 1, 30)
        told = card.timing or for_eyes(card.line)
        more = for_eyes(", ".join(card.more)) if card.timing else ""
        _lines(canvas, tuple(filter(None, (told, more))), 39, 2, step=SMALL.rows)
    else:
        if _sounding(model):
            draw_string(canvas, model.picture, CLOSE_FIELD)
            canvas.write(signed(model.picture.now_cents or 0.0), canvas.width - 1, 30, anchor="right", cleared=True)
        elif model.part == "prebend":
            draw_string(canvas, StringPicture(blind=True), Field(x=1, columns=126, rest_y=52, rise=11, thickness=1))
        canvas.write(where, 1, 11, fitting(where, canvas.width - 2, MEDIUM, SMALL), cleared=True)
        under = "paused: play to go on" if model.paused else model.support
        canvas.write("" if _sounding(model) else under, 1, 30)
    if model.marks:
        draw_rungs(canvas, model.marks, None, MARKS_Y)


def draw_round_low(canvas: Canvas, model: RoundModel) -> None:
    """On 32 rows."""
    match model:
        case RoundStartScreen():
            draw_pair(canvas, "ROUND", f"{model.minutes}'", y=0)
            canvas.write(f"HEAVY LEFT {model.heavy_left}", 1, 25)
        case RoundRestScreen():
            draw_pair(canvas, "REST", f"{model.seconds}", y=2)
        case RoundEndScreen():
            title, short, _ = model.lines[model.page]
            canvas.write(title.upper(), 1, 0)
            words = _short(short)
            canvas.write(words, 1, 9, fitting(words, canvas.width - 8, MEDIUM, SMALL), standing=True)
            draw_place(canvas, model.page, len(model.lines), 29)
        case RoundScreen():
            _low_item(canvas, model)


def _low_item(canvas: Canvas, model: RoundScreen) -> None:
    place, goal = _where(model)
    trouble, unmarked = next(troubles(model.status), ""), _sounding(model)
    if model.verdict is not None and not _sounding(model):
        words = verdict_words(model.verdict)
        room = canvas.width - 8 - SMALL.width(f"{place} {goal}")
        canvas.write(words, 1, 3, fitting(words, room, MEDIUM, SMALL), standing=True)
        canvas.write(f"{place} {goal}", canvas.width - 1, 11, anchor="right")
    elif _sounding(model):
        draw_string(canvas, model.picture, LOW_FIELD)
        canvas.write(f"{place} {goal}", 1, 1, cleared=True)
    else:
        if trouble:  # its badge has the lower corner
            canvas.write(f"{place} {goal}", 1, 0, MEDIUM, standing=True)
        else:
            draw_pair(canvas, place, goal, y=0)
        words = "paused" if model.paused else PART_WORDS[model.part]
        unmarked = not model.marks or model.part == "prebend" or model.paused
        if unmarked:
            canvas.write(words.upper(), 1, 25)
    if model.marks and not unmarked:
        draw_rungs(canvas, model.marks, None, LOW_MARKS_Y)
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, 22)


def _where(model: RoundScreen) -> tuple[str, str]:
    """Ringed string and fret; and the note, with a wave if it is curled, an arrow if it is bent to."""
    place = f"{ringed(model.string)}{model.fret}"
    if model.part == "curl":
        return place, f"{for_eyes(model.note)}~"
    return place, for_eyes(model.note) if model.part in ("plain", "between") else f"▸{for_eyes(model.target)}"


def _start_words(model: RoundStartScreen) -> str:
    return f"next begins   heavy left {model.heavy_left}"


def _short(words: str) -> str:
    """Prose in capitals; the letters of a note stay as they are, and its sign is drawn."""
    name = words[:1].isupper() and any(letter.isdigit() for letter in words)
    return for_eyes(words).replace("-", "−") if name else words.upper()


def _margins(canvas: Canvas, model: RoundScreen, y: int) -> None:
    """Small: what to do and with which fingers; the worst trouble, or how long it goes on."""
    words = "" if _sounding(model) else model.support.upper().replace(",", "")
    canvas.write(words, 1, y)
    trouble = next(troubles(model.status), "")
    room = canvas.width - 2 - SMALL.width(words) - APART
    if trouble and _sounding(model):
        draw_badge(canvas, trouble, canvas.width - 1, y - 1)
        return
    left = trouble or _otherwise(model)
    if SMALL.width(left) <= room:
        canvas.write(left, canvas.width - 1, y, anchor="right", cleared=_sounding(model))


def _otherwise(model: RoundScreen) -> str:
    """What is told where nothing is wrong."""
    if model.homework and not _sounding(model):
        return f"TASK {model.homework}"
    return "DRONE" if model.status.drone else f"{model.minutes_left} MIN"


def _beside(canvas: Canvas, lines: tuple[str, ...], x: int, y: int) -> None:
    for line in lines:
        canvas.write(line, x, y)
        y += SMALL.rows


def _lines(canvas: Canvas, sentences: tuple[str, ...], y: int, most: int, *, step: int = SMALL.rows + 1) -> None:
    lines = [line for words in sentences for line in wrap(words, canvas.width - 2, SMALL)]
    for line in ellipsis(lines, canvas.width - 2, SMALL, most):
        canvas.write(line, 1, y)
        y += step
