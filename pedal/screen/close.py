"""Sitting: each screen model on 128 x 64 dots with more figures, for eyes within an arm's length or two.

A line of small letters says where we are and what is wrong; below it the same words and the same string as in glance,
smaller, and beside them what glance leaves out.
"""

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
    StringPicture,
    TuneScreen,
    VerdictCard,
    WatchScreen,
)
from pedal.screen.canvas import MEDIUM, SMALL, Canvas, Lettering, ellipsis, fitting, wrap
from pedal.screen.code_page import draw_code_page
from pedal.screen.marks import draw_heading, draw_place, draw_rungs
from pedal.screen.phrases import (
    bend_words,
    figure_label,
    large_verdict_words,
    middle_words,
    place_words,
    ringed,
    signed,
    signed_or_dash,
    tuning_figure,
    verdict_words,
)
from pedal.screen.round_lick import draw_round_lick_close
from pedal.screen.round_pages import draw_round_close
from pedal.screen.string_view import Field, draw_string, draw_tuning
from pedal.screen.strip import draw_strip, line_of
from pedal.theory.spelling import for_eyes

LINE = SMALL.rows
WORDS_Y = 11
RECALL_ROWS = 4
FIELD = Field(x=1, columns=126, rest_y=59, rise=28, thickness=2)
RUNG_FIELD = Field(x=1, columns=126, rest_y=50, rise=19, thickness=2)


def draw_close(canvas: Canvas, model: ScreenModel) -> None:
    """Draw one model on an empty canvas of 128 x 64."""
    match model:
        case TuneScreen():
            _tune(canvas, model)
        case WatchScreen():
            draw_heading(canvas, model.status)
            _bend(canvas, bend_words(model.note, model.target, model.status.key), model.string, model.verdict)
        case CurlScreen():
            draw_heading(canvas, model.status, f"×{model.streak} best {model.best_streak}", f"×{model.streak}")
            _bend(canvas, bend_words(model.note, None, model.status.key), model.string, model.verdict)
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
            draw_round_lick_close(canvas, model)
        case RoundStartScreen() | RoundScreen() | RoundRestScreen() | RoundEndScreen():
            draw_round_close(canvas, model)
        case _:
            assert_never(model)


def _bend(canvas: Canvas, words: str, string: StringPicture, card: VerdictCard | None) -> None:
    """Sounding: where from and to, how high, and the string. Silent and judged: the verdict and its reason."""
    if card is not None and string.now_cents is None:
        _judged(canvas, card)
        more = [words for words in (card.timing, *card.more) if words]
        if more:
            _more(canvas, more, WORDS_Y + 22)
        else:
            _reason(canvas, card.line, WORDS_Y + 23, lines=3)
        return
    draw_string(canvas, string, FIELD)
    canvas.write(words, 1, WORDS_Y, fitting(words, 84, MEDIUM, SMALL), cleared=True)
    _height(canvas, string)
    if card is not None:
        canvas.write(verdict_words(card, of_note=True), 1, 30, cleared=True)


def _height(canvas: Canvas, string: StringPicture) -> None:
    """How far the string is bent, in cents above its rest note."""
    if string.now_cents is not None and not string.blind:
        canvas.write(signed(string.now_cents), canvas.width - 1, WORDS_Y, MEDIUM, anchor="right")


def _judged(canvas: Canvas, card: VerdictCard) -> None:
    """Word and figure on their ground, the ending beside them."""
    words = large_verdict_words(card)
    lettering = fitting(words, canvas.width - 6, MEDIUM, SMALL)
    true = card.word == "TRUE"
    rows = MEDIUM.rows + 4
    columns = lettering.width(words) + 8
    if true:
        canvas.fill(1, WORDS_Y - 1, columns, rows)
    elif card.word == "NEAR":
        canvas.frame(1, WORDS_Y - 1, columns, rows)
    end = canvas.write(words, 5 if card.word in {"TRUE", "NEAR"} else 1, WORDS_Y + 1, lettering, dark=true)
    if SMALL.width(figure_label(card)) <= canvas.width - end - 10:
        canvas.write(figure_label(card), canvas.width - 1, WORDS_Y, anchor="right")
    if card.ending.upper() != card.word and SMALL.width(card.ending) <= canvas.width - end - 10:
        canvas.write(card.ending, canvas.width - 1, WORDS_Y + 9, anchor="right")


def _more(canvas: Canvas, words: list[str], y: int) -> None:
    """Time, degree of the chord, vibrato and rises: a line each, two short ones in one."""
    lines: list[str] = []
    for word in words:
        if lines and SMALL.width(f"{lines[-1]}, {word}") <= canvas.width - 2:
            lines[-1] += f", {word}"
        else:
            lines.append(word)
    for line in lines[:3]:
        for part in ellipsis([for_eyes(line)], canvas.width - 2, SMALL, 1):
            canvas.write(part, 1, y)
        y += LINE + 1


def _reason(canvas: Canvas, words: str, y: int, *, lines: int) -> None:
    for line in ellipsis([words], canvas.width - 2, SMALL, lines):
        canvas.write(line, 1, y)
        y += LINE + 1


def _tune(canvas: Canvas, model: TuneScreen) -> None:
    draw_heading(canvas, model.status, "settled" if model.settled else "")
    name = "pluck a string" if model.note is None else for_eyes(model.note)
    if model.string is not None:
        name = f"{ringed(model.string)}{name}"
    canvas.write(name, 1, WORDS_Y, SMALL if model.note is None else MEDIUM)
    canvas.write(tuning_figure(model), canvas.width - 1, WORDS_Y, MEDIUM, anchor="right")
    draw_tuning(canvas, model.cents, Field(x=1, columns=126, rest_y=38, rise=7, thickness=2))
    count = len(model.strings)
    for place, (string, cents) in enumerate(model.strings):
        middle = 1 + (2 * place + 1) * (canvas.width - 2) // (2 * count)
        canvas.write(for_eyes(string), middle, 47, anchor="middle")
        canvas.write("·" if cents is None else signed(cents), middle, 55, anchor="middle")


def _where(model: LadderScreen) -> str:
    return f"{ringed(model.string)}{model.fret} {bend_words(model.note, model.target, '')}"


def _ladder(canvas: Canvas, model: LadderScreen) -> None:
    place = f"{model.index + 1}/{len(model.rungs)}"
    draw_heading(canvas, model.status, f"position {model.position}  {place}", place)
    where = _where(model)
    if model.verdict is not None and model.picture.now_cents is None:
        _judged(canvas, model.verdict)
        canvas.write(where if model.climbed else f"next {where}", 1, 33)
        canvas.write(model.support, 1, 42)
    else:
        draw_string(canvas, model.picture, RUNG_FIELD)
        canvas.write(where, 1, WORDS_Y, fitting(where, canvas.width - 2, MEDIUM, SMALL), cleared=True)
        canvas.write(model.support, 1, 30, cleared=True)
        if model.picture.now_cents is not None:
            canvas.write(signed(model.picture.now_cents), canvas.width - 1, 30, anchor="right", cleared=True)
    draw_rungs(canvas, model.rungs, model.index, 57)


def _summary(canvas: Canvas, model: LadderSummaryScreen) -> None:
    draw_heading(canvas, model.status, f"position {model.position}")
    canvas.write(f"{model.true_count} TRUE OF {model.tried_count}", 1, WORDS_Y, MEDIUM)
    canvas.write(_bias_words(model.bias_cents, model.spread_cents), 1, 31)
    if model.worst:
        canvas.write(f"worst {for_eyes(model.worst)}", 1, 42)
    draw_rungs(canvas, model.rungs, None, 57)


def _bias_words(bias_cents: float | None, spread_cents: float | None) -> str:
    spread = "–" if spread_cents is None else f"{spread_cents:.0f}"
    return f"bias {signed_or_dash(bias_cents)}  spread {spread}"


def _blind(canvas: Canvas, model: BlindScreen) -> None:
    draw_heading(canvas, model.status, f"try {model.tries + 1}" if model.waiting else f"{model.tries} tries")
    canvas.write(_bias_words(model.bias_cents, model.spread_cents), 1, 54)
    if model.verdict is not None and not model.waiting:
        _judged(canvas, model.verdict)
        _reason(canvas, model.verdict.line, 33, lines=2)
        return
    canvas.write(f"{place_words(model.string, model.fret)}▸{for_eyes(model.target)}", 1, WORDS_Y, MEDIUM)
    draw_string(canvas, StringPicture(blind=True), Field(x=1, columns=126, rest_y=49, rise=17, thickness=1))


def _echo(canvas: Canvas, model: EchoScreen) -> None:
    draw_heading(canvas, model.status, for_eyes(model.model) or "no model yet")
    if model.stage == "empty":
        _hold_and_play(canvas, model.switch)
        _reason(canvas, "Keep the switch down and play the bend to be echoed.", 33, lines=3)
    elif model.stage == "ready" and model.likeness is not None and model.string.now_cents is None:
        _likeness(canvas, model)
    else:
        canvas.write("LISTENING" if model.stage == "recording" else "NOW YOU", 1, WORDS_Y, MEDIUM)
        _height(canvas, model.string)
        draw_string(canvas, model.string, FIELD)


def _hold_and_play(canvas: Canvas, switch: int) -> None:
    canvas.write(f"HOLD {switch}, PLAY" if switch else "HOLD AND PLAY", 1, WORDS_Y, MEDIUM)


def _likeness(canvas: Canvas, model: EchoScreen) -> None:
    """Likeness, and in two columns what differs from the model."""
    end = canvas.write(f"{model.likeness}% ALIKE", 1, WORDS_Y, MEDIUM)
    unlike = model.unlike.lower()
    fits = SMALL.width(unlike) <= canvas.width - end - 6
    lines = [unlike] if fits else wrap(unlike, canvas.width - end - 6, SMALL)[:2]
    for place, line in enumerate(lines):
        canvas.write(line, canvas.width - 1, WORDS_Y + 8 - 8 * (len(lines) - 1 - place), anchor="right")
    differences = (
        ("height", model.height_cents, ""),
        ("rise", model.rise_percent, "%"),
        ("hold", model.hold_percent, "%"),
        ("vibrato", model.vibrato_percent, "%"),
    )
    for place, (name, figure, unit) in enumerate(differences):
        x, y = 1 + 66 * (place % 2), 33 + 10 * (place // 2)
        canvas.write(name, x, y)
        canvas.write(signed_or_dash(figure) + (unit if figure is not None else ""), x + 58, y, anchor="right")
    if model.ending_same is not None:
        canvas.write("same ending" if model.ending_same else "another ending", 1, 53)


def _lick(canvas: Canvas, model: LickScreen) -> None:
    """As in glance, smaller; beside it the lick's title, and the note at the caret in figures."""
    draw_heading(canvas, model.status, for_eyes(model.title) or "no model yet")
    if model.stage == "empty":
        _hold_and_play(canvas, model.switch)
        _reason(canvas, model.line or "Keep the switch down and play 2 to 24 notes.", 33, lines=3)
        return
    words = "LISTENING" if model.stage == "recording" else model.asks.upper()
    canvas.write(words, 1, WORDS_Y, fitting(words, 80, MEDIUM, SMALL))
    canvas.write(
        " ".join(filter(None, (model.count, for_eyes(model.note)))), canvas.width - 1, WORDS_Y + 3, anchor="right"
    )
    below = draw_strip(canvas, model, 29, rows=2, size=7)
    lines = (
        [] if model.line == model.title else line_of(model, canvas.width - 2, 1 if model.details or below > 42 else 2)
    )
    if model.details and below <= 46:
        figures = model.details.split("  ")
        while SMALL.width("  ".join(figures)) > canvas.width - 2:
            figures.pop()
        lines = [*lines, "  ".join(figures)]
    for line, sentence in enumerate(lines):
        canvas.write(sentence, 1, canvas.height - SMALL.rows * (len(lines) - line))


def _recall(canvas: Canvas, model: RecallScreen) -> None:
    draw_heading(canvas, model.status, f"{model.tries} tries, best run {model.best_streak}", f"run {model.best_streak}")
    if model.homework:
        share, _, by = model.homework.partition(" ")
        words = f"HOMEWORK {share}"
        canvas.write(words, 1, WORDS_Y, fitting(words, canvas.width - 2, MEDIUM, SMALL))
        canvas.write(f"tasks done, {by}" if by else "tasks done", 1, 33)
        draw_place(canvas, model.page, model.pages, 61)
        return
    for column, name in ((58, "tries"), (92, "middle"), (126, "spread")):
        canvas.write(name, column, 11, anchor="right")
    for line, row in enumerate(model.rows[:RECALL_ROWS]):
        y = 21 + 10 * line
        canvas.write(for_eyes(row.target), 1, y)
        canvas.write(str(row.tries), 58, y, anchor="right")
        canvas.write(f"{'curl' if row.is_height else 'err'} {middle_words(row)}", 92, y, anchor="right")
        canvas.write("–" if row.spread_cents is None else f"{row.spread_cents:.0f}", 126, y, anchor="right")
    if not model.rows:
        canvas.write("nothing judged yet", 1, 21)
    draw_place(canvas, model.page, model.pages, 61)


def _lookback(canvas: Canvas, model: LookbackScreen) -> None:
    draw_heading(canvas, model.status, model.title)
    share = "NONE" if model.true_percent is None else f"{model.true_percent}% TRUE"
    canvas.write(share, 1, WORDS_Y, MEDIUM)
    canvas.write(f"of {model.tries}", canvas.width - 1, WORDS_Y + 8, anchor="right")
    sentence = model.sentence or "Nothing stands out from chance."
    claim, doubt, _ = sentence.replace("→", "▸").partition(" (")
    _reason(canvas, for_eyes(claim + ("." if doubt else "")), WORDS_Y + 20, lines=3)
    draw_place(canvas, model.page, model.pages, 61)


def _menu(canvas: Canvas, model: MenuScreen) -> None:
    """The present item with its value, and its neighbours' names."""
    draw_heading(canvas, model.status, f"{model.index + 1}/{len(model.items)}")
    before = model.items[model.index - 1] if model.index > 0 else ""
    after = model.items[model.index + 1] if model.index + 1 < len(model.items) else ""
    canvas.write(before, 1, 11)
    canvas.write(f"▸{model.items[model.index]}", 1, 20)
    canvas.write(after, canvas.width - 1, 11, anchor="right")
    lettering, lines = _value(for_eyes(model.value), canvas.width - 4)
    step = lettering.rows + 1
    if model.editing:
        canvas.fill(1, 30, canvas.width - 2, step * len(lines) + 2)
    for place, line in enumerate(lines):
        canvas.write(line, 3, 31 + step * place, lettering, dark=model.editing)
    draw_place(canvas, model.index, len(model.items), 61)


def _value(words: str, columns: int) -> tuple[Lettering, list[str]]:
    medium = wrap(words, columns, MEDIUM)
    return (MEDIUM, medium) if len(medium) == 1 else (SMALL, wrap(words, columns, SMALL)[:3])


def _message(canvas: Canvas, model: MessageScreen) -> None:
    title = fitting(model.title, canvas.width - 2, MEDIUM, SMALL)
    y = 1
    for line in wrap(model.title, canvas.width - 2, title):
        canvas.write(line, 1, y, title)
        y += title.rows + 1
    y += 2
    for line in ellipsis(model.lines, canvas.width - 2, SMALL, (canvas.height - y) // (LINE + 1)):
        canvas.write(line, 1, y)
        y += LINE + 1
