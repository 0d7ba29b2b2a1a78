"""Takes of a sampled guitar with known pitch: a General MIDI sound font, its notes bent by the 14-bit pitch wheel.

The sound is Debian's timgm6mb-soundfont played by fluidsynth, neither made here. The bend range is set by registered
parameter 0 (MIDI 1.0), so the wheel's value tells the true pitch. Two things to know of fluidsynth: it rounds pitch
down to whole cents, and its wheel reaches 127/128 of the range; so whole cents are asked for, in mid-step.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import fluidsynth
import numpy as np
from numpy.typing import NDArray

FONTS = ("/usr/share/sounds/sf2/TimGM6mb.sf2", "/usr/share/sounds/sf2/default-GM.sf2")
RATE = 48_000
STEP = 64
"""fluidsynth moves the wheel at its own block of 64 samples."""
RANGE_SEMITONES = 4
CLEAN_GUITAR, STEEL_GUITAR, JAZZ_GUITAR = 27, 25, 26
"""General MIDI programs, counted from 0."""
_CHOKE_S, _FADE_S = 0.012, 0.25


@dataclass(frozen=True)
class Sounded:
    """One note: MIDI number, and (seconds, cents at the end) legs. `choked`: cut off, else it fades."""

    midi: int
    legs: Sequence[tuple[float, float]]
    start_cents: float = 0.0
    choked: bool = True
    velocity: int = 100
    shake: tuple[float, float, float] | None = None
    """Vibrato: from second, rate in hertz, half of peak to peak in cents."""
    stairs: bool = False

    def cents(self) -> NDArray[np.float64]:
        """Cents above the fretted note, one value a wheel step."""
        parts, here = [], self.start_cents
        for seconds, there in self.legs:
            count = round(seconds * RATE / STEP)
            share = 0.5 - 0.5 * np.cos(np.pi * np.arange(count) / max(1, count))
            parts.append(np.full(count, there) if self.stairs else here + (there - here) * share)
            here = there
        cents = np.concatenate(parts)
        if self.shake is not None:
            from_s, rate_hz, width = self.shake
            first = round(from_s * RATE / STEP)
            cents[first:] += width * np.sin(2 * np.pi * rate_hz * np.arange(len(cents) - first) * STEP / RATE)
        return cents


def font() -> str | None:
    return next((path for path in FONTS if Path(path).exists()), None)


class SampledGuitar:
    """One dry voice of the font."""

    def __init__(self, program: int = CLEAN_GUITAR) -> None:
        self._program = program
        self._synth = fluidsynth.Synth(samplerate=float(RATE), gain=0.6)
        for effect in ("reverb", "chorus"):
            self._synth.setting(f"synth.{effect}.active", 0)
        self._font = self._synth.sfload(font())

    def play(self, note: Sounded) -> NDArray[np.float64]:
        """Samples of one note from its pluck to its end."""
        self._start_afresh()
        cents = note.cents()
        self._turn_wheel(cents[0])
        self._synth.noteon(0, note.midi, note.velocity)
        parts = []
        turned = np.flatnonzero(np.diff(np.rint(cents), prepend=np.nan))  # while the wheel rests, all in one piece
        for begin, end in zip(turned, [*turned[1:], len(cents)], strict=True):
            self._turn_wheel(cents[begin])
            parts.append(self._synth.get_samples(STEP * int(end - begin)).reshape(-1, 2)[:, 0])
        samples = np.concatenate(parts).astype(np.float64) / 32768
        fade = round((_CHOKE_S if note.choked else _FADE_S) * RATE)
        samples[-fade:] *= np.linspace(1, 0, fade) ** 2
        return samples

    def close(self) -> None:
        self._synth.delete()

    def _start_afresh(self) -> None:
        self._synth.system_reset()
        self._synth.program_select(0, self._font, 0, self._program)
        # Registered parameter 0, then its value in semitones; volume up, reverb and chorus down.
        for controller, value in ((101, 0), (100, 0), (6, RANGE_SEMITONES), (38, 0), (7, 110), (91, 0), (93, 0)):
            self._synth.cc(0, controller, value)

    def _turn_wheel(self, cents: float) -> None:
        turn = round((round(cents) + 0.5) * 8192 * 128 / (12700 * RANGE_SEMITONES))
        self._synth.pitch_bend(0, int(np.clip(turn, -8192, 8191)))


def render(
    notes: Sequence[Sounded], *, program: int = CLEAN_GUITAR, gap_s: float = 0.4, lead_s: float = 0.5
) -> tuple[NDArray[np.float64], list[float]]:
    """A take at half of full scale with hiss at -66 dBFS, and the onset of each note in seconds."""
    guitar = SampledGuitar(program)
    parts, onsets = [np.zeros(round(lead_s * RATE))], []
    for note in notes:
        onsets.append(sum(map(len, parts)) / RATE)
        parts += [guitar.play(note), np.zeros(round(gap_s * RATE))]
    guitar.close()
    take = np.concatenate(parts)
    take *= 0.5 / np.abs(take).max()
    return take + np.random.default_rng(440).normal(size=len(take)) * 10 ** (-66 / 20), onsets
