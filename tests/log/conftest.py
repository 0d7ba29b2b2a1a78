"""Entries to log, with defaults for everything a test is not about."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace
from pedal.verdicts.verdict import Verdict

BENT = Verdict(
    onset_s=1.0,
    end_s=2.5,
    rest_note="F4",
    rest_cents=2.5,
    degree="b7",
    shape="rise",
    kind="bend",
    target_note="G4",
    target_degree="1",
    bend_cents=178.25,
    error_cents=-21.75,
    absolute_cents=-19.25,
    peak_cents=181.0,
    overshoot_cents=0.0,
    rise_s=0.31,
    hold_s=0.8,
    final_cents=177.5,
    ending="cut_sharp",
    vibrato_hz=0.0,
    vibrato_cents=0.0,
    verdict="near",
    reason="The bend from F4 stopped 22 cents below G4.",
)


@pytest.fixture
def a_trace() -> Trace:
    """A bend of 1.5 s as the ear gives it: a reading each 2.67 ms, a rise of a whole tone, a shallow vibrato."""
    time_s = 1.0 + np.arange(560) * 128 / 48000
    rise = 200 / (1 + np.exp(-(time_s - 1.3) * 25))
    cents = rise + 8 * np.sin(2 * np.pi * 5.5 * time_s) * (time_s > 1.7)
    return Trace(time_s, 349.228 * 2 ** (cents / 1200), -18 - 8 * (time_s - 1))


@pytest.fixture
def an_entry(a_trace: Trace) -> Callable[..., LogEntry]:
    """`an_entry(time_s=3.0, error_cents=-12.0)`: fields of the entry or of its verdict."""
    entry_fields = set(LogEntry.__dataclass_fields__)

    def build(**changes: object) -> LogEntry:
        verdict = replace(BENT, **{"trace": a_trace} | {k: v for k, v in changes.items() if k not in entry_fields})
        own = {k: v for k, v in changes.items() if k in entry_fields}
        asked = LogEntry(3.0, "ladder", "G minor pentatonic", verdict, position=1, string=2, fret=6, target_note="G4")
        return replace(asked, **own)

    return build
