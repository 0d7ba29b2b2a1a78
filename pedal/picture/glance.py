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
    MenuScreen,
    MessageScreen,
    RecallScreen,
    ScreenModel,
    Status,
    StringPicture,
    TuneScreen,
    VerdictFace,
    WatchScreen,
)
from pedal.picture.marks import draw_badge, draw_chord, draw_heavy, draw_margins, draw_place, draw_rungs
from pedal.picture.phrases import (
    bend_words,
    fingers_and_mark,
    middle_words,
    ringed,
    scale_of,
    signed_or_dash,
    tonic_of,
    troubles,
    tuning_figure,
)
from pedal.picture.sheet import HUGE, LARGE, LARGE_TIGHT, MEDIUM, SMALL, Lettering, Sheet, broken, fitting, told
from pedal.picture.string_view import Field, draw_string
from pedal.picture.tune_view import draw_tuning
from pedal.picture.verdict_page import draw_band, draw_last, draw_verdict
from pedal.theory.spelling import for_eyes

FIELD = Field(x=1, columns=126, rest_y=58, rise=30)
RUNG_FIELD = Field(x=1, columns=126, rest_y=48, rise=21)
MARGIN_Y = 28
APART = 4
"""Columns that part two words of a line at the least."""


def draw_glance(sheet: Sheet, model: ScreenModel) -> None:
    """Draw one model on an empty sheet of 128 x 64."""
    match model:
        case TuneScreen():
            _tune(sheet, model)
        case WatchScreen():
            _watch(sheet, model)
        case CurlScreen():
            _curl(sheet, model)
        case LadderScreen():
            _ladder(sheet, model)
        case LadderSummaryScreen():
            _summary(sheet, model)
        case BlindScreen():
            _blind(sheet, model)
        case EchoScreen():
            _echo(sheet, model)
        case RecallScreen():
            _recall(sheet, model)
        case MenuScreen():
            _menu(sheet, model)
        case MessageScreen():
            _message(sheet, model)
        case _:
            assert_never(model)


def _headline(sheet: Sheet, words: str, y: int = 1) -> None:
    lettering = fitting(words, sheet.width - 2, LARGE, LARGE_TIGHT)
    sheet.write(words, 1, y, lettering, standing=True)


def _tune(sheet: Sheet, model: TuneScreen) -> None:
    if model.note is None:
        _headline(sheet, "PLUCK")
    else:
        name = for_eyes(model.note) if model.string is None else f"{ringed(model.string)}{for_eyes(model.note)}"
        _ends(sheet, name, tuning_figure(model), 1)
    draw_tuning(sheet, model.cents, Field(x=1, columns=126, rest_y=45, rise=14))
    draw_margins(sheet, model.status, MARGIN_Y)


def _ends(sheet: Sheet, left: str, right: str, y: int) -> None:
    """Words at both ends of one line."""
    room = sheet.width - 2 - APART
    lettering = next((c for c in (LARGE, LARGE_TIGHT) if c.width(left) + c.width(right) <= room), LARGE_TIGHT)
    sheet.write(left, 1, y, lettering, standing=True)
    sheet.write(right, sheet.width - 1, y, lettering, anchor="right", standing=True)


def _watch(sheet: Sheet, model: WatchScreen) -> None:
    sounding = model.string.now_cents is not None
    if model.verdict is not None and not sounding:
        _judged(sheet, model.verdict, model.string, model.status)
        return
    if model.verdict is not None:
        _beside_the_last(sheet, model.verdict, model.note, model.string, model.status)
        return
    words = bend_words(model.note, model.target, model.status.key)
    _headline(sheet, words)
    if model.note is None:
        _write_scale(sheet, model.status.key)
    draw_string(sheet, model.string, FIELD)
    draw_margins(sheet, model.status, MARGIN_Y)


def _judged(sheet: Sheet, face: VerdictFace, string: StringPicture, status: Status) -> None:
    """A verdict has the sheet; while chords go on, the one that sounds takes the place of the small string."""
    goes_on = bool(status.chord) and face.figure is not None
    draw_verdict(sheet, face, string, emblem=not goes_on)
    if goes_on:
        draw_chord(sheet, status.chord, sheet.width - 1, 2, beat=status.beat)


def _beside_the_last(
    sheet: Sheet, face: VerdictFace, note: str | None, string: StringPicture, status: Status
) -> None:
    """A note sounds: it is named, and the last verdict has shrunk beside it, with its own note."""
    draw_last(sheet, bend_words(note, None, status.key), face, 1)
    draw_string(sheet, string, FIELD)
    draw_margins(sheet, status, MARGIN_Y)


def _write_scale(sheet: Sheet, key: str) -> None:
    """The scale's name beside the large tonic: for close eyes, who stands knows the key."""
    x = 1 + LARGE.width(tonic_of(key)) + 8
    for line, words in enumerate(broken(scale_of(key), sheet.width - 1 - x, SMALL)[:2]):
        sheet.write(words, x, 5 + 10 * line)


def _curl(sheet: Sheet, model: CurlScreen) -> None:
    sounding = model.string.now_cents is not None
    if model.verdict is not None and not sounding:
        _judged(sheet, model.verdict, model.string, model.status)
        return
    if model.verdict is not None:
        _beside_the_last(sheet, model.verdict, model.note, model.string, model.status)
        return
    _headline(sheet, bend_words(model.note, None, model.status.key))
    sheet.write(f"×{model.streak}", sheet.width - 1, 1, LARGE, anchor="right", standing=True)
    draw_string(sheet, model.string, FIELD)
    draw_margins(sheet, model.status, MARGIN_Y)


def _where(sheet: Sheet, string: int | None, fret: int | None, target: str, y: int) -> None:
    """Ringed string, fret, and where to: "(3)8  ▸F4"."""
    place = ("" if string is None else ringed(string)) + ("" if fret is None else str(fret))
    _ends(sheet, place, f"▸{for_eyes(target)}", y)


def _ladder(sheet: Sheet, model: LadderScreen) -> None:
    sounding = model.picture.now_cents is not None
    if model.verdict is not None and not sounding:
        draw_band(sheet, model.verdict, 1)
        sheet.fill(1, 26, sheet.width - 2, 1)
        _where(sheet, model.string, model.fret, model.target, 29)
    elif not sounding:
        _where(sheet, model.string, model.fret, model.target, 1)
        _fingers(sheet, model)
    else:
        _where(sheet, model.string, model.fret, model.target, 1)
        draw_string(sheet, model.picture, RUNG_FIELD)
        draw_margins(sheet, model.status, MARGIN_Y - 1)
    draw_rungs(sheet, model.rungs, model.index, 57)


def _fingers(sheet: Sheet, model: LadderScreen) -> None:
    """Before the pluck: which finger bends and how many help, whether it is heavy, and the post."""
    fingers, heavy = fingers_and_mark(model.support)
    sheet.write(fingers.upper(), 1, 28, MEDIUM)
    if heavy:
        draw_heavy(sheet, heavy.upper(), 1, 45)
    draw_string(sheet, model.picture, Field(x=84, columns=42, rest_y=RUNG_FIELD.rest_y, rise=RUNG_FIELD.rise))
    trouble = next(troubles(model.status), "")
    if trouble:
        draw_badge(sheet, trouble, 83, 45)
    elif model.status.chord:
        draw_chord(sheet, model.status.chord, sheet.width - 1, 28, beat=model.status.beat)


def _summary(sheet: Sheet, model: LadderSummaryScreen) -> None:
    sheet.write(f"{model.true_count}/{model.tried_count}", 1, 1, LARGE, standing=True)
    sheet.write("TRUE", sheet.width - 1, 9, MEDIUM, anchor="right")
    sheet.write(signed_or_dash(model.bias_cents), 1, 28, LARGE, standing=True)
    sheet.write("BIAS", sheet.width - 1, 36, MEDIUM, anchor="right")
    draw_rungs(sheet, model.rungs, None, 57)


def _blind(sheet: Sheet, model: BlindScreen) -> None:
    if model.verdict is not None and not model.waiting:
        _judged(sheet, model.verdict, StringPicture(target_cents=200.0), model.status)
        return
    place = ("" if model.string is None else ringed(model.string)) + ("" if model.fret is None else str(model.fret))
    sheet.write(place, 1, 1, LARGE, standing=True)
    sheet.write(f"▸{for_eyes(model.target)}", 1, 30, HUGE, standing=True)
    draw_string(sheet, StringPicture(blind=True), Field(x=92, columns=34, rest_y=59, rise=58))
    trouble = next(troubles(model.status), "")
    if trouble:
        draw_badge(sheet, trouble, sheet.width - 1, 2)
    elif model.status.drone or model.status.chord:
        draw_chord(sheet, model.status.chord, sheet.width - 1, 1, beat=model.status.beat)
        drone = "DRONE" if model.status.drone and not model.status.beat else ""
        sheet.write(drone, sheet.width - 1, 18, anchor="right", cleared=True)


def _echo(sheet: Sheet, model: EchoScreen) -> None:
    if model.stage == "empty":
        _headline(sheet, "HOLD")
        _headline(sheet, "AND PLAY", 30)
        return
    if model.stage == "ready" and model.likeness is not None and model.string.now_cents is None:
        sheet.write(f"{model.likeness}%", 1, 1, HUGE, standing=True)
        _headline(sheet, model.unlike or "ALIKE", 38)
        return
    _headline(sheet, "LISTENING" if model.stage == "recording" else "NOW YOU")
    draw_string(sheet, model.string, FIELD)
    draw_margins(sheet, model.status, MARGIN_Y)


def _recall(sheet: Sheet, model: RecallScreen) -> None:
    for line, row in enumerate(model.rows[:2]):
        y = 1 + 28 * line
        _ends(sheet, for_eyes(row.target.removesuffix(" curl")), middle_words(row), y)
        label = "curl" if row.is_height else "err"
        sheet.write(label, sheet.width - 4 - LARGE.width(middle_words(row)), y + 15, anchor="right", cleared=True)
    if not model.rows:
        _headline(sheet, "NOTHING")
        _headline(sheet, "YET", 29)
    draw_place(sheet, model.page, model.pages, 59)


def _menu(sheet: Sheet, model: MenuScreen) -> None:
    """Name and value in large letters; a long value takes both lines and leaves the name small above them."""
    name, value = model.items[model.index], for_eyes(model.value)
    columns = sheet.width - 4
    lines = broken(value, columns, LARGE_TIGHT)
    if len(lines) == 1:
        _headline(sheet, name)
        _value_lines(sheet, lines, 32, LARGE_TIGHT, editing=model.editing)
    else:
        sheet.write(name.upper(), 1, 0)
        lettering = next((c for c in (LARGE_TIGHT, MEDIUM) if len(broken(value, columns, c)) * c.rows <= 48), SMALL)
        _value_lines(sheet, broken(value, columns, lettering), 9, lettering, editing=model.editing)
    draw_place(sheet, model.index, len(model.items), 61)


def _value_lines(sheet: Sheet, lines: list[str], y: int, lettering: Lettering, *, editing: bool) -> None:
    step = lettering.rows + (1 if len(lines) > 1 else 0)
    if editing:
        sheet.fill(1, y - 1, sheet.width - 2, step * len(lines) + 2)
    for line in lines:
        sheet.write(line, 2, y, lettering, standing=lettering.cap_rows >= LARGE.cap_rows, dark=editing)
        y += step


def _message(sheet: Sheet, model: MessageScreen) -> None:
    """The title large, in two lines if need be; what to do in small letters, as far as they go."""
    columns = sheet.width - 2
    y = 1
    for title in broken(model.title, columns, LARGE_TIGHT)[:2]:
        _headline(sheet, title, y)
        y += LARGE.rows + 2
    for line in told(model.lines, columns, SMALL, (sheet.height - y) // SMALL.rows):
        sheet.write(line, 1, y)
        y += SMALL.rows
