"""A panel of 32 rows: one line of large letters, or the string over the whole height; the same for both densities."""

from __future__ import annotations

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
from pedal.screen.canvas import LARGE, LARGE_TIGHT, MEDIUM, SMALL, Canvas, ellipsis, fitting, wrap
from pedal.screen.code_page import draw_code_page
from pedal.screen.marks import (
    BADGE_ROWS,
    draw_badge,
    draw_pair,
    draw_place,
    draw_place_beside,
    draw_rungs,
    fits_between_pair,
)
from pedal.screen.phrases import (
    bend_words,
    drone_words,
    due_within,
    fingers_and_mark,
    large_verdict_words,
    lookback_word,
    middle_words,
    place_words,
    ringed,
    signed_or_dash,
    troubles,
    tuning_figure,
    verdict_words,
)
from pedal.screen.round_lick import draw_round_lick_low
from pedal.screen.round_pages import draw_round_low
from pedal.screen.string_view import Field, draw_string, draw_tuning
from pedal.screen.strip import draw_strip
from pedal.screen.verdict_page import draw_band
from pedal.theory.spelling import for_eyes

FIELD = Field(x=1, columns=126, rest_y=28, rise=26)
BOTTOM_Y = 26
CORNER_Y = 25
ROWS_OVER_THE_RAIL = 3
"""More rows than these need all of the panel's, and the rail stands beside them."""
RAIL_ASIDE = 4


def draw_low(canvas: Canvas, model: ScreenModel) -> None:
    """Draw one model on an empty canvas of 128 x 32."""
    match model:
        case TuneScreen():
            _tune(canvas, model)
        case WatchScreen():
            words = bend_words(model.note, model.target, model.status.key)
            _bend(canvas, words, model.string, model.verdict, model.status)
        case CurlScreen():
            words = bend_words(model.note, None, model.status.key)
            _bend(canvas, words, model.string, model.verdict, model.status)
        case LadderScreen():
            _ladder(canvas, model)
        case LadderSummaryScreen():
            draw_pair(canvas, f"{model.true_count}/{model.tried_count}", signed_or_dash(model.bias_cents), y=0)
            draw_rungs(canvas, model.rungs, None, BOTTOM_Y)
        case BlindScreen():
            _blind(canvas, model)
        case EchoScreen():
            _echo(canvas, model)
        case LickScreen():
            _lick(canvas, model)
        case RecallScreen():
            _recall(canvas, model)
        case LookbackScreen():
            share = "NONE" if model.true_percent is None else f"{model.true_percent}% TRUE"
            canvas.write(share, 1, 0, MEDIUM, standing=True)
            canvas.write(lookback_word(model), 1, 18)
            canvas.write(model.title, canvas.width - 1, 18, anchor="right")
            draw_place(canvas, model.page, model.pages, 28)
        case CodeScreen():
            draw_code_page(canvas, model)
        case MenuScreen():
            _menu(canvas, model)
        case MessageScreen():
            _message(canvas, model)
        case RoundLickScreen():
            draw_round_lick_low(canvas, model)
        case RoundStartScreen() | RoundScreen() | RoundRestScreen() | RoundEndScreen():
            draw_round_low(canvas, model)
        case _:
            assert_never(model)


def _before(card: VerdictCard | None, room: int) -> str:
    """The last verdict beside the note that sounds: note and figure where there is room, else the word, or nothing."""
    if card is None:
        return ""
    told = (verdict_words(card, of_note=True), verdict_words(card), card.word, "")
    return next(words for words in told if SMALL.width(words) <= room)


def _corner(canvas: Canvas, status: Status, words: str, y: int = CORNER_Y) -> None:
    """What is wrong, or else words, at the right end: on a line of their own, or on the last one."""
    trouble = next(troubles(status), "")
    if trouble:
        draw_badge(canvas, trouble, canvas.width - 1, min(y - 1, canvas.height - BADGE_ROWS))
    else:
        canvas.write(words, canvas.width - 1, y, anchor="right", cleared=True)


def _wrong(status: Status) -> bool:
    return bool(next(troubles(status), ""))


def _pair(canvas: Canvas, status: Status, left: str, right: str = "", *, below: str = "") -> None:
    """Both ends of the first line, smaller over what is wrong; under them that, or else words."""
    if _wrong(status):
        canvas.write(left, 1, 0, MEDIUM, standing=True)
        canvas.write(right, canvas.width - 1, 0, MEDIUM, anchor="right", standing=True)
    else:
        draw_pair(canvas, left, right, y=0)
    _corner(canvas, status, below)


def _bend(canvas: Canvas, words: str, string: StringPicture, card: VerdictCard | None, status: Status) -> None:
    if card is not None and string.now_cents is None:
        draw_band(canvas, card, 0 if status.chord else 2)
        canvas.write(drone_words(status) if status.chord else "", canvas.width - 1, CORNER_Y, anchor="right")
        return
    if string.now_cents is None:
        lettering = MEDIUM if _wrong(status) else fitting(words, canvas.width - 2, LARGE, LARGE_TIGHT)
        canvas.write(words, 1, 0 if status.chord else 1, lettering, standing=True)
    else:
        draw_string(canvas, string, FIELD)
        canvas.write(words, 1, 1, cleared=True)
        canvas.write(
            _before(card, canvas.width - 6 - SMALL.width(words)), canvas.width - 1, 1, anchor="right", cleared=True
        )
    _corner(canvas, status, drone_words(status) if status.chord else "")


def _tune(canvas: Canvas, model: TuneScreen) -> None:
    if model.note is None:
        _pair(canvas, model.status, "PLUCK")
        return
    string = "" if model.string is None else ringed(model.string)
    draw_tuning(canvas, model.cents, Field(x=1, columns=126, rest_y=24, rise=6, thickness=2))
    canvas.write(f"{string}{for_eyes(model.note)}", 1, 1, MEDIUM, standing=True, cleared=True)
    canvas.write(tuning_figure(model), canvas.width - 1, 1, MEDIUM, anchor="right", standing=True, cleared=True)
    _corner(canvas, model.status, drone_words(model.status) if model.status.chord else "")


def _ladder(canvas: Canvas, model: LadderScreen) -> None:
    where = f"{ringed(model.string)}{model.fret}"
    target = f"▸{for_eyes(model.target)}"
    if model.picture.now_cents is not None:
        draw_string(canvas, model.picture, FIELD)
        canvas.write(f"{where}{target}", 1, 1, cleared=True)
        _corner(canvas, model.status, drone_words(model.status), 1)
        return
    if model.verdict is not None:
        words = large_verdict_words(model.verdict)
        room = canvas.width - 8 - SMALL.width(f"{where}{target}")
        canvas.write(words, 1, 3, fitting(words, room, MEDIUM, SMALL), standing=True)
        canvas.write(f"{where}{target}", canvas.width - 1, 11, anchor="right")
    else:
        _, heavy = fingers_and_mark(model.support)
        alone = not heavy or fits_between_pair(canvas, heavy, where, target)
        if model.status.chord or _wrong(model.status) or not alone:
            canvas.write(f"{where}{target}", 1, 0, MEDIUM, standing=True)
            canvas.write(heavy, 1, 17)
            _corner(canvas, model.status, drone_words(model.status), 17)
        else:
            draw_pair(canvas, where, target, y=0)
            canvas.write(heavy, canvas.width // 2, 14, anchor="middle")
    draw_rungs(canvas, model.rungs, model.index, BOTTOM_Y, bar_rows=1)


def _blind(canvas: Canvas, model: BlindScreen) -> None:
    if model.verdict is not None and not model.waiting:
        words = drone_words(model.status)
        draw_band(canvas, model.verdict, 0 if words else 2)
        canvas.write(words, canvas.width - 1, 25, anchor="right")
        return
    place, goal = place_words(model.string, model.fret), f"▸{for_eyes(model.target)}"
    _pair(canvas, model.status, place, goal, below=drone_words(model.status))


def _echo(canvas: Canvas, model: EchoScreen) -> None:
    if model.stage == "empty":
        _pair(canvas, model.status, f"HOLD {model.switch}+PLAY" if model.switch else "HOLD+PLAY")
    elif model.stage == "ready" and model.likeness is not None and model.string.now_cents is None:
        draw_pair(canvas, f"{model.likeness}%", model.unlike or "ALIKE")
    else:
        draw_string(canvas, model.string, FIELD)
        _corner(canvas, model.status, drone_words(model.status), 1)
        canvas.write("listening" if model.stage == "recording" else "now you", 1, 1, cleared=True)


def _lick(canvas: Canvas, model: LickScreen) -> None:
    told = model.line if model.line != model.title and model.stage in ("empty", "ready") else ""
    if told:
        for line, sentence in enumerate(ellipsis((for_eyes(told),), canvas.width - 2, SMALL, 3)):
            canvas.write(sentence, 1, 1 + SMALL.rows * line)
        return
    if model.stage == "empty":
        _pair(canvas, model.status, f"HOLD {model.switch}+PLAY" if model.switch else "HOLD+PLAY")
        return
    words = "listening" if model.stage == "recording" else model.count or model.asks
    trouble = next(troubles(model.status), "")
    right = SMALL.width(trouble) + 4 if trouble else MEDIUM.width(for_eyes(model.note))
    canvas.write(words, 1, 0, fitting(words, canvas.width - 8 - right, MEDIUM, SMALL), standing=True)
    if trouble:  # it matters more than the note's name, which the caret stands under
        draw_badge(canvas, trouble, canvas.width - 1, 1)
    else:
        canvas.write(for_eyes(model.note), canvas.width - 1, 0, MEDIUM, anchor="right", standing=True)
    draw_strip(canvas, model, 18, rows=1, size=8)


def _recall(canvas: Canvas, model: RecallScreen) -> None:
    if model.homework:
        canvas.write("HOMEWORK", 1, 0)
        share, _, by = model.homework.partition(" ")
        canvas.write(share, 1, 10, MEDIUM, standing=True)
        due = due_within(by, canvas.width - 8 - MEDIUM.width(share), SMALL)
        canvas.write(due, canvas.width - 1, 16, anchor="right")
        draw_place(canvas, model.page, model.pages, 28)
        return
    if not model.rows:
        draw_pair(canvas, "NOTHING")
    full = len(model.rows) > ROWS_OVER_THE_RAIL
    line_rows, aside = (SMALL.cap_rows + 1, RAIL_ASIDE) if full else (SMALL.rows, 0)
    for line, row in enumerate(model.rows):
        y = line_rows * line
        canvas.write(for_eyes(row.target), 1, y)
        canvas.write(f"{row.tries} tries", 88 - aside, y, anchor="right")
        canvas.write(f"{'curl' if row.is_height else 'err'} {middle_words(row)}", 126 - aside, y, anchor="right")
    if full:
        draw_place_beside(canvas, model.page, model.pages, 124)
    else:
        draw_place(canvas, model.page, model.pages, 28)


def _menu(canvas: Canvas, model: MenuScreen) -> None:
    canvas.write(model.items[model.index], 1, 0)
    words = for_eyes(model.value)
    lettering = fitting(words, canvas.width - 4, MEDIUM, SMALL)
    if model.editing:
        canvas.fill(1, 9, canvas.width - 2, 19)
    for place, line in enumerate(wrap(words, canvas.width - 4, lettering)[: 18 // lettering.rows]):
        canvas.write(line, 3, 10 + lettering.rows * place, lettering, standing=True, dark=model.editing)
    draw_place(canvas, model.index, len(model.items), 29)


def _message(canvas: Canvas, model: MessageScreen) -> None:
    small = [line for words in model.lines for line in wrap(words, canvas.width - 2, SMALL)]
    title = MEDIUM if len(small) < 2 and MEDIUM.width(model.title) <= canvas.width - 2 else SMALL
    y = 1
    for line in wrap(model.title, canvas.width - 2, title):
        canvas.write(line, 1, y, title, standing=True)
        y += title.rows + 1
    for line in ellipsis(model.lines, canvas.width - 2, SMALL, (canvas.height - y) // SMALL.rows):
        canvas.write(line, 1, y)
        y += SMALL.rows
