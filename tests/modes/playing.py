"""A player of scripted notes: happenings with everything that a test is not about filled in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pedal.modes.input_events import Action, Command, InputEvent, LivePitch
from pedal.modes.log_entry import LogEntry
from pedal.modes.pedal import Pedal, PedalState
from pedal.notes.event import End, Hold, Onset, Rest
from pedal.notes.note import Note, Trace
from pedal.pitch.reading import Reading
from pedal.theory.cents import hz_of
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.verdict import Verdict

NO_TRACE = Trace(np.zeros(0), np.zeros(0), np.zeros(0))


def a_verdict(**changes: object) -> Verdict:
    """A true whole-step bend of C4, rung out."""
    plain = Verdict(
        onset_s=1.0, end_s=2.0, rest_note="C4", rest_cents=0.0, degree="4", shape="rise", kind="bend",
        target_note="D4", target_degree="5", bend_cents=200.0, error_cents=0.0, absolute_cents=0.0, peak_cents=202.0,
        overshoot_cents=2.0, rise_s=0.2, hold_s=0.5, final_cents=200.0, ending="rang_out", vibrato_hz=0.0,
        vibrato_cents=0.0, verdict="true", reason="On the note.",
    )  # fmt: skip
    return replace(plain, **changes)  # type: ignore[arg-type]


def a_curl(**changes: object) -> Verdict:
    """A curl of Bb3 to 35 cents, cut off there."""
    plain = a_verdict(
        rest_note="Bb3", degree="b3", kind="curl", target_note=None, target_degree=None, bend_cents=35.0,
        error_cents=0.0, absolute_cents=None, peak_cents=36.0, final_cents=34.0, ending="cut_sharp",
    )  # fmt: skip
    return replace(plain, **changes)  # type: ignore[arg-type]


def a_note(**changes: object) -> Note:
    plain = Note(1.0, 2.0, "rise", 261.6, 261.6, 293.7, 294.0, 293.0, 0.2, 0.5, "rang_out", None, None, NO_TRACE)
    return replace(plain, **changes)  # type: ignore[arg-type]


def sound(pitch: str, cents: float = 0.0) -> float:
    """Hertz of a scientific pitch, so many cents sharp."""
    return hz_of(parse_pitch(pitch) + cents / 100.0)


def readings(hz: float, *, from_s: float, to_s: float, hop_s: float = 128 / 48000) -> list[Reading]:
    """Readings of a steady pitch."""
    count = round((to_s - from_s) / hop_s)
    times = [from_s + i * hop_s for i in range(count)]
    return [Reading(t, hz, 0.95, -20.0, t + 0.01) for t in times]


def live(hz: float, time_s: float = 0.0, **changes: object) -> LivePitch:
    return LivePitch(time_s, hz, -20.0, **changes)  # type: ignore[arg-type]


def a_bend_as_events(rest: str, to_cents: float, *, onset_s: float = 1.0) -> list[InputEvent]:
    """Pluck, rest, and the pitch at the height, still sounding."""
    up = sound(rest, to_cents)
    return [
        Onset(onset_s), Rest(onset_s + 0.1, sound(rest)), *readings(up, from_s=onset_s + 0.3, to_s=onset_s + 0.5),
        Hold(onset_s + 0.5, up), live(up, onset_s + 0.5),
    ]  # fmt: skip


def ended(verdict: Verdict) -> list[InputEvent]:
    """The end of a note and its verdict."""
    return [End(verdict.end_s, a_note(onset_s=verdict.onset_s, end_s=verdict.end_s)), verdict]


def play(pedal: Pedal, *happenings: InputEvent) -> list[LogEntry]:
    """Everything logged on the way."""
    return [entry for event in happenings for entry in pedal.step(event).entries]


def press(pedal: Pedal, *actions: Action) -> list[LogEntry]:
    """The foot asks for something."""
    return play(pedal, *(Command(0.0, action) for action in actions))


def a_pedal(**settings: object) -> Pedal:
    return Pedal(PedalState(**settings))  # type: ignore[arg-type]
