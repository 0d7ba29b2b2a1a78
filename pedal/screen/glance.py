"""Standing: each screen model on 128 x 64 dots, with whatever must be read from 1.6 m in letters of 24 rows or more.

One rule of layout for all modes: the upper band says words and figures, the field below is the string. While a string
sounds the field dominates; when it is silent and judged, the verdict takes the canvas.
"""

from __future__ import annotations

from dataclasses import replace
from typing import assert_never

from pedal.modes.screen_model import (
    BlindScreen,
    CodeScreen,
    CurlScreen,
    EchoScreen,
    LadderScreen,
    LadderSummaryScreen,
    LickScreen,
    LookbackScreen,
    MenuScreen,
    MessageScreen,
    RecallScreen,
    RoundEndScreen,
    RoundLickScreen,
    RoundRestScreen,
    RoundScreen,
    RoundStartScreen,
    ScreenModel,
    Status,
    StringPicture,
    TuneScreen,
    VerdictCard,
    WatchScreen,
)
from pedal.screen.canvas import HUGE, LARGE, LARGE_TIGHT, MEDIUM, SMALL, Canvas, Lettering, ellipsis, fitting, wrap
from pedal.screen.code_page import draw_code_page
from pedal.screen.marks import (
    BADGE_ROWS,
    SIDE_COLUMNS,
    draw_badge,
    draw_between,
    draw_chord,
    draw_ends,
    draw_headline,
    draw_heavy,
    draw_margins,
    draw_name,
    draw_place,
    draw_rungs,
    draw_side,
)
from pedal.screen.phrases import (
    SILENT,
    bend_words,
    due_within,
    fingers_and_mark,
    lookback_title,
    lookback_word,
    middle_words,
    place_words,
    ringed,
    scale_of,
    signed_or_dash,
    tonic_of,
    troubles,
    tuning_figure,
)
from pedal.screen.round_lick import draw_round_lick_glance
from pedal.screen.round_pages import draw_round_glance
from pedal.screen.string_view import Field, draw_string, draw_tuning
from pedal.screen.strip import FEW, LARGEST, USUAL, draw_strip, line_of, strip_rows
from pedal.screen.verdict_page import draw_band, draw_verdict, last_verdict
from pedal.theory.spelling import for_eyes

FIELD = Field(x=1, columns=126, rest_y=58, rise=30)
RUNG_FIELD = Field(x=1, columns=126, rest_y=48, rise=21)
MARGIN_Y = 28
TOLD_LINES = 3
NAME_Y = 38
"""A lick's name, as large as what is asked of it."""


def draw_glance(canvas: Canvas, model: ScreenModel) -> None:
    """Draw one model on an empty canvas of 128 x 64."""
    match model:
        case TuneScreen():
            _tune(canvas, model)
        case WatchScreen() | CurlScreen() if model.verdict is not None:
            _with_verdict(canvas, model, model.verdict)
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
        case LookbackScreen():
            _lookback(canvas, model)
        case CodeScreen():
            draw_code_page(canvas, model)
        case MenuScreen():
            _menu(canvas, model)
        case MessageScreen():
            _message(canvas, model)
        case RoundLickScreen():
            draw_round_lick_glance(canvas, model)
        case RoundStartScreen() | RoundScreen() | RoundRestScreen() | RoundEndScreen():
            draw_round_glance(canvas, model)
        case _:
            assert_never(model)


def _tune(canvas: Canvas, model: TuneScreen) -> None:
    if model.note is None:
        draw_headline(canvas, "PLUCK")
    else:
        name = for_eyes(model.note) if model.string is None else f"{ringed(model.string)}{for_eyes(model.note)}"
        draw_ends(canvas, name, tuning_figure(model), 1)
    draw_tuning(canvas, model.cents, Field(x=1, columns=126, rest_y=45, rise=14))
    draw_margins(canvas, model.status, MARGIN_Y)


def _with_verdict(canvas: Canvas, model: WatchScreen | CurlScreen, card: VerdictCard) -> None:
    """Silent: the verdict has the canvas. While a note sounds: the verdict has shrunk beside it, with its own note."""
    if model.string.now_cents is None:
        _judged(canvas, card, model.string, model.status)
        return
    words = bend_words(model.note, None, model.status.key)
    canvas.lay(last_verdict(words, card, canvas.width, canvas.height))
    draw_string(canvas, model.string, FIELD)
    draw_margins(canvas, model.status, MARGIN_Y)


def _watch(canvas: Canvas, model: WatchScreen) -> None:
    words = bend_words(model.note, model.target, model.status.key)
    draw_headline(canvas, words)
    if model.note is None:
        _write_scale(canvas, model.status.key)
    draw_string(canvas, model.string, FIELD)
    draw_margins(canvas, model.status, MARGIN_Y)


def _judged(canvas: Canvas, card: VerdictCard, string: StringPicture, status: Status) -> None:
    """A verdict has the canvas; while chords go on, the one that sounds takes the place of the small string.

    A cable that has come out is told all the same: no note after this one would tell it.
    """
    if status.silent_input:
        draw_verdict(canvas, replace(card, line=""), string, emblem=False)
        draw_badge(canvas, SILENT, canvas.width - 1, 2 if card.figure is not None else canvas.height - BADGE_ROWS)
        return
    goes_on = bool(status.chord) and card.figure is not None
    free = draw_verdict(canvas, card, string, emblem=not goes_on)
    if goes_on:
        right = draw_chord(canvas, status.chord, canvas.width - 1, 2, beat=status.beat) - 5
        if card.side and right - SIDE_COLUMNS >= free:
            draw_side(canvas, card.side, right, 2)


def _write_scale(canvas: Canvas, key: str) -> None:
    """The scale's name beside the large tonic: for close eyes, who stands knows the key."""
    x = 1 + LARGE.width(tonic_of(key)) + 8
    for line, words in enumerate(wrap(scale_of(key), canvas.width - 1 - x, SMALL)[:2]):
        canvas.write(words, x, 5 + 10 * line)


def _curl(canvas: Canvas, model: CurlScreen) -> None:
    draw_headline(canvas, bend_words(model.note, None, model.status.key))
    canvas.write(f"×{model.streak}", canvas.width - 1, 1, LARGE, anchor="right", standing=True)
    draw_string(canvas, model.string, FIELD)
    draw_margins(canvas, model.status, MARGIN_Y)


def _ladder(canvas: Canvas, model: LadderScreen) -> None:
    place, goal = place_words(model.string, model.fret), f"▸{for_eyes(model.target)}"
    sounding = model.picture.now_cents is not None
    if model.verdict is not None and not sounding:
        draw_band(canvas, model.verdict, 1)
        canvas.fill(1, 26, canvas.width - 2, 1)
        if model.status.silent_input:
            draw_headline(canvas, SILENT, 29)
        else:
            draw_ends(canvas, place, goal, 29)
            then = "" if model.climbed else "NEXT "
            draw_between(canvas, f"{then}{for_eyes(model.status.chord)}".strip(), place, goal, 38)
    elif not sounding:
        draw_ends(canvas, place, goal, 1)
        _fingers(canvas, model)
    else:
        draw_ends(canvas, place, goal, 1)
        draw_string(canvas, model.picture, RUNG_FIELD)
        draw_margins(canvas, model.status, MARGIN_Y - 1, lettering=MEDIUM)
    draw_rungs(canvas, model.rungs, model.index, 57)


def _fingers(canvas: Canvas, model: LadderScreen) -> None:
    """Before the pluck: which finger bends and how many help, whether it is heavy, and the post."""
    fingers, heavy = fingers_and_mark(model.support)
    canvas.write(fingers.upper(), 1, 28, MEDIUM)
    if heavy:
        draw_heavy(canvas, heavy.upper(), 1, 45)
    draw_string(canvas, model.picture, Field(x=84, columns=42, rest_y=RUNG_FIELD.rest_y, rise=RUNG_FIELD.rise))
    trouble = next(troubles(model.status), "")
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, 45)
    elif model.status.chord:
        draw_chord(canvas, model.status.chord, canvas.width - 1, 28, beat=model.status.beat, lettering=MEDIUM)


def _summary(canvas: Canvas, model: LadderSummaryScreen) -> None:
    canvas.write(f"{model.true_count}/{model.tried_count}", 1, 1, LARGE, standing=True)
    canvas.write("TRUE", canvas.width - 1, 9, MEDIUM, anchor="right")
    canvas.write(signed_or_dash(model.bias_cents), 1, 28, LARGE, standing=True)
    canvas.write("BIAS", canvas.width - 1, 36, MEDIUM, anchor="right")
    draw_rungs(canvas, model.rungs, None, 57)


def _blind(canvas: Canvas, model: BlindScreen) -> None:
    if model.verdict is not None and not model.waiting:
        _judged(canvas, model.verdict, StringPicture(target_cents=200.0), model.status)
        return
    canvas.write(place_words(model.string, model.fret), 1, 1, LARGE, standing=True)
    canvas.write(f"▸{for_eyes(model.target)}", 1, 30, HUGE, standing=True)
    draw_string(canvas, StringPicture(blind=True), Field(x=92, columns=34, rest_y=59, rise=58))
    trouble = next(troubles(model.status), "")
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, 2)
    elif model.status.drone or model.status.chord:
        draw_chord(canvas, model.status.chord, canvas.width - 1, 1, beat=model.status.beat)
        drone = "DRONE" if model.status.drone and not model.status.beat else ""
        canvas.write(drone, canvas.width - 1, 27, anchor="right", cleared=True)


def _echo(canvas: Canvas, model: EchoScreen) -> None:
    if model.stage == "empty":
        _hold_and_play(canvas, model.status, model.switch)
        return
    if model.stage == "ready" and model.likeness is not None and model.string.now_cents is None:
        canvas.write(f"{model.likeness}%", 1, 1, HUGE, standing=True)
        draw_headline(canvas, model.unlike or "ALIKE", 38)
        return
    draw_headline(canvas, "LISTENING" if model.stage == "recording" else "NOW YOU")
    draw_string(canvas, model.string, FIELD)
    draw_margins(canvas, model.status, MARGIN_Y)


def _hold_and_play(canvas: Canvas, status: Status, switch: int) -> None:
    """How a model is given; a switch that is not heard must be told here."""
    draw_headline(canvas, f"HOLD {switch or ''}".strip())
    draw_headline(canvas, "AND PLAY", 30)
    _trouble(canvas, status, 2)


def _lick(canvas: Canvas, model: LickScreen) -> None:
    """What is asked or how it went in large letters, the strip, and one line of small ones."""
    if model.stage == "empty":
        if model.line:
            draw_headline(canvas, "NO LICK")
            _told(canvas, model.line, 29)
        else:
            _hold_and_play(canvas, model.status, model.switch)
        return
    if model.stage == "recording":
        draw_headline(canvas, "LISTENING")
    elif model.count:
        draw_ends(canvas, model.count, for_eyes(model.note), 1)
    elif model.stage == "offer":
        draw_ends(canvas, model.asks.upper().partition("-")[0], for_eyes(model.note), 1)
    else:
        draw_headline(canvas, model.asks.upper())
    if len(line_of(model, canvas.width - 2, TOLD_LINES)) > 2:
        _told(canvas, model.line, 29)
        return
    count = len(model.strip)
    if model.stage == "ready" and model.line == model.title and strip_rows(count, 2) == 1:
        draw_strip(canvas, model, 26, rows=1, size=USUAL)
        draw_name(canvas, model.title, NAME_Y)
        _trouble(canvas, model.status, 26)
        return
    size = LARGEST if count <= FEW else USUAL if strip_rows(count, 2) == 1 else 8
    below = draw_strip(canvas, model, 27, rows=2, size=size)
    lines = line_of(model, canvas.width - 2, 2 if below <= 47 else 1)
    for line, words in enumerate(lines):
        canvas.write(words, 1, canvas.height - SMALL.rows * (len(lines) - line))
    _trouble(canvas, model.status, 26)


def _trouble(canvas: Canvas, status: Status, y: int) -> None:
    trouble = next(troubles(status), "")
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, y)


def _told(canvas: Canvas, words: str, y: int) -> None:
    """A sentence that matters more than the strip."""
    for line in ellipsis((for_eyes(words),), canvas.width - 2, SMALL, TOLD_LINES):
        canvas.write(line, 1, y)
        y += SMALL.rows


def _recall(canvas: Canvas, model: RecallScreen) -> None:
    if model.homework:
        share, _, by = model.homework.partition(" ")
        draw_headline(canvas, "HOMEWORK")
        draw_headline(canvas, share, 29)
        due = due_within(by, canvas.width - 8 - LARGE.width(share), SMALL)
        canvas.write(due, canvas.width - 1, 42, anchor="right")
        draw_place(canvas, model.page, model.pages, 59)
        return
    for line, row in enumerate(model.rows[:2]):
        y = 1 + 28 * line
        draw_ends(canvas, for_eyes(row.target.removesuffix(" curl")), middle_words(row), y)
        label = "curl" if row.is_height else "err"
        canvas.write(label, canvas.width - 4 - LARGE.width(middle_words(row)), y + 15, anchor="right", cleared=True)
    if not model.rows:
        draw_headline(canvas, "NOTHING")
        draw_headline(canvas, "YET", 29)
    draw_place(canvas, model.page, model.pages, 59)


def _lookback(canvas: Canvas, model: LookbackScreen) -> None:
    """The share that was true, and the weightiest fault, or how many bends there were."""
    share = "–" if model.true_percent is None else f"{model.true_percent}%"
    draw_ends(canvas, share, "TRUE" if model.true_percent is not None else "NONE", 1)
    word = lookback_word(model)
    lettering = fitting(word.upper(), canvas.width - 2, LARGE, LARGE_TIGHT, MEDIUM)
    canvas.write(word, 1, 28, lettering, standing=lettering is not MEDIUM)
    canvas.write(lookback_title(model), 1, 52)
    draw_place(canvas, model.page, model.pages, 61)


def _menu(canvas: Canvas, model: MenuScreen) -> None:
    """Name and value in large letters; a long value takes both lines and leaves the name small above them."""
    name, value = model.items[model.index], for_eyes(model.value)
    columns = canvas.width - 2
    lines = wrap(value, columns, LARGE_TIGHT)
    if len(lines) == 1:
        draw_headline(canvas, name)
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
        x = 2 if lettering.width(line) <= canvas.width - 4 else 1
        canvas.write(line, x, y, lettering, standing=lettering.cap_rows >= LARGE.cap_rows, dark=editing)
        y += step


def _message(canvas: Canvas, model: MessageScreen) -> None:
    """The title large, in two lines if need be; what to do in small letters, as far as they go."""
    columns = canvas.width - 2
    y = 1
    for title in wrap(model.title, columns, LARGE_TIGHT)[:2]:
        draw_headline(canvas, title, y)
        y += LARGE.rows + 2
    for line in ellipsis(model.lines, columns, SMALL, (canvas.height - y) // SMALL.rows):
        canvas.write(line, 1, y)
        y += SMALL.rows
