"""Standing: each screen model on 128 x 64 dots, with whatever must be read from 1.6 m in letters of 24 rows or more.

One rule of layout for all modes: the upper band says words and figures, the field below is the string. While a string
sounds the field dominates; when it is silent and judged, the verdict takes the sheet.
"""

from __future__ import annotations

from typing import assert_never

from pedal.modes.screen_model import (
    BlindScreen,
    CurlScreen,
    EchoScreen,
    LadderScreen,
    LadderSummaryScreen,
    LickScreen,
    MenuScreen,
    MessageScreen,
    RecallScreen,
    RoundEndScreen,
    RoundRestScreen,
    RoundScreen,
    RoundStartScreen,
    ScreenModel,
    StringPicture,
    TuneScreen,
    WatchScreen,
)
from pedal.screen.canvas import HUGE, LARGE, LARGE_TIGHT, MEDIUM, SMALL, Canvas, Lettering, ellipsis, fitting, wrap
from pedal.screen.marks import draw_badge, draw_margins, draw_place, draw_rungs
from pedal.screen.phrases import (
    bend_words,
    due_within,
    ringed,
    scale_of,
    signed_or_dash,
    tonic_of,
    troubles,
    tuning_figure,
)
from pedal.screen.round_pages import draw_round_glance
from pedal.screen.string_view import Field, draw_string
from pedal.screen.strip import FEW, LARGEST, USUAL, draw_strip, line_of, strip_rows
from pedal.screen.tune_view import draw_tuning
from pedal.screen.verdict_page import draw_band, draw_verdict
from pedal.theory.spelling import for_eyes

FIELD = Field(x=1, columns=126, rest_y=58, rise=30)
RUNG_FIELD = Field(x=1, columns=126, rest_y=48, rise=21)
MARGIN_Y = 28
TOLD_LINES = 3
APART = 4
"""Columns that part two words of a line at the least."""


def draw_glance(canvas: Canvas, model: ScreenModel) -> None:
    """Draw one model on an empty sheet of 128 x 64."""
    match model:
        case TuneScreen():
            _tune(canvas, model)
        case WatchScreen():
            _watch(canvas, model)
        case CurlScreen():
            _curl(canvas, model)
        case LadderScreen():
            _ladder(canvas, model)
        case LadderSummaryScreen():
            _summary(canvas, model)
        case BlindScreen():
            _blind(canvas, model)
        case EchoScreen():
            _echo(canvas, model)
        case LickScreen():
            _lick(canvas, model)
        case RecallScreen():
            _recall(canvas, model)
        case MenuScreen():
            _menu(canvas, model)
        case MessageScreen():
            _message(canvas, model)
        case RoundStartScreen() | RoundScreen() | RoundRestScreen() | RoundEndScreen():
            draw_round_glance(canvas, model)
        case _:
            assert_never(model)


def _headline(canvas: Canvas, words: str, y: int = 1) -> None:
    lettering = fitting(words, canvas.width - 2, LARGE, LARGE_TIGHT)
    canvas.write(words, 1, y, lettering, standing=True)


def _tune(canvas: Canvas, model: TuneScreen) -> None:
    if model.note is None:
        _headline(canvas, "PLUCK")
    else:
        name = for_eyes(model.note) if model.string is None else f"{ringed(model.string)}{for_eyes(model.note)}"
        _ends(canvas, name, tuning_figure(model), 1)
    draw_tuning(canvas, model.cents, Field(x=1, columns=126, rest_y=45, rise=14))
    draw_margins(canvas, model.status, MARGIN_Y)


def _ends(canvas: Canvas, left: str, right: str, y: int) -> None:
    """Words at both ends of one line."""
    room = canvas.width - 2 - APART
    lettering = next((c for c in (LARGE, LARGE_TIGHT) if c.width(left) + c.width(right) <= room), LARGE_TIGHT)
    canvas.write(left, 1, y, lettering, standing=True)
    canvas.write(right, canvas.width - 1, y, lettering, anchor="right", standing=True)


def _watch(canvas: Canvas, model: WatchScreen) -> None:
    sounding = model.string.now_cents is not None
    if model.verdict is not None and not sounding:
        draw_verdict(canvas, model.verdict, model.string)
        return
    if model.verdict is not None:
        draw_band(canvas, model.verdict, 1)
    else:
        _headline(canvas, bend_words(model.note, model.target, model.status.key))
        if model.note is None:
            _write_scale(canvas, model.status.key)
    draw_string(canvas, model.string, FIELD)
    draw_margins(canvas, model.status, MARGIN_Y)


def _write_scale(canvas: Canvas, key: str) -> None:
    """The scale's name beside the large tonic: for close eyes, who stands knows the key."""
    x = 1 + LARGE.width(tonic_of(key)) + 8
    for line, words in enumerate(wrap(scale_of(key), canvas.width - 1 - x, SMALL)[:2]):
        canvas.write(words, x, 5 + 10 * line)


def _curl(canvas: Canvas, model: CurlScreen) -> None:
    sounding = model.string.now_cents is not None
    if model.verdict is not None and not sounding:
        draw_verdict(canvas, model.verdict, model.string)
        return
    if model.verdict is not None:
        draw_band(canvas, model.verdict, 1)
    else:
        _headline(canvas, bend_words(model.note, None, model.status.key))
        canvas.write(f"×{model.streak}", canvas.width - 1, 1, LARGE, anchor="right", standing=True)
    draw_string(canvas, model.string, FIELD)
    draw_margins(canvas, model.status, MARGIN_Y)


def _where(canvas: Canvas, string: int | None, fret: int | None, target: str, y: int) -> None:
    """Ringed string, fret, and where to: "(3)8  ▸F4"."""
    place = ("" if string is None else ringed(string)) + ("" if fret is None else str(fret))
    _ends(canvas, place, f"▸{for_eyes(target)}", y)


def _ladder(canvas: Canvas, model: LadderScreen) -> None:
    if model.verdict is not None and model.picture.now_cents is None:
        draw_band(canvas, model.verdict, 1)
        _where(canvas, model.string, model.fret, model.target, 28)
    else:
        _where(canvas, model.string, model.fret, model.target, 1)
        draw_string(canvas, model.picture, RUNG_FIELD)
        draw_margins(canvas, model.status, MARGIN_Y - 1)
    draw_rungs(canvas, model.rungs, model.index, 57)


def _summary(canvas: Canvas, model: LadderSummaryScreen) -> None:
    canvas.write(f"{model.true_count}/{model.tried_count}", 1, 1, LARGE, standing=True)
    canvas.write("TRUE", canvas.width - 1, 9, MEDIUM, anchor="right")
    canvas.write(signed_or_dash(model.bias_cents), 1, 28, LARGE, standing=True)
    canvas.write("BIAS", canvas.width - 1, 36, MEDIUM, anchor="right")
    draw_rungs(canvas, model.rungs, None, 57)


def _blind(canvas: Canvas, model: BlindScreen) -> None:
    if model.verdict is not None and not model.waiting:
        draw_verdict(canvas, model.verdict, StringPicture(target_cents=200.0))
        return
    place = ("" if model.string is None else ringed(model.string)) + ("" if model.fret is None else str(model.fret))
    canvas.write(place, 1, 1, LARGE, standing=True)
    canvas.write(f"▸{for_eyes(model.target)}", 1, 30, HUGE, standing=True)
    draw_string(canvas, StringPicture(blind=True), Field(x=92, columns=34, rest_y=59, rise=58))
    trouble = next(troubles(model.status), "")
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, 2)


def _echo(canvas: Canvas, model: EchoScreen) -> None:
    if model.stage == "empty":
        _headline(canvas, "HOLD")
        _headline(canvas, "AND PLAY", 30)
        return
    if model.stage == "ready" and model.likeness is not None and model.string.now_cents is None:
        canvas.write(f"{model.likeness}%", 1, 1, HUGE, standing=True)
        _headline(canvas, "ALIKE", 38)
        return
    _headline(canvas, "LISTENING" if model.stage == "recording" else "NOW YOU")
    draw_string(canvas, model.string, FIELD)
    draw_margins(canvas, model.status, MARGIN_Y)


def _lick(canvas: Canvas, model: LickScreen) -> None:
    """What is asked or how it went in large letters, the strip, and one line of small ones."""
    if model.stage == "empty":
        _headline(canvas, "NO LICK" if model.line else "HOLD")
        if model.line:
            _told(canvas, model.line, 29)
        else:
            _headline(canvas, "AND PLAY", 30)
        return
    if model.stage == "recording":
        _headline(canvas, "LISTENING")
    elif model.count:
        _ends(canvas, model.count, for_eyes(model.note), 1)
    elif model.stage == "offer":
        _ends(canvas, model.asks.upper().replace("-", ""), for_eyes(model.note), 1)
    else:
        _headline(canvas, model.asks.upper())
    if len(line_of(model, canvas.width - 2, TOLD_LINES)) > 2:
        _told(canvas, model.line, 29)
        return
    count = len(model.strip)
    size = LARGEST if count <= FEW else USUAL if strip_rows(count, 2) == 1 else 8
    below = draw_strip(canvas, model, 27, rows=2, size=size)
    lines = line_of(model, canvas.width - 2, 2 if below <= 47 else 1)
    for line, words in enumerate(lines):
        canvas.write(words, 1, canvas.height - SMALL.rows * (len(lines) - line))
    trouble = next(troubles(model.status), "")
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, 26)


def _told(canvas: Canvas, words: str, y: int) -> None:
    """A sentence that matters more than the strip."""
    for line in ellipsis((for_eyes(words),), canvas.width - 2, SMALL, TOLD_LINES):
        canvas.write(line, 1, y)
        y += SMALL.rows


def _recall(canvas: Canvas, model: RecallScreen) -> None:
    if model.homework:
        share, _, by = model.homework.partition(" ")
        _headline(canvas, "HOMEWORK")
        _headline(canvas, share, 29)
        due = due_within(by, canvas.width - 8 - LARGE.width(share), SMALL)
        canvas.write(due, canvas.width - 1, 42, anchor="right")
        draw_place(canvas, model.page, model.pages, 59)
        return
    for line, row in enumerate(model.rows[:2]):
        _ends(canvas, for_eyes(row.target.replace(" curl", "~")), signed_or_dash(row.bias_cents), 1 + 28 * line)
    if not model.rows:
        _headline(canvas, "NOTHING")
        _headline(canvas, "YET", 29)
    draw_place(canvas, model.page, model.pages, 59)


def _menu(canvas: Canvas, model: MenuScreen) -> None:
    """Name and value in large letters; a long value takes both lines and leaves the name small above them."""
    name, value = model.items[model.index], for_eyes(model.value)
    columns = canvas.width - 4
    lines = wrap(value, columns, LARGE_TIGHT)
    if len(lines) == 1:
        _headline(canvas, name)
        _value_lines(canvas, lines, 32, LARGE_TIGHT, editing=model.editing)
    else:
        canvas.write(name.upper(), 1, 0)
        lettering = next((c for c in (LARGE_TIGHT, MEDIUM) if len(wrap(value, columns, c)) * c.rows <= 48), SMALL)
        _value_lines(canvas, wrap(value, columns, lettering), 9, lettering, editing=model.editing)
    draw_place(canvas, model.index, len(model.items), 61)


def _value_lines(canvas: Canvas, lines: list[str], y: int, lettering: Lettering, *, editing: bool) -> None:
    step = lettering.rows + (1 if len(lines) > 1 else 0)
    if editing:
        canvas.fill(1, y - 1, canvas.width - 2, step * len(lines) + 2)
    for line in lines:
        canvas.write(line, 2, y, lettering, standing=lettering.cap_rows >= LARGE.cap_rows, dark=editing)
        y += step


def _message(canvas: Canvas, model: MessageScreen) -> None:
    """The title large, in two lines if need be; what to do in small letters, as far as they go."""
    columns = canvas.width - 2
    y = 1
    for title in wrap(model.title, columns, LARGE_TIGHT)[:2]:
        _headline(canvas, title, y)
        y += LARGE.rows + 2
    for line in ellipsis(model.lines, columns, SMALL, (canvas.height - y) // SMALL.rows):
        canvas.write(line, 1, y)
        y += SMALL.rows
