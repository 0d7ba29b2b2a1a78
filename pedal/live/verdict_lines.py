"""A verdict as a line of text: JSON for programs, a row of a table for eyes."""

from __future__ import annotations

import dataclasses
import json
import math

from pedal.theory.spelling import for_eyes
from pedal.verdicts.verdict import Verdict

_FIELDS = [field.name for field in dataclasses.fields(Verdict) if field.name != "trace"]
_DECIMALS = {"_s": 4, "_cents": 2, "_hz": 2, "_evenness": 2}
_ENDINGS = {"cut_sharp": "cut sharp", "rang_out": "rang out"}
_HEADER = ("at s", "note", "", "kind", "to", "height c", "error c", "held s", "ending", "verdict", "why")
_WIDTHS = (7, 5, 4, 15, 5, 8, 7, 6, 9, 8, 0)
_NOTHING = "–"
_NO_BENDS = ("slide", "hammer_on")
_NUMBERS = {"at s", "height c", "error c", "held s"}


def json_line(verdict: Verdict) -> str:
    """One JSON object with the verdict's fields in their order, seconds to 0.1 ms, cents and hertz to 0.01."""
    return json.dumps({name: _plain(name, getattr(verdict, name)) for name in _FIELDS})


def table_header() -> str:
    """The names of the columns of `table_row`, and what their numbers count."""
    return _row(_HEADER)


def word(verdict: Verdict) -> str:
    """The verdict as a player counts it: of the notes that cannot be judged, most are in no way unclear."""
    if verdict.verdict != "unclear":
        return verdict.verdict
    if verdict.kind == "steady":
        return "steady"
    return "no bend" if verdict.kind in _NO_BENDS else "unclear"


def table_row(verdict: Verdict) -> str:
    """One row: when, what was fretted, what was done, where it went, how far off, how it ended, and why.

    A dash where a level note has no height, and a steady one no verdict.
    """
    return _row(
        (
            f"{verdict.onset_s:.2f}",
            for_eyes(verdict.rest_note or "?"),
            for_eyes(verdict.degree or ""),
            verdict.kind.replace("_", " "),
            for_eyes(verdict.target_note or ""),
            _NOTHING if verdict.shape == "level" else _signed(verdict.bend_cents),
            _signed(verdict.error_cents),
            "" if verdict.hold_s is None else f"{verdict.hold_s:.2f}",
            _ENDINGS.get(verdict.ending, verdict.ending),
            _NOTHING if verdict.kind == "steady" else word(verdict).upper(),
            for_eyes(verdict.reason),
        )
    )


def _row(cells: tuple[str, ...]) -> str:
    aligned = (
        cell.rjust(width) if name in _NUMBERS else cell.ljust(width)
        for name, cell, width in zip(_HEADER, cells, _WIDTHS, strict=True)
    )
    return "  ".join(aligned).rstrip()


def _signed(cents: float | None) -> str:
    return "" if cents is None else f"{cents:+.1f}"


def _plain(name: str, value: object) -> object:
    if not isinstance(value, float):
        return value
    if not math.isfinite(value):
        return None
    return round(value, next(places for end, places in _DECIMALS.items() if name.endswith(end)))
