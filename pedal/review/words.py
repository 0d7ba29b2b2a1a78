"""Figures as short words, the same in the terminal and on the page."""

from __future__ import annotations

from datetime import datetime

from pedal.log.reader import Session
from pedal.progress.figures import Figures
from pedal.progress.intervals import Estimate
from pedal.progress.lick_figures import LickFigures
from pedal.progress.naming import digits_of, folded, target_for_eyes, whole_words
from pedal.progress.time_and_vibrato import TimeAndVibrato
from pedal.review.review import Review
from pedal.theory.spelling import for_eyes

NOTHING = "–"
COLUMNS = ("tries", "true", "bias", "height", "kept", "spread", "rise", "over", "trend")
"""Those that matter most first: a phone shows three or four before it scrolls."""
MEANINGS = {
    "tries": "bends that could be judged",
    "true": "share called true, with its 95 % interval",
    "bias": "median error in cents, with its 95 % interval",
    "height": "median height of curls in cents, with its 95 % interval",
    "kept": "share of curls not released before they were cut off",
    "spread": "scatter of the error in cents",
    "rise": "median time from leaving the rest note to the hold, in seconds",
    "over": "median overshoot above the hold in cents",
    "trend": "where the middle miss surely moves from session to session",
}


def cells(row: Figures) -> tuple[str, ...]:
    """The words of `COLUMNS` for a row of figures."""
    return (
        str(row.tries),
        share_words(row.hits),
        cents_words(row.bias_cents, signed=True),
        cents_words(row.height_cents),
        NOTHING if row.kept is None else f"{100 * row.kept.value:.0f} %",
        NOTHING if row.spread_cents is None else f"{row.spread_cents:.0f}",
        NOTHING if row.rise_s is None else f"{row.rise_s.value:.2f}",
        NOTHING if row.overshoot_cents is None else f"{row.overshoot_cents.value:.0f}",
        trend_words(row),
    )


def cents_words(estimate: Estimate | None, *, signed: bool = False) -> str:
    """Such as "−22 (−25…−20)"; without the interval where there are too few tries for one."""
    if estimate is None:
        return NOTHING
    if not estimate.bounded:
        return whole_words(estimate.value, signed=signed)
    digits = digits_of(estimate.low, estimate.high)
    value, low, high = (
        whole_words(end, signed=signed, digits=digits) for end in (estimate.value, estimate.low, estimate.high)
    )
    return f"{value} ({low}…{high})"


def share_words(share: Estimate | None) -> str:
    """Such as "31 % (24…39)"."""
    if share is None:
        return NOTHING
    digits = digits_of(100 * share.low, 100 * share.high)
    return f"{100 * share.value:.{digits}f} % ({100 * share.low:.{digits}f}…{100 * share.high:.{digits}f})"


def trend_words(row: Figures) -> str:
    """One of "truer" and "worse", or nothing where no trend may be announced."""
    if row.trend is None or not row.trend_stands:
        return NOTHING
    return "truer" if row.trend.slope < 0 else "worse"


def row_words(grouping: str, row: Figures) -> str:
    """A row's name; only targets hold degrees to draw with their accidentals."""
    return target_for_eyes(row.name) if grouping == "target" else row.name


def behind(lick: LickFigures) -> str:
    """Which note of a lick stays behind the others: "note 7, B♭3: curl released"; nothing where none surely does."""
    note = lick.behind
    if note is None:
        return NOTHING
    name = f", {for_eyes(note.note)}" if note.note else ""
    return f"note {note.number}{name}: {note.fault.replace('_', ' ') or NOTHING}"


def date_words(session: Session) -> str:
    """The session's date here, after a question mark where the clock is doubted."""
    doubt = "? " if session.wall_doubtful else ""
    return doubt + datetime.fromtimestamp(session.begun_wall_s).astimezone().strftime("%Y-%m-%d %H:%M")


def players_together(review: Review) -> str:
    """That the figures are of several players at once, and how to see one; "" where they are not."""
    names = list({folded(name): name or "nameless" for name in review.players}.values())
    if len(names) < 2:
        return ""
    return f"The figures below are of {', '.join(names)} together; --player shows one of them."


def length_words(session: Session) -> str:
    """Whole minutes, at least one."""
    return f"{max(1, round(session.length_s / 60))} min"


def timed_lines(timed: TimeAndVibrato) -> list[str]:
    """A sentence each on time, rises and vibrato, as far as there are six of them to bound a middle."""
    said = []
    if timed.late_ms is not None and timed.late_ms.bounded:
        side = "late" if timed.late_ms.value > 0 else "early"
        said.append(
            f"Beside the beat: {abs(timed.late_ms.value):.0f} ms {side} "
            f"({cents_words(timed.late_ms, signed=True).partition(' (')[2]}, spread {timed.late_spread_ms:.0f} ms, "
            f"{timed.late_ms.n} bends."
        )
    if timed.rise_s is not None and timed.rise_s.bounded and timed.rise_scatter is not None:
        said.append(f"Rises: {timed.rise_s.value:.2f} s, scattered by {100 * timed.rise_scatter:.0f} %.")
    rate, width = timed.rate_hz, timed.width_cents
    if rate is not None and width is not None and rate.bounded:
        sides = "" if timed.both is None else f", {100 * timed.both:.0f} % to both sides"
        even = timed.even
        evenly = f", {100 * even.value:.0f} % of {even.n} even" if even is not None and even.n else ""
        said.append(f"Vibrato: {rate.value:.1f} Hz, ±{width.value:.0f} cents{sides}{evenly}, {rate.n} notes ({BOWED}).")
    return said


BOWED = "bowed strings: 5.5 to 8 Hz"
"""Timmers and Desain 2000, as docs/sources.md cites them: a value to stand beside, and no goal."""
