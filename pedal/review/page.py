"""A review as one HTML page that needs nothing else: no script, no font, no picture from elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from pedal.progress.figures import Figures
from pedal.progress.naming import target_for_eyes
from pedal.review.curves import courses_of, curves_of, pictured, prebend_errors
from pedal.review.page_style import STYLE
from pedal.review.review import Review
from pedal.review.svg import bias_picture, course_picture, curves_picture, prebend_picture
from pedal.review.words import (
    COLUMNS,
    MEANINGS,
    NOTHING,
    behind,
    cells,
    date_words,
    length_words,
    players_together,
    row_words,
    timed_lines,
)
from pedal.verdicts.aim import Bands

_TITLES = {"target": "Target", "string": "String", "position": "Position", "mode": "Mode", "key": "Key"}


def page_of(review: Review) -> str:
    """The page as text, for a file of its own."""
    return "\n".join(_page(review, review.bands)) + "\n"


def _page(review: Review, bands: Bands) -> Iterator[str]:
    yield "<!DOCTYPE html>"
    yield '<html lang="en">'
    yield '<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f'<meta name="color-scheme" content="light dark"><title>Practice review</title><style>{STYLE}</style></head>'
    yield "<body>"
    yield f"<header><h1>Practice review</h1><p>{escape(_span(review))}</p></header>"
    yield "<main>"
    yield from _section("advice", "What stands out", _advice(review))
    if review.overall.tries:
        yield from _section("figures", "Figures", _tables(review))
        if timed_lines(review.timed):
            yield from _section("timed", "Time and vibrato", _timed(review))
        yield from _section("pictures", "Pictures", _pictures(review, bands))
        yield from _section("words", "What the columns mean", _meanings())
    if review.licks:
        yield from _section("licks", "Licks", _licks(review))
    if review.sessions:
        yield from _section("sessions", "Sessions", _sessions(review))
    yield "</main>"
    yield "<footer><p>Intervals cover the truth in 95 of 100 such samples. "
    yield "Nothing is claimed from fewer than ten tries.</p></footer>"
    yield "</body></html>"


def _span(review: Review) -> str:
    if not review.sessions:
        return "No session was chosen."
    first, last = review.sessions[0], review.sessions[-1]
    dates = date_words(first) if first is last else f"{date_words(first)} to {date_words(last)}"
    sessions = f"{len(review.sessions)} session{'s' if len(review.sessions) > 1 else ''}"
    return f"{sessions}, {review.overall.tries} tries, {dates}"


def _section(name: str, title: str, inside: Iterator[str]) -> Iterator[str]:
    yield f'<section aria-labelledby="{name}"><h2 id="{name}">{title}</h2>'
    yield from inside
    yield "</section>"


def _advice(review: Review) -> Iterator[str]:
    if not review.advice:
        yield f"<p>{escape(review.silence)}</p>"
        return
    yield '<ol class="advice">' + "".join(f"<li>{escape(one.sentence)}</li>" for one in review.advice) + "</ol>"


def _tables(review: Review) -> Iterator[str]:
    if together := players_together(review):
        yield f"<p>{escape(together)}</p>"
    for name, title in _TITLES.items():
        rows = review.tables[name]
        if name == "target" or len(rows) > 1:
            yield from _table(name, title, rows)


def _timed(review: Review) -> Iterator[str]:
    yield "<ul>" + "".join(f"<li>{escape(line)}</li>" for line in timed_lines(review.timed)) + "</ul>"


def _table(name: str, title: str, rows: Sequence[Figures]) -> Iterator[str]:
    """Wide tables scroll by themselves, by finger or by keyboard; the page never does."""
    written = [cells(row) for row in rows]
    used = [n for n in range(len(COLUMNS)) if any(row[n] != NOTHING for row in written)]
    yield f'<div class="wide" role="region" tabindex="0" aria-label="Figures by {title.lower()}"><table>'
    yield f"<caption>By {title.lower()}</caption>"
    heads = "".join(f'<th scope="col">{COLUMNS[n]}</th>' for n in used)
    yield f'<thead><tr><th scope="col">{title}</th>{heads}</tr></thead><tbody>'
    for row, cell in zip(rows, written, strict=True):
        data = "".join(f"<td>{_breakable(cell[n])}</td>" for n in used)
        yield f'<tr><th scope="row">{escape(row_words(name, row))}</th>{data}</tr>'
    yield "</tbody></table></div>"


def _licks(review: Review) -> Iterator[str]:
    yield '<div class="wide" role="region" tabindex="0" aria-label="Licks"><table><caption>By lick</caption>'
    yield '<thead><tr><th scope="col">Lick</th><th scope="col">passes</th><th scope="col">right, % a note</th>'
    yield '<th scope="col">stays behind</th></tr></thead><tbody>'
    for one in review.licks:
        shares = " ".join(f"{100 * note.right.value:.0f}" for note in one.notes)
        yield f'<tr><th scope="row">{escape(one.lick)}</th><td>{one.passes}</td><td>{shares}</td>'
        yield f"<td>{escape(behind(one))}</td></tr>"
    yield "</tbody></table></div>"


def _breakable(words: str) -> str:
    """An interval may go below its value where the column is narrow."""
    value, bracket, interval = escape(words).partition(" (")
    return f'{value} <span class="interval">({interval}</span>' if bracket else value


def _pictures(review: Review, bands: Bands) -> Iterator[str]:
    yield '<div class="pictures">'
    if any(row.bias_cents is not None and row.bias_cents.bounded for row in review.tables["target"]):
        yield _figure(
            bias_picture(review.tables["target"], bands),
            "Middle error in cents by target: dot and thick line are the "
            "median with its interval, the thin line is the spread, the bar in the middle is what counts as true.",
        )
    for number, target in enumerate(pictured(review)):
        curves = curves_of(review, target)
        if curves.curves:
            below = "rest note; the bar is the blue zone" if curves.curl else "target; the bar is what counts as true"
            yield _figure(
                curves_picture(curves, bands, number),
                f"{target_for_eyes(target)}: the newest {len(curves.curves)} tries "
                f"from the pluck on, in cents from the {below}.",
            )
    errors = prebend_errors(review)
    if len(errors):
        yield _figure(
            prebend_picture(errors, bands),
            "Pre-bends by their error in cents; the bar is what counts as true against a drone.",
        )
    for number, course in enumerate(courses_of(review)):
        what = "share of curls released, in percent" if course.percent else "middle miss in cents"
        line = "" if course.row.trend is None or course.row.trend_stands else " No trend beyond chance."
        yield _figure(course_picture(course, number), f"{target_for_eyes(course.row.name)}: {what}, by session.{line}")
    yield "</div>"


def _figure(picture: str, caption: str) -> str:
    return f"<figure>{picture}<figcaption>{escape(caption)}</figcaption></figure>"


def _meanings() -> Iterator[str]:
    yield "<dl>" + "".join(f"<dt>{name}</dt><dd>{MEANINGS[name]}</dd>" for name in COLUMNS) + "</dl>"


def _sessions(review: Review) -> Iterator[str]:
    yield '<div class="wide" role="region" tabindex="0" aria-label="List of sessions"><table>'
    yield "<caption>The last one first</caption>"
    heads = ("Session", "begun", "length", "notes", "player")
    yield "<thead><tr>" + "".join(f'<th scope="col">{head}</th>' for head in heads) + "</tr></thead><tbody>"
    for session, name in reversed(list(zip(review.sessions, review.players, strict=True))):
        data = (date_words(session), length_words(session), str(session.entries), name or NOTHING)
        yield f'<tr><th scope="row">{session.id}</th>' + "".join(f"<td>{escape(cell)}</td>" for cell in data) + "</tr>"
    yield "</tbody></table></div>"
    if any(session.wall_doubtful for session in review.sessions):
        yield "<p>? The clock was not to be trusted: order and length are certain, the date is not.</p>"
