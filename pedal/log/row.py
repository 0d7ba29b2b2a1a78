"""A log entry as columns of the tables, and back."""

from __future__ import annotations

from collections.abc import Sequence
from sys import intern
from typing import Any

from pedal.modes.log_entry import LogEntry
from pedal.verdicts.verdict import Verdict

VERDICT_COLUMNS = (
    "onset_s", "end_s", "rest_note", "rest_cents", "degree", "shape", "kind", "target_note", "target_degree",
    "bend_cents", "error_cents", "absolute_cents", "peak_cents", "overshoot_cents", "rise_s", "hold_s", "final_cents",
    "ending", "vibrato_hz", "vibrato_cents", "verdict", "reason", "rest_heard", "begun_by", "vibrato_side",
    "vibrato_evenness",
)  # fmt: skip
"""Fields of a verdict that have a column each: a new one needs a new version of the schema."""

AROUND_COLUMNS = ("lick", "lick_pass", "lick_note", "lick_mark", "beat_ms", "chord")
"""What the note was part of: fields of an entry with a column of the same name, None where there was no such thing."""

ENTRY_COLUMNS = (
    "session", "number", "setting", "time_s", "position", "string", "fret", "asked_note", "skipped", *VERDICT_COLUMNS,
    *AROUND_COLUMNS,
)  # fmt: skip
_TEXTS = {
    "rest_note", "degree", "shape", "kind", "target_note", "target_degree", "ending", "verdict", "reason", "begun_by",
    "vibrato_side",
}  # fmt: skip

_HEARD, _BEGUN_BY = VERDICT_COLUMNS.index("rest_heard"), VERDICT_COLUMNS.index("begun_by")

Value = float | int | str | bytes | None


def setting_values(entry: LogEntry) -> tuple[str, str, int, float, str]:
    """mode, key, drone, a4_hz, tuning: what seldom changes within a session."""
    return entry.mode, entry.key, int(entry.drone), float(entry.a4_hz), entry.tuning


def entry_values(session: int, number: int, setting: int, entry: LogEntry) -> tuple[Value, ...]:
    """Values for `ENTRY_COLUMNS`; NumPy's numbers become plain ones, which SQLite can bind."""
    asked = (_whole(entry.position), _whole(entry.string), _whole(entry.fret), entry.target_note, int(entry.skipped))
    around = (entry.lick, _whole(entry.lick_pass), _whole(entry.lick_note), entry.lick_mark, _real(entry.beat_ms))
    judged = verdict_values(entry.verdict)
    return (session, number, setting, float(entry.time_s), *asked, *judged, *around, entry.chord)


def verdict_values(verdict: Verdict | None) -> tuple[Value, ...]:
    """Values for `VERDICT_COLUMNS`, all None where there is no verdict."""
    if verdict is None:
        return (None,) * len(VERDICT_COLUMNS)
    return tuple(_plain(name, getattr(verdict, name)) for name in VERDICT_COLUMNS)


READ_COLUMNS = (
    "number",
    "time_s",
    "mode",
    "key",
    "position",
    "string",
    "fret",
    "asked_note",
    "skipped",
    "drone",
    "a4_hz",
    "tuning",
    *AROUND_COLUMNS,
    *VERDICT_COLUMNS,
)
"""What the reader asks for, in the order that `entry_of` takes apart."""


def entry_of(row: Sequence[Any]) -> LogEntry:
    """The entry of a row of `READ_COLUMNS`, without its trace.

    Taken apart by place, and each word kept once: a log of years is read in seconds and fits the memory of a pedal.
    """
    _, time_s, mode, key, position, string, fret, asked, skipped, drone, a4_hz, tuning, *more = row
    around: list[Any] = [intern(value) if type(value) is str else value for value in more[: len(AROUND_COLUMNS)]]
    judged: list[Any] = [intern(value) if type(value) is str else value for value in more[len(AROUND_COLUMNS) :]]
    verdict = None
    if judged[0] is not None:
        # Logs of before version 3 don't say: what they hold was taken for plucked, from a rest that was heard.
        heard, begun_by = judged[_HEARD], judged[_BEGUN_BY]
        judged[_HEARD], judged[_BEGUN_BY] = heard is None or bool(heard), begun_by or "pluck"
        verdict = Verdict(*judged)
    return LogEntry(
        time_s, intern(mode), intern(key), verdict, position, string, fret, asked, bool(skipped), bool(drone), a4_hz,
        intern(tuning), *around,
    )  # fmt: skip


def placeholders(columns: Sequence[str]) -> str:
    """Question marks for as many columns."""
    return ", ".join("?" * len(columns))


def _plain(name: str, value: str | float | None) -> Value:
    if value is None or name in _TEXTS:
        return value
    return int(value) if name == "rest_heard" else float(value)


def _whole(number: int | None) -> int | None:
    return None if number is None else int(number)


def _real(number: float | None) -> float | None:
    return None if number is None else float(number)
