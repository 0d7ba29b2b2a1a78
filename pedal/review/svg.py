"""Small pictures for the page, drawn as SVG text: no library, no script, colours from the page's style."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import numpy as np
from numpy.typing import NDArray

from pedal.progress.figures import Figures
from pedal.progress.naming import target_for_eyes, whole_words
from pedal.review.curves import Curves, PitchCurve, binned
from pedal.verdicts.aim import Bands

WIDTH = 360
"""Drawn for a phone held upright, so that letters are readable there without zooming."""

_LEFT, _RIGHT = 8, 352
_POINTS = 60


def bias_picture(rows: Sequence[Figures], bands: Bands) -> str:
    """Each target's middle error with its interval (thick) and its spread (thin), over the band that counts as true."""
    drawn = [row for row in rows if row.bias_cents is not None and row.bias_cents.bounded]
    reach = max([40.0, *(abs(end) for row in drawn for end in _ends(row))])
    reach = 20.0 * np.ceil(reach / 20.0)
    axis = _Axis(-reach, reach, 104, _RIGHT - 14)
    height = 34 + 30 * len(drawn)
    parts = [
        _rect(
            "band", axis.at(-bands.true_cents), 6, axis.at(bands.true_cents) - axis.at(-bands.true_cents), height - 30
        )
    ]
    parts += [
        _line("axis", axis.at(0), 6, axis.at(0), height - 24),
        *_scale(axis, height - 8, step=20 if reach <= 60 else _step(2 * reach)),
    ]
    for number, row in enumerate(drawn):
        y = 22 + 30 * number
        low, high = _ends(row)
        bias = row.bias_cents
        assert bias is not None
        parts += [_text("name", _LEFT, y + 5, target_for_eyes(row.name).replace("pre-bend", "pre"))]
        parts += [
            _line("spread", axis.at(low), y, axis.at(high), y),
            _line("interval", axis.at(bias.low), y, axis.at(bias.high), y),
        ]
        parts += [f'<circle class="dot" cx="{axis.at(bias.value):.1f}" cy="{y}" r="4.5"/>']
    words = "; ".join(f"{target_for_eyes(r.name)} {r.bias_cents.value:+.0f} cents" for r in drawn if r.bias_cents)
    return _svg("bias", height, "Bias and spread by target", f"Middle error of each target: {words}.", parts)


def course_picture(course: PitchCurve, number: int) -> str:
    """The middle miss of each session, and the fitted line where a trend may be announced."""
    sessions = [session for session, _ in course.points]
    values = [value for _, value in course.points]
    unit = " %" if course.percent else " cents"
    high = _nice(max(values))
    left = _room_for(high)
    x, y = _Axis(min(sessions), max(sessions), left + 10, _RIGHT - 6), _Axis(0, high, 92, 10)
    parts = [_line("axis", left + 4, y.at(0), _RIGHT, y.at(0)), _text("tick end", left, y.at(0) + 4, "0")]
    parts += [
        _line("grid", left + 4, y.at(high), _RIGHT, y.at(high)),
        _text("tick end", left, y.at(high) + 4, f"{high:.0f}"),
    ]
    parts += [f'<circle class="dot" cx="{x.at(s):.1f}" cy="{y.at(v):.1f}" r="3"/>' for s, v in course.points]
    parts += [
        _text("tick", left + 10, 110, f"session {sessions[0]}"),
        _text("tick end", _RIGHT, 110, f"session {sessions[-1]}"),
    ]
    said = "" if course.row.trend is None else " No trend beyond chance."
    if course.row.trend is not None and course.row.trend_stands:
        trend, scale = course.row.trend, 100 if course.percent else 1
        first, last = max(0.0, scale * trend.first), max(0.0, scale * trend.last)
        parts += [_line("fitted", x.at(sessions[0]), y.at(first), x.at(sessions[-1]), y.at(last))]
        said = f" The fitted line goes from {first:.0f} to {last:.0f}{unit}."
    what = "share released" if course.percent else "middle miss"
    told = f"{what} in {len(values)} sessions, first {values[0]:.0f}, last {values[-1]:.0f}{unit}.{said}"
    return _svg(f"course-{number}", 116, f"{target_for_eyes(course.row.name)}: {what} by session", told, parts)


def curves_picture(curves: Curves, bands: Bands, number: int) -> str:
    """Pitch from the onset, all tries over each other, with the target's band or the blue zone."""
    ends = [float(part[0].max()) for part in curves.curves]
    shown_s = min(3.0, float(np.median(ends)) if ends else 1.0)
    low, high = (
        (-20.0, 100.0) if curves.curl else (-100.0, 50.0)
    )  # the rise itself is alike; what matters is the arrival
    band = (bands.zone_low_cents, bands.zone_high_cents) if curves.curl else (-bands.true_cents, bands.true_cents)
    x, y = _Axis(0, shown_s, 46, _RIGHT), _Axis(low, high, 178, 8)
    parts = [_rect("band", 46, y.at(band[1]), _RIGHT - 46, y.at(band[0]) - y.at(band[1]))]
    parts += [_line("grid", 46, y.at(v), _RIGHT, y.at(v)) for v in _marks(low, high)]
    parts += [_text("tick end", 42, y.at(v) + 4, whole_words(v)) for v in _marks(low, high)]
    parts += [_polyline(x, y, part) for part in curves.curves]
    parts += [_text("tick", 46, 196, "0 s"), _text("tick end", _RIGHT, 196, f"{shown_s:.1f} s")]
    name = target_for_eyes(curves.target)
    told = (
        f"{len(curves.curves)} tries from the pluck on, in cents from the {'rest note' if curves.curl else 'target'}."
    )
    return _svg(f"curves-{number}", 202, f"{name}: pitch of the newest tries", told, parts)


def prebend_picture(errors: NDArray[np.float64], bands: Bands) -> str:
    """How many pre-bends arrived how far off, in bins of five cents."""
    bins = binned(errors)
    low, high = min(bins[0][0], -20), max(bins[-1][0] + 5, 20)
    most = max(count for _, count in bins)
    left = _room_for(most)
    x, y = _Axis(low, high, left + 10, _RIGHT - 14), _Axis(0, most, 132, 12)
    half = bands.against_drone().true_cents
    parts = [_rect("band", x.at(-half), 8, x.at(half) - x.at(-half), 124)]
    for edge, count in bins:
        if count:
            parts.append(
                _rect("bar", x.at(edge) + 0.5, y.at(count), x.at(edge + 5) - x.at(edge) - 1, y.at(0) - y.at(count))
            )
    parts += [_line("axis", left + 4, y.at(0), _RIGHT, y.at(0)), _text("tick end", left, y.at(most) + 5, str(most))]
    parts += _scale(x, 150, step=_step(high - low))
    told = f"{len(errors)} pre-bends; the median error is {np.median(errors):+.0f} cents."
    return _svg("prebends", 156, "Errors of pre-bends in cents", told, parts)


class _Axis:
    """Values onto pixels."""

    def __init__(self, low: float, high: float, first: float, last: float) -> None:
        self.low, self.high, self._first, self._last = low, high, first, last

    def at(self, value: float) -> float:
        """The pixel of a value; both ends of an empty axis are its first."""
        share = (value - self.low) / (self.high - self.low) if self.high > self.low else 0.0
        return self._first + share * (self._last - self._first)


def _ends(row: Figures) -> tuple[float, float]:
    """From bias less spread to bias and spread."""
    assert row.bias_cents is not None
    spread = row.spread_cents or 0.0
    return row.bias_cents.value - spread, row.bias_cents.value + spread


def _marks(low: float, high: float) -> list[float]:
    step = 20.0 if high - low <= 120 else 50.0
    return [float(value) for value in np.arange(low, high + 1, step)]


def _nice(value: float) -> float:
    """The next of 10, 20, 50, 100… at or above a value."""
    return next((n for n in (10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0) if n >= value), 12_000.0)


def _room_for(number: float) -> int:
    """Pixels that the widest label of an axis takes: twelve of a digit's height are at most seven wide."""
    return max(26, 8 * len(f"{number:.0f}"))


def _step(span: float) -> int:
    """Cents between the labels of an axis that spans so many."""
    if span <= 160:
        return 20
    return next((step for step in (40, 100, 200, 500, 1000, 2000) if span <= 8 * step), 5000)


def _scale(axis: _Axis, y: float, *, step: int) -> list[str]:
    first = step * int(np.ceil(axis.low / step))
    return [
        _text("tick middle", axis.at(v), y, whole_words(v, signed=True)) for v in range(first, int(axis.high) + 1, step)
    ]


def _polyline(x: _Axis, y: _Axis, curve: tuple[np.ndarray, np.ndarray]) -> str:
    """The curve while it lies within the picture, thinned to what the eye can part."""
    time_s, cents = curve
    keep = np.flatnonzero((time_s >= 0) & (time_s <= x.high) & (cents >= y.low) & (cents <= y.high))
    keep = keep[:: max(1, len(keep) // _POINTS)]
    points = " ".join(f"{x.at(t):.1f},{y.at(c):.1f}" for t, c in zip(time_s[keep], cents[keep], strict=True))
    return f'<polyline class="curve" points="{points}"/>'


def _line(kind: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<line class="{kind}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _rect(kind: str, x: float, y: float, width: float, height: float) -> str:
    return f'<rect class="{kind}" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'


def _text(kind: str, x: float, y: float, words: str) -> str:
    return f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}">{escape(words)}</text>'


def _svg(name: str, height: float, title: str, told: str, parts: Sequence[str]) -> str:
    """An image with a name and a description for those who hear the page."""
    head = f'<svg role="img" viewBox="0 0 {WIDTH} {height:.0f}" aria-labelledby="{name}-title {name}-desc">'
    words = f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-desc">{escape(told)}</desc>'
    return "\n".join((head + words, *parts, "</svg>"))
