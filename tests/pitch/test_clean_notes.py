"""Every note from B1 to E6 on clean strings: right octave, early, and true to a tenth of a cent."""

from __future__ import annotations

import numpy as np
import pytest
from string_takes import cents, hear, note_hz, sounding, string, take

NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


def name(midi: int) -> str:
    return f"{NAMES[midi % 12]}{midi // 12 - 1}"


def stiffness_of(midi: int) -> float:
    """Open wound strings are stiffest for their pitch, and every fret adds to it."""
    return 1.2e-4 if midi < 50 else 3e-5 * 2 ** ((midi - 50) / 14)


@pytest.mark.parametrize("midi", [35, *range(40, 89)], ids=name)
def test_a_clean_note_is_right_early_and_true(midi: int) -> None:
    true_hz = note_hz(midi)
    heard = hear(take(string(true_hz, 0.6, stiffness=stiffness_of(midi), seed=midi)))
    voiced = heard.hz > 0
    off = cents(heard.hz, true_hz)
    assert np.abs(off[voiced]).max() < 50, "no reading of the note may be wrong"
    first_ms = 1000 * heard.heard_s[voiced][0]
    allowed_ms = 1000 * 2.4 / true_hz + 9
    assert first_ms < allowed_ms, f"first reading after {first_ms:.1f} ms, allowed {allowed_ms:.1f}"
    assert np.isfinite(off[sounding(heard, 0.58)]).all(), "the note is lost on the way"
    settled = np.median(np.abs(off[sounding(heard, 0.58, since_s=0.1)]))
    allowed = 0.3 if midi < 45 else 0.1
    assert settled < allowed, f"steady error {settled:.3f} cents"


@pytest.mark.parametrize(("midi", "within_ms"), [(40, 40.0), (64, 20.0)], ids=["low E string", "high E string"])
def test_the_first_reading_comes_in_time(midi: int, within_ms: float) -> None:
    heard = hear(take(string(note_hz(midi))))
    trusted = np.abs(cents(heard.hz, note_hz(midi))) < 10
    assert 1000 * heard.heard_s[trusted][0] < within_ms


@pytest.mark.parametrize("pickup_at", [0.05, 0.25, 0.5], ids=["bridge", "neck", "octave node"])
@pytest.mark.parametrize("midi", [40, 47, 59, 71])
def test_no_pickup_place_fools_the_octave(midi: int, pickup_at: float) -> None:
    heard = hear(take(string(note_hz(midi), 0.5, pickup_at=pickup_at, pluck_at=0.11)))
    off = cents(heard.hz, note_hz(midi))[sounding(heard, 0.48)]
    assert np.abs(off).max() < 20


@pytest.mark.parametrize(
    ("midi", "stiffness"),
    [(40, 1e-5), (40, 1e-4), (40, 2e-4), (45, 1e-5), (45, 4e-4), (52, 1e-4), (52, 4e-4), (55, 5e-4)],
)
def test_the_reading_follows_the_first_partial_whatever_the_stiffness(midi: int, stiffness: float) -> None:
    """Matching whole periods would read up to 20 cents sharp here just after the pluck."""
    heard = hear(take(string(note_hz(midi), 0.6, stiffness=stiffness)))
    off = np.abs(cents(heard.hz, note_hz(midi)))
    assert off[sounding(heard, 0.55, since_s=0.03)].max() < 4.0
    assert off[sounding(heard, 0.55, since_s=0.15)].max() < 0.6


def test_silence_has_no_pitch() -> None:
    heard = hear(take(np.zeros(48_000)))
    assert not heard.hz.any()
    assert not heard.now_hz.any()
    assert not heard.attack_db.any()
