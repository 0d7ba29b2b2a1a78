"""A log entry as columns of the tables, and back."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from typing import Any

from pedal.app.store.trace_blob import decode_trace
from pedal.modes.log_entry import LogEntry
from pedal.verdicts.verdict import Verdict

VERDICT_COLUMNS = (
    "onset_s", "end_s", "rest_note", "rest_cents", "degree", "shape", "kind", "target_note", "target_degree",
    "bend_cents", "error_cents", "absolute_cents", "peak_cents", "overshoot_cents", "rise_s", "hold_s", "final_cents",
    "ending", "vibrato_hz", "vibrato_cents", "verdict", "reason",
)  # fmt: skip
"""Fields of a verdict that have a column each: a new one needs a new version of the schema."""

ENTRY_COLUMNS = (
    "session", "number", "setting", "time_s", "position", "string", "fret", "asked_note", "skipped", *VERDICT_COLUMNS,
)  # fmt: skip
_TEXTS = {"rest_note", "degree", "shape", "kind", "target_note", "target_degree", "ending", "verdict", "reason"}

Value = float | int | str | bytes | None


def setting_values(entry: LogEntry) -> tuple[str, str, int, float, str]:
    """mode, key, drone, a4_hz, tuning: what seldom changes within a session."""
    return entry.mode, entry.key, int(entry.drone), float(entry.a4_hz), entry.tuning


def entry_values(session: int, number: int, setting: int, entry: LogEntry) -> tuple[Value, ...]:
    """Values for `ENTRY_COLUMNS`; NumPy's numbers become plain ones, which SQLite can bind."""
    asked = (_whole(entry.position), _whole(entry.string), _whole(entry.fret), entry.target_note, int(entry.skipped))
    return (session, number, setting, float(entry.time_s), *asked, *verdict_values(entry.verdict))


def verdict_values(verdict: Verdict | None) -> tuple[Value, ...]:
    """Values for `VERDICT_COLUMNS`, all None where there is no verdict."""
    if verdict is None:
        return (None,) * len(VERDICT_COLUMNS)
    return tuple(_plain(name, getattr(verdict, name)) for name in VERDICT_COLUMNS)


def entry_of(row: sqlite3.Row, *, with_trace: bool) -> LogEntry:
    """The entry of a row of the reader's query."""
    return LogEntry(
        time_s=row["time_s"], mode=row["mode"], key=row["key"], verdict=_verdict_of(row, with_trace=with_trace),
        position=row["position"], string=row["string"], fret=row["fret"], target_note=row["asked_note"],
        skipped=bool(row["skipped"]), drone=bool(row["drone"]), a4_hz=row["a4_hz"], tuning=row["tuning"],
    )  # fmt: skip


def _verdict_of(row: sqlite3.Row, *, with_trace: bool) -> Verdict | None:
    if row["onset_s"] is None:
        return None
    columns: dict[str, Any] = {name: row[name] for name in VERDICT_COLUMNS}
    return Verdict(**columns, trace=decode_trace(row["points"] or b"") if with_trace else None)


def placeholders(columns: Sequence[str]) -> str:
    """Question marks for as many columns."""
    return ", ".join("?" * len(columns))


def _plain(name: str, value: str | float | None) -> Value:
    if value is None or name in _TEXTS:
        return value
    return float(value)


def _whole(number: int | None) -> int | None:
    return None if number is None else int(number)
