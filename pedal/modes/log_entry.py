"""What is worth keeping of a judged note: the verdict and what was asked."""

from __future__ import annotations

from dataclasses import dataclass

from pedal.verdicts.verdict import Verdict


@dataclass(frozen=True, slots=True)
class LogEntry:
    """One line of the log.

    `position` 1 to 5, `string` 1 (highest) up, where the mode knows them; `skipped` has no verdict.
    """

    time_s: float
    mode: str
    key: str
    verdict: Verdict | None
    position: int | None = None
    string: int | None = None
    fret: int | None = None
    target_note: str | None = None
    skipped: bool = False
    drone: bool = False
    a4_hz: float = 440.0
    tuning: str = "E2 A2 D3 G3 B3 E4"
    beat_ms: float | None = None
    chord: str | None = None
