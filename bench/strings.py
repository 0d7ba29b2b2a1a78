"""Sounds whose first partial is known: a modelled stiff string, and sampled guitars of General MIDI sound fonts."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import parselmouth
from numpy.typing import NDArray

from bench.curves import BLOCK, BLOCK_S, RATE, Curve

FONTS = Path("/usr/share/sounds/sf2")
"""Where Debian's timgm6mb-soundfont and fluid-soundfont-gm put theirs."""
GUITARS = (25, 26, 27, 28, 29, 30)
"""General MIDI programs, from 0: steel, jazz, clean, muted, overdriven, distorted."""
WHEEL_SEMITONES = 12
DRIFT_CENTS = 2.0
"""A sample that wanders further from its own mean is no reference."""

Sound = NDArray[np.float64]


def modelled(hz: Curve, *, open_hz: float, rng: np.random.Generator) -> Sound:
    """A plucked string; `hz` of the first partial a block. Partial k lies at k f sqrt((1 + B k^2) / (1 + B)).

    Stiffness, pluck, pickup, decay and coil are drawn from ordinary guitars (ranges by common practice, no source).
    """
    count = len(hz) * BLOCK
    t = np.arange(count) / RATE
    f = np.interp(t, (np.arange(len(hz)) + 0.5) * BLOCK_S, hz)
    turns = 2 * np.pi * np.cumsum(f) / RATE
    wound = open_hz < 190
    stiffness = min(5e-4, rng.uniform(0.4, 1.4) * (8e-5 if wound else 2.5e-5) * (hz[0] / open_hz) ** 2)
    pluck_at, pickup_at = rng.uniform(0.07, 0.35), rng.uniform(0.06, 0.25)
    decay_s, coil_hz, coil_q = rng.uniform(0.7, 3.0), rng.uniform(1800, 4500), rng.uniform(0.8, 2.2)
    x = np.zeros(count)
    for k in range(1, 100):
        ratio = k * np.sqrt((1 + stiffness * k * k) / (1 + stiffness))
        if ratio * f.max() > 14_000:
            break
        over = ratio * f[0] / coil_hz
        strength = (
            np.sin(np.pi * k * pluck_at) * np.sin(np.pi * k * pickup_at) / k / np.hypot(1 - over**2, over / coil_q)
        )
        fall = 1 / decay_s + (ratio * f[0] / 1000) ** 1.5
        x += strength * np.exp(-t * fall) * np.sin(ratio * turns)
    pick = int(rng.uniform(0.003, 0.007) * RATE)
    scratch = np.diff(rng.normal(size=pick + 1)) * np.exp(-np.arange(pick) / pick * 4)
    x[:pick] += scratch / np.abs(scratch).max() * np.abs(x).max() * 10 ** (rng.uniform(-18, -8) / 20)
    return x / np.abs(x).max()


class Sampler:
    """One sound font, played dry through fluidsynth with a pitch wheel of 12 semitones (RPN 0, MIDI 1.0)."""

    def __init__(self, font: Path) -> None:
        import fluidsynth

        self.name = font.stem
        options = {"synth.reverb.active": 0, "synth.chorus.active": 0}
        self._synth = fluidsynth.Synth(gain=0.6, samplerate=float(RATE), **options)
        self._font = self._synth.sfload(str(font))
        self._offsets: dict[tuple[int, int], float | None] = {}

    def play(self, program: int, key: int, cents: Curve) -> tuple[Sound, Curve]:
        """Sound, and the cents really played: fluidsynth floors to whole cents, so the middle of a cent is aimed at."""
        synth = self._synth
        synth.system_reset()
        synth.program_select(0, self._font, 0, program)
        for control, value in ((101, 0), (100, 0), (6, WHEEL_SEMITONES), (38, 0)):
            synth.cc(0, control, value)
        whole = np.round(cents)
        # Measured: the wheel's 8192 steps span 127/128 of the range set.
        wheel = np.round((whole + 0.5) * 8192 * 128 / (127 * 100 * WHEEL_SEMITONES)).astype(int)
        out = []
        for i, step in enumerate(wheel):
            synth.pitch_bend(0, int(step))
            if i == 0:
                synth.noteon(0, key, 100)
            out.append(np.asarray(synth.get_samples(BLOCK), dtype=np.float64).reshape(-1, 2).mean(axis=1))
        return np.concatenate(out) / 32768, whole

    def offset_cents(self, program: int, key: int) -> float | None:
        """How far the unbent sample is from its key, by Praat on the low-passed note; None where it wanders."""
        if (program, key) not in self._offsets:
            self._offsets[program, key] = _steady_offset(
                self.play(program, key, np.zeros(round(1.0 / BLOCK_S)))[0], key
            )
        return self._offsets[program, key]


def samplers() -> list[Sampler]:
    """One for each sound font that is installed."""
    return [Sampler(font) for font in sorted(FONTS.glob("*.sf2")) if not font.is_symlink()]


def note_hz(key: float) -> float:
    """ISO 16, MIDI 1.0."""
    return 440.0 * 2.0 ** ((key - 69) / 12)


def _steady_offset(x: Sound, key: int) -> float | None:
    hz = note_hz(key)
    low = parselmouth.praat.call(parselmouth.Sound(x, RATE), "Filter (pass Hann band)", 0, 1.5 * hz, 0.2 * hz)
    pitch = low.to_pitch_ac(time_step=0.02, pitch_floor=hz / 3.5, pitch_ceiling=hz * 1.6, octave_cost=0.2)
    found = pitch.selected_array["frequency"]
    late = found[(pitch.xs() > 0.1) & (pitch.xs() < 0.9) & (found > 0)]
    if len(late) < 20:
        return None
    off = 1200 * np.log2(late / hz)
    return float(np.median(off)) if np.ptp(np.percentile(off, [5, 95])) < DRIFT_CENTS else None
