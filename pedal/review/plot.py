"""A review as one picture file, drawn by matplotlib: the same four views as on the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np

from pedal.errors import StoreError
from pedal.progress.naming import target_for_eyes
from pedal.review.curves import BIN_CENTS, binned, courses_of, curves_of, pictured, prebend_errors
from pedal.review.review import Review
from pedal.verdicts.aim import Bands

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SUFFIXES = (".png", ".svg", ".pdf")
_BAND, _MARK = "#d3e6da", "#0f5f8a"


def save_plot(review: Review, file: BinaryIO, *, picture: str) -> None:
    """Draw and write as "png", "svg" or "pdf".

    Needs matplotlib, an extra of the installation. Raises `StoreError` where there is nothing to draw.
    """
    if not review.overall.tries:
        raise StoreError("There is nothing to draw: no bend was judged in what was chosen.")
    figure, axes = _canvas(len(pictured(review)))
    limits = review.bands
    _draw_bias(axes["bias"], review, limits)
    _draw_prebends(axes["prebends"], review, limits)
    _draw_courses(axes["courses"], review)
    for number, target in enumerate(pictured(review)):
        _draw_curves(axes[f"curves {number}"], review, target, limits)
    figure.savefig(file, format=picture)


def _canvas(targets: int) -> tuple[Any, dict[str, Axes]]:
    """A figure without a window, and its parts by name."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure: Any = Figure(figsize=(12, 9), layout="constrained")
    FigureCanvasAgg(figure)
    halves = ["prebends"] * (targets // 2) + ["courses"] * (targets - targets // 2)
    rows = [["bias"] * targets, halves] if targets > 1 else [["bias"], ["prebends"], ["courses"]]
    axes: dict[str, Axes] = figure.subplot_mosaic([*rows, [f"curves {n}" for n in range(targets)]])
    return figure, axes


def _draw_bias(axes: Axes, review: Review, bands: Bands) -> None:
    rows = [row for row in reversed(review.tables["target"]) if row.bias_cents is not None]
    axes.axvspan(-bands.true_cents, bands.true_cents, color=_BAND)
    axes.axvline(0, color="black", linewidth=0.8)
    for y, row in enumerate(rows):
        bias, spread = row.bias_cents, row.spread_cents or 0.0
        if bias is None:
            continue
        axes.plot([bias.value - spread, bias.value + spread], [y, y], color=_MARK, linewidth=1.2)
        if bias.bounded:
            axes.plot([bias.low, bias.high], [y, y], color=_MARK, linewidth=6, solid_capstyle="butt")
        axes.plot(bias.value, y, "o", color="black", markersize=5)
    axes.set_yticks(range(len(rows)), [f"{target_for_eyes(row.name)}  ({row.tries})" for row in rows])
    axes.set_ylim(-0.6, len(rows) - 0.4)
    axes.set_title("Error by target in cents: median, its 95 % interval (thick), spread (thin); tries in brackets")


def _draw_prebends(axes: Axes, review: Review, bands: Bands) -> None:
    errors = prebend_errors(review)
    half = bands.against_drone().true_cents
    axes.axvspan(-half, half, color=_BAND)
    axes.locator_params(axis="y", integer=True)
    for edge, count in binned(errors):
        axes.bar(edge, count, width=BIN_CENTS, align="edge", color=_MARK, alpha=0.7, edgecolor="white")
    axes.set_title("Pre-bends by their error in cents" if len(errors) else "Pre-bends: none yet", fontsize="medium")


def _draw_courses(axes: Axes, review: Review) -> None:
    """Middle misses in cents; curls, whose miss is a share, are left to the page."""
    courses = [course for course in courses_of(review) if not course.percent]
    for course in courses:
        sessions, values = zip(*course.points, strict=True)
        (line,) = axes.plot(sessions, values, ".", markersize=5, label=target_for_eyes(course.row.name))
        if course.row.trend is not None and course.row.trend_stands:
            ends = [course.row.trend.first, course.row.trend.last]
            axes.plot([sessions[0], sessions[-1]], ends, color=line.get_color(), linewidth=2)
    axes.set_title("Middle miss in cents by session; a line where it surely moves", fontsize="medium")
    if courses:
        axes.set_ylim(0, 1.35 * max(value for course in courses for _, value in course.points))
        axes.legend(fontsize="small", ncols=3, loc="upper center")


def _draw_curves(axes: Axes, review: Review, target: str, bands: Bands) -> None:
    curves = curves_of(review, target)
    band = (bands.zone_low_cents, bands.zone_high_cents) if curves.curl else (-bands.true_cents, bands.true_cents)
    axes.axhspan(*band, color=_BAND)
    for time_s, cents in curves.curves:
        axes.plot(time_s, cents, color=_MARK, alpha=0.35, linewidth=1)
    axes.set_ylim((-20, 100) if curves.curl else (-100, 50))
    ends = [float(np.max(time_s)) for time_s, _ in curves.curves]
    axes.set_xlim(0, min(3.0, float(np.median(ends))) if ends else 1.0)
    axes.set_title(
        f"{target_for_eyes(target)}: cents from the {'rest note' if curves.curl else 'target'}", fontsize="medium"
    )
    axes.set_xlabel("seconds from the pluck")
