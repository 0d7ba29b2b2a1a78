"""Sitting: each screen model on 128 x 64 dots with more figures, for eyes within an arm's length or two.

A line of small letters says where we are and what is wrong; below it the same words and the same string as in glance,
smaller, and beside them what glance leaves out.
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
from pedal.picture.marks import draw_badge, draw_place, draw_rungs
from pedal.picture.phrases import (
    bend_words,
    drone_words,
    figure_label,
    key_within,
    large_verdict_words,
    middle_words,
    ringed,
    signed,
    signed_or_dash,
    troubles,
    tuning_figure,
    verdict_words,
)
from pedal.picture.sheet import MEDIUM, SMALL, Lettering, Sheet, broken, fitting, told
from pedal.picture.string_view import Field, draw_string
from pedal.picture.tune_view import draw_tuning
from pedal.theory.spelling import for_eyes

LINE = SMALL.rows
WORDS_Y = 11
RECALL_ROWS = 4
FIELD = Field(x=1, columns=126, rest_y=59, rise=28, thickness=2)
RUNG_FIELD = Field(x=1, columns=126, rest_y=50, rise=19, thickness=2)


def draw_close(sheet: Sheet, model: ScreenModel) -> None:
    """Draw one model on an empty sheet of 128 x 64."""
    match model:
        case TuneScreen():
            _tune(sheet, model)
        case WatchScreen():
            _heading(sheet, model.status)
            _bend(sheet, bend_words(model.note, model.target, model.status.key), model.string, model.verdict)
        case CurlScreen():
            _heading(sheet, model.status, f"×{model.streak} best {model.best_streak}")
            _bend(sheet, bend_words(model.note, None, model.status.key), model.string, model.verdict)
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


def _heading(sheet: Sheet, status: Status, words: str | None = None) -> None:
    """The mode, then troubles or `words` (the key if there are none) at the right end."""
    left = sheet.write(status.mode.upper(), 1, 1) + 6
    if status.drone or status.chord:
        left = sheet.write(drone_words(status), left, 1) + 6
    right = sheet.width - 1
    for trouble in troubles(status):
        if right - SMALL.width(trouble) - 4 < left:
            break
        right = draw_badge(sheet, trouble, right, 0) - 3
    room = right - left
    said = key_within(status.key, room, SMALL) if words is None else words
    if SMALL.width(said) > room:
        said = said.rpartition(" ")[2]
    if SMALL.width(said) <= room:
        sheet.write(said, right, 1, anchor="right")


def _bend(sheet: Sheet, words: str, string: StringPicture, face: VerdictFace | None) -> None:
    """Sounding: where from and to, how high, and the string. Silent and judged: the verdict and its reason."""
    if face is not None and string.now_cents is None:
        _judged(sheet, face)
        more = [words for words in (face.timing, *face.more) if words]
        if more:
            _more(sheet, more, WORDS_Y + 22)
        else:
            _reason(sheet, face.line, WORDS_Y + 23, lines=3)
        return
    draw_string(sheet, string, FIELD)
    sheet.write(words, 1, WORDS_Y, fitting(words, 84, MEDIUM, SMALL), cleared=True)
    _height(sheet, string)
    if face is not None:
        sheet.write(verdict_words(face, of_note=True), 1, 30, cleared=True)


def _height(sheet: Sheet, string: StringPicture) -> None:
    """How far the string is bent, in cents above its rest note."""
    if string.now_cents is not None and not string.blind:
        sheet.write(signed(string.now_cents), sheet.width - 1, WORDS_Y, MEDIUM, anchor="right")


def _judged(sheet: Sheet, face: VerdictFace) -> None:
    """Word and figure on their ground, the ending beside them."""
    words = large_verdict_words(face)
    lettering = fitting(words, sheet.width - 6, MEDIUM, SMALL)
    true = face.word == "TRUE"
    rows = MEDIUM.rows + 4
    columns = lettering.width(words) + 8
    if true:
        sheet.fill(1, WORDS_Y - 1, columns, rows)
    elif face.word == "NEAR":
        sheet.frame(1, WORDS_Y - 1, columns, rows)
    end = sheet.write(words, 5 if face.word in {"TRUE", "NEAR"} else 1, WORDS_Y + 1, lettering, dark=true)
    if SMALL.width(figure_label(face)) <= sheet.width - end - 10:
        sheet.write(figure_label(face), sheet.width - 1, WORDS_Y, anchor="right")
    if face.ending.upper() != face.word and SMALL.width(face.ending) <= sheet.width - end - 10:
        sheet.write(face.ending, sheet.width - 1, WORDS_Y + 9, anchor="right")


def _more(sheet: Sheet, words: list[str], y: int) -> None:
    """Time, degree of the chord, vibrato and rises: a line each, two short ones in one."""
    lines: list[str] = []
    for word in words:
        if lines and SMALL.width(f"{lines[-1]}, {word}") <= sheet.width - 2:
            lines[-1] += f", {word}"
        else:
            lines.append(word)
    for line in lines[:3]:
        for part in told([for_eyes(line)], sheet.width - 2, SMALL, 1):
            sheet.write(part, 1, y)
        y += LINE + 1


def _reason(sheet: Sheet, words: str, y: int, *, lines: int) -> None:
    for line in told([words], sheet.width - 2, SMALL, lines):
        sheet.write(line, 1, y)
        y += LINE + 1


def _tune(sheet: Sheet, model: TuneScreen) -> None:
    _heading(sheet, model.status, "settled" if model.settled else "")
    name = "pluck a string" if model.note is None else for_eyes(model.note)
    if model.string is not None:
        name = f"{ringed(model.string)}{name}"
    sheet.write(name, 1, WORDS_Y, SMALL if model.note is None else MEDIUM)
    sheet.write(tuning_figure(model), sheet.width - 1, WORDS_Y, MEDIUM, anchor="right")
    draw_tuning(sheet, model.cents, Field(x=1, columns=126, rest_y=38, rise=7, thickness=2))
    count = len(model.strings)
    for place, (string, cents) in enumerate(model.strings):
        middle = 1 + (2 * place + 1) * (sheet.width - 2) // (2 * count)
        sheet.write(for_eyes(string), middle, 47, anchor="middle")
        sheet.write("·" if cents is None else signed(cents), middle, 55, anchor="middle")


def _where(model: LadderScreen) -> str:
    return f"{ringed(model.string)}{model.fret} {bend_words(model.note, model.target, '')}"


def _ladder(sheet: Sheet, model: LadderScreen) -> None:
    _heading(sheet, model.status, f"position {model.position}  {model.index + 1}/{len(model.rungs)}")
    where = _where(model)
    if model.verdict is not None and model.picture.now_cents is None:
        _judged(sheet, model.verdict)
        sheet.write(f"next {where}", 1, 33)
        sheet.write(model.support, 1, 42)
    else:
        draw_string(sheet, model.picture, RUNG_FIELD)
        sheet.write(where, 1, WORDS_Y, fitting(where, sheet.width - 2, MEDIUM, SMALL), cleared=True)
        sheet.write(model.support, 1, 30, cleared=True)
        if model.picture.now_cents is not None:
            sheet.write(signed(model.picture.now_cents), sheet.width - 1, 30, anchor="right", cleared=True)
    draw_rungs(sheet, model.rungs, model.index, 57)


def _summary(sheet: Sheet, model: LadderSummaryScreen) -> None:
    _heading(sheet, model.status, f"position {model.position}")
    sheet.write(f"{model.true_count} TRUE OF {model.tried_count}", 1, WORDS_Y, MEDIUM)
    sheet.write(_bias_words(model.bias_cents, model.spread_cents), 1, 31)
    if model.worst:
        sheet.write(f"worst {for_eyes(model.worst)}", 1, 42)
    draw_rungs(sheet, model.rungs, None, 57)


def _bias_words(bias_cents: float | None, spread_cents: float | None) -> str:
    spread = "–" if spread_cents is None else f"{spread_cents:.0f}"
    return f"bias {signed_or_dash(bias_cents)}  spread {spread}"


def _blind(sheet: Sheet, model: BlindScreen) -> None:
    _heading(sheet, model.status, f"try {model.tries + 1}" if model.waiting else f"{model.tries} tries")
    sheet.write(_bias_words(model.bias_cents, model.spread_cents), 1, 54)
    if model.verdict is not None and not model.waiting:
        _judged(sheet, model.verdict)
        _reason(sheet, model.verdict.line, 33, lines=2)
        return
    place = "" if model.string is None else ringed(model.string)
    fret = "" if model.fret is None else str(model.fret)
    sheet.write(f"{place}{fret}▸{for_eyes(model.target)}", 1, WORDS_Y, MEDIUM)
    draw_string(sheet, StringPicture(blind=True), Field(x=1, columns=126, rest_y=49, rise=17, thickness=1))


def _echo(sheet: Sheet, model: EchoScreen) -> None:
    _heading(sheet, model.status, for_eyes(model.model) or "no model yet")
    if model.stage == "empty":
        sheet.write("HOLD AND PLAY", 1, WORDS_Y, MEDIUM)
        _reason(sheet, "Keep the switch down and play the bend to be echoed.", 33, lines=3)
    elif model.stage == "ready" and model.likeness is not None and model.string.now_cents is None:
        _likeness(sheet, model)
    else:
        sheet.write("LISTENING" if model.stage == "recording" else "NOW YOU", 1, WORDS_Y, MEDIUM)
        _height(sheet, model.string)
        draw_string(sheet, model.string, FIELD)


def _likeness(sheet: Sheet, model: EchoScreen) -> None:
    """Likeness, and in two columns what differs from the model."""
    end = sheet.write(f"{model.likeness}% ALIKE", 1, WORDS_Y, MEDIUM)
    unlike = model.unlike.lower()
    fits = SMALL.width(unlike) <= sheet.width - end - 6
    lines = [unlike] if fits else broken(unlike, sheet.width - end - 6, SMALL)[:2]
    for place, line in enumerate(lines):
        sheet.write(line, sheet.width - 1, WORDS_Y + 8 - 8 * (len(lines) - 1 - place), anchor="right")
    differences = (
        ("height", model.height_cents, ""),
        ("rise", model.rise_percent, "%"),
        ("hold", model.hold_percent, "%"),
        ("vibrato", model.vibrato_percent, "%"),
    )
    for place, (name, figure, unit) in enumerate(differences):
        x, y = 1 + 66 * (place % 2), 33 + 10 * (place // 2)
        sheet.write(name, x, y)
        sheet.write(signed_or_dash(figure) + (unit if figure is not None else ""), x + 58, y, anchor="right")
    if model.ending_same is not None:
        sheet.write("same ending" if model.ending_same else "another ending", 1, 53)


def _recall(sheet: Sheet, model: RecallScreen) -> None:
    _heading(sheet, model.status, f"{model.tries} tries, best run {model.best_streak}")
    for column, name in ((58, "tries"), (92, "middle"), (126, "spread")):
        sheet.write(name, column, 11, anchor="right")
    for line, row in enumerate(model.rows[:RECALL_ROWS]):
        y = 21 + 10 * line
        sheet.write(for_eyes(row.target), 1, y)
        sheet.write(str(row.tries), 58, y, anchor="right")
        sheet.write(f"{'curl' if row.is_height else 'err'} {middle_words(row)}", 92, y, anchor="right")
        sheet.write("–" if row.spread_cents is None else f"{row.spread_cents:.0f}", 126, y, anchor="right")
    if not model.rows:
        sheet.write("nothing judged yet", 1, 21)
    draw_place(sheet, model.page, model.pages, 61)


def _menu(sheet: Sheet, model: MenuScreen) -> None:
    """The present item with its value, and its neighbours' names."""
    _heading(sheet, model.status, f"{model.index + 1}/{len(model.items)}")
    before = model.items[model.index - 1] if model.index > 0 else ""
    after = model.items[model.index + 1] if model.index + 1 < len(model.items) else ""
    sheet.write(before, 1, 11)
    sheet.write(f"▸{model.items[model.index]}", 1, 20)
    sheet.write(after, sheet.width - 1, 11, anchor="right")
    lettering, lines = _value(for_eyes(model.value), sheet.width - 4)
    step = lettering.rows + 1
    if model.editing:
        sheet.fill(1, 30, sheet.width - 2, step * len(lines) + 2)
    for place, line in enumerate(lines):
        sheet.write(line, 3, 31 + step * place, lettering, dark=model.editing)
    draw_place(sheet, model.index, len(model.items), 61)


def _value(words: str, columns: int) -> tuple[Lettering, list[str]]:
    medium = broken(words, columns, MEDIUM)
    return (MEDIUM, medium) if len(medium) == 1 else (SMALL, broken(words, columns, SMALL)[:3])


def _message(sheet: Sheet, model: MessageScreen) -> None:
    title = fitting(model.title, sheet.width - 2, MEDIUM, SMALL)
    y = 1
    for line in broken(model.title, sheet.width - 2, title):
        sheet.write(line, 1, y, title)
        y += title.rows + 1
    y += 2
    for line in told(model.lines, sheet.width - 2, SMALL, (sheet.height - y) // (LINE + 1)):
        sheet.write(line, 1, y)
        y += LINE + 1
