"""Settled strings: within 0.1 cent of a synthetic truth, within 0.5 cent of Praat on a sampled guitar."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import parselmouth
import pytest
from string_takes import LEAD_S, RATE, cents, hear, note_hz, string, take

from tests.grids import grid

FONT = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")
"""General MIDI font of Debian's timgm6mb-soundfont."""
OPEN_STRINGS = {"E2": 40, "A2": 45, "D3": 50, "G3": 55, "B3": 59, "E4": 64}


def each_with_some(strings: dict[str, int], others: dict[str, float]) -> list:
    """(string, other value): the lowest string, which is the hardest, with all of them, each other with one in turn."""
    lowest = min(strings.values())
    return grid(strings, others, each=3, hardest=[(lowest, other) for other in others.values()])


@pytest.mark.parametrize(
    ("midi", "off"), each_with_some({"B1": 35, **OPEN_STRINGS}, {str(c): c for c in (-31.4, 0.0, 7.3)})
)
def test_half_a_second_of_a_settled_string_is_true_to_a_tenth_of_a_cent(midi: int, off: float) -> None:
    true_hz = note_hz(midi + off / 100)
    heard = hear(take(string(true_hz, 1.4, stiffness=1e-4 if midi < 55 else 3e-5)))
    settled = (heard.time_s > 0.6) & (heard.time_s < 1.1)
    error = float(np.mean(cents(heard.hz, true_hz)[settled]))
    assert abs(error) < 0.1, f"{error:+.3f} cents"


def sampled(midi: int, program: int) -> np.ndarray:
    import fluidsynth

    synth = fluidsynth.Synth(gain=0.6, samplerate=float(RATE), **{"synth.reverb.active": 0, "synth.chorus.active": 0})
    synth.program_select(0, synth.sfload(str(FONT)), 0, program)
    synth.noteon(0, midi, 100)
    stereo = np.asarray(synth.get_samples(int(1.4 * RATE)), dtype=np.float64).reshape(-1, 2)
    synth.delete()
    return stereo.mean(axis=1) / 32768


def praat_hz(x: np.ndarray, hz: float) -> float:
    """Praat's autocorrelation (Boersma 1993) on the low-passed note: mostly the first partial."""
    sound = parselmouth.Sound(x, RATE)
    low = parselmouth.praat.call(sound, "Filter (pass Hann band)", 0, 1.5 * hz, 0.2 * hz)
    pitch = low.to_pitch_ac(time_step=0.02, pitch_floor=hz / 3.5, pitch_ceiling=hz * 1.6, octave_cost=0.2)
    found = pitch.selected_array["frequency"][(pitch.xs() > 0.6) & (pitch.xs() < 1.1)]
    return float(np.median(found[found > 0]))


@pytest.mark.skipif(not FONT.exists(), reason="needs Debian's timgm6mb-soundfont (make test installs it)")
@pytest.mark.parametrize(("midi", "program"), each_with_some(OPEN_STRINGS, {"steel": 25, "jazz": 26, "clean": 27}))
def test_a_sampled_string_reads_as_in_praat(midi: int, program: int) -> None:
    note = sampled(midi, program)
    expected = praat_hz(note, note_hz(midi))
    heard = hear(take(note / np.abs(note).max()), lead_s=LEAD_S)
    settled = (heard.time_s > 0.6) & (heard.time_s < 1.1)
    error = float(np.mean(cents(heard.hz, expected)[settled]))
    assert abs(error) < 0.5, f"{error:+.3f} cents from Praat"
