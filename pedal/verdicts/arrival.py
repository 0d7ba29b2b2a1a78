"""When a bend arrived: the moment that lies beside the beat."""

from __future__ import annotations

from pedal.theory.cents import hz_of
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.aim import Bands
from pedal.verdicts.verdict import Verdict

ARRIVED_SHARE = 0.2
"""A bend has arrived when it is as near to where it then stands as is called true; a curl within this of its height."""


def arrival_s(verdict: Verdict, *, a4_hz: float) -> float | None:
    """When a bend arrived, on the axis of the readings; None for what is no bend, or has no curve.

    A bend or curl: when its pitch first comes within 10 cents of where it then stands, or within a fifth of its height
    if that is less. A pre-bend is there when it is plucked.
    """
    if verdict.verdict == "unclear":
        return None
    if verdict.kind in ("prebend", "prebend_release"):
        return verdict.onset_s
    trace, height = verdict.trace, verdict.bend_cents
    if verdict.kind not in ("bend", "bend_release", "curl") or trace is None or height is None:
        return None
    if verdict.rest_note is None or len(trace.hz) < 2:
        return None
    rest_hz = hz_of(parse_pitch(verdict.rest_note), a4_hz=a4_hz) * 2.0 ** ((verdict.rest_cents or 0.0) / 1200.0)
    wanted_hz = rest_hz * 2.0 ** ((height - min(Bands().true_cents, ARRIVED_SHARE * height)) / 1200.0)
    there = (trace.hz >= wanted_hz) & (trace.time_s >= verdict.onset_s)
    both = there[:-1] & there[1:]  # one stray reading is no arrival
    if not both.any():
        return None
    at = int(both.argmax())
    before = float(trace.hz[at - 1]) if at else wanted_hz
    if before >= wanted_hz:
        return float(trace.time_s[at])
    share = (wanted_hz - before) / (float(trace.hz[at]) - before)
    return float(trace.time_s[at - 1] + share * (trace.time_s[at] - trace.time_s[at - 1]))
