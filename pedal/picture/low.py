"""A panel of 32 rows: one line of large letters, or the string over the whole height; the same for both densities."""

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
from pedal.picture.marks import draw_badge, draw_place, draw_rungs
from pedal.picture.phrases import (
    bend_words,
    drone_words,
    fingers_and_mark,
    large_verdict_words,
    middle_words,
    ringed,
    signed_or_dash,
    troubles,
    tuning_figure,
    verdict_words,
)
from pedal.picture.sheet import LARGE, LARGE_TIGHT, MEDIUM, SMALL, Sheet, broken, fitting, told
from pedal.picture.string_view import Field, draw_string
from pedal.picture.tune_view import draw_tuning
from pedal.picture.verdict_page import draw_band
from pedal.theory.spelling import for_eyes

FIELD = Field(x=1, columns=126, rest_y=28, rise=26)
BOTTOM_Y = 26


def draw_low(sheet: Sheet, model: ScreenModel) -> None:
    """Draw one model on an empty sheet of 128 x 32."""
    match model:
        case TuneScreen():
            _tune(sheet, model)
        case WatchScreen():
            words = bend_words(model.note, model.target, model.status.key)
            _bend(sheet, words, model.string, model.verdict, model.status)
        case CurlScreen():
            words = bend_words(model.note, None, model.status.key)
            _bend(sheet, words, model.string, model.verdict, model.status)
        case LadderScreen():
            _ladder(sheet, model)
        case LadderSummaryScreen():
            _pair(sheet, f"{model.true_count}/{model.tried_count}", signed_or_dash(model.bias_cents), y=0)
            draw_rungs(sheet, model.rungs, None, BOTTOM_Y)
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


def _pair(sheet: Sheet, left: str, right: str = "", *, y: int = 1) -> None:
    """One line of words, in the largest letters that hold both ends apart."""
    room = sheet.width - 8
    lettering = next((c for c in (LARGE, LARGE_TIGHT, MEDIUM) if c.width(left) + c.width(right) <= room), SMALL)
    sheet.write(left, 1, y, lettering, standing=True)
    sheet.write(right, sheet.width - 1, y, lettering, anchor="right", standing=True)


def _bend(sheet: Sheet, words: str, string: StringPicture, face: VerdictFace | None, status: Status) -> None:
    if status.chord:
        sheet.write(drone_words(status), sheet.width - 1, 25, anchor="right")
    if face is not None and string.now_cents is None:
        draw_band(sheet, face, 0 if status.chord else 2)
        return
    trouble = next(troubles(status), "")
    if string.now_cents is None:
        lettering = MEDIUM if trouble else fitting(words, sheet.width - 2, LARGE, LARGE_TIGHT)
        sheet.write(words, 1, 1, lettering, standing=True)
    else:
        draw_string(sheet, string, FIELD)
        sheet.write(words, 1, 1, cleared=True)
        sheet.write(
            "" if face is None else verdict_words(face, of_note=True), sheet.width - 1, 1, anchor="right", cleared=True
        )
    if trouble:
        draw_badge(sheet, trouble, (60 if status.chord else sheet.width - 1), 22)


def _tune(sheet: Sheet, model: TuneScreen) -> None:
    if model.note is None:
        _pair(sheet, "PLUCK")
        return
    string = "" if model.string is None else ringed(model.string)
    draw_tuning(sheet, model.cents, Field(x=1, columns=126, rest_y=24, rise=6, thickness=2))
    sheet.write(f"{string}{for_eyes(model.note)}", 1, 1, MEDIUM, standing=True, cleared=True)
    sheet.write(tuning_figure(model), sheet.width - 1, 1, MEDIUM, anchor="right", standing=True, cleared=True)
    sheet.write(drone_words(model.status), sheet.width // 2, 1, anchor="middle", cleared=True)


def _ladder(sheet: Sheet, model: LadderScreen) -> None:
    where = f"{ringed(model.string)}{model.fret}"
    target = f"▸{for_eyes(model.target)}"
    if model.picture.now_cents is not None:
        draw_string(sheet, model.picture, FIELD)
        sheet.write(f"{where}{target}", 1, 1, cleared=True)
        sheet.write(drone_words(model.status), sheet.width - 1, 1, anchor="right", cleared=True)
        return
    if model.verdict is not None:
        words = large_verdict_words(model.verdict)
        room = sheet.width - 8 - SMALL.width(f"{where}{target}")
        sheet.write(words, 1, 3, fitting(words, room, MEDIUM, SMALL), standing=True)
        sheet.write(f"{where}{target}", sheet.width - 1, 11, anchor="right")
    else:
        _, heavy = fingers_and_mark(model.support)
        if model.status.chord:
            sheet.write(f"{where}{target}", 1, 0, MEDIUM, standing=True)
            sheet.write(heavy, 1, 17)
            sheet.write(drone_words(model.status), sheet.width - 1, 17, anchor="right")
        else:
            _pair(sheet, where, target, y=0)
        if heavy and not model.status.chord:
            sheet.write(heavy, sheet.width // 2, 14, anchor="middle", cleared=True)
    draw_rungs(sheet, model.rungs, model.index, BOTTOM_Y, bar_rows=1)


def _blind(sheet: Sheet, model: BlindScreen) -> None:
    if model.verdict is not None and not model.waiting:
        draw_band(sheet, model.verdict, 0 if model.status.chord else 2)
        sheet.write(drone_words(model.status), sheet.width - 1, 25, anchor="right")
        return
    string = "" if model.string is None else ringed(model.string)
    fret = "" if model.fret is None else str(model.fret)
    _pair(sheet, f"{string}{fret}", f"▸{for_eyes(model.target)}", y=0)
    sheet.write(drone_words(model.status), sheet.width - 1, 25, anchor="right")


def _echo(sheet: Sheet, model: EchoScreen) -> None:
    if model.stage == "empty":
        _pair(sheet, "HOLD+PLAY")
    elif model.stage == "ready" and model.likeness is not None and model.string.now_cents is None:
        _pair(sheet, f"{model.likeness}%", model.unlike or "ALIKE")
    else:
        draw_string(sheet, model.string, FIELD)
        sheet.write(drone_words(model.status), sheet.width - 1, 1, anchor="right", cleared=True)
        sheet.write("listening" if model.stage == "recording" else "now you", 1, 1, cleared=True)


def _recall(sheet: Sheet, model: RecallScreen) -> None:
    if not model.rows:
        _pair(sheet, "NOTHING")
    for line, row in enumerate(model.rows[:3]):
        y = 9 * line
        sheet.write(for_eyes(row.target), 1, y)
        sheet.write(f"{row.tries} tries", 88, y, anchor="right")
        sheet.write(f"{'curl' if row.is_height else 'err'} {middle_words(row)}", 126, y, anchor="right")
    draw_place(sheet, model.page, model.pages, 28)


def _menu(sheet: Sheet, model: MenuScreen) -> None:
    sheet.write(model.items[model.index], 1, 0)
    words = for_eyes(model.value)
    lettering = fitting(words, sheet.width - 4, MEDIUM, SMALL)
    if model.editing:
        sheet.fill(1, 9, sheet.width - 2, 19)
    for place, line in enumerate(broken(words, sheet.width - 4, lettering)[: 18 // lettering.rows]):
        sheet.write(line, 3, 10 + lettering.rows * place, lettering, standing=True, dark=model.editing)
    draw_place(sheet, model.index, len(model.items), 29)


def _message(sheet: Sheet, model: MessageScreen) -> None:
    small = [line for words in model.lines for line in broken(words, sheet.width - 2, SMALL)]
    title = MEDIUM if len(small) < 2 and MEDIUM.width(model.title) <= sheet.width - 2 else SMALL
    y = 1
    for line in broken(model.title, sheet.width - 2, title):
        sheet.write(line, 1, y, title, standing=True)
        y += title.rows + 1
    for line in told(model.lines, sheet.width - 2, SMALL, (sheet.height - y) // SMALL.rows):
        sheet.write(line, 1, y)
        y += SMALL.rows
