"""A pulse and its chords -> samples: the drone's voice changes its chord on the beat, a click counts.

Everything is laid out by the count of samples, so a beat is where it belongs to half a sample. A chord crosses into the
next along a raised cosine whose middle is the beat. Chords and click have fixed shares of the level, and together never
more than it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pedal.synth.drone import CHUNK_SAMPLES, DEFAULT_PEAK_DB, LOUDEST_DB, SILENT_DB, Drone, Layer
from pedal.theory.pulse import ACCENTS, OFF_ACCENT, Pulse
from pedal.theory.voice import CLICK_DECAY_S, CLICK_S, CROSSING_S, crossed

CHORD_SHARE, CLICK_SHARE = 0.6, 0.4
CLICK_ATTACK_S = 0.0005
END_S = 0.3


class Backing:
    """Drone and pulse of one output. `.sound(hz, level_db)` and `.follow(pulse, level_db)` order, `.render(n)` plays.

    Parameters
    ----------
    sample_rate, peak_db : as for `Drone`.

    beat_zero : sample of the first beat of the count-in, counted by `rendered`; None while no pulse sounds.
    rendered : samples so far.
    """

    def __init__(self, sample_rate: int, *, peak_db: float = DEFAULT_PEAK_DB) -> None:
        self._drone = Drone(sample_rate, peak_db=peak_db)
        self._rate, self._peak = sample_rate, 10 ** (peak_db / 20)
        self._wanted: tuple[Pulse, float] | None = None
        self._playing: _Playing | None = None
        self.beat_zero: int | None = None
        self.rendered = 0

    def sound(self, hz: tuple[float, ...], level_db: float = LOUDEST_DB) -> None:
        """A sustained chord from the next block on, or silence; a pulse fades out. Raises as `Drone.sound`."""
        self._wanted = None
        self._drone.sound(hz, level_db)

    def follow(self, pulse: Pulse, level_db: float = LOUDEST_DB) -> None:
        """Play a pulse, from its count-in on, once what sounds now has faded; the same one goes on.

        Raises
        ------
        ValueError
            For a level out of range, a tempo of 0, or no bars.
        """
        if not SILENT_DB <= level_db <= LOUDEST_DB:
            raise ValueError(f"the pulse's level must be {SILENT_DB:g} to {LOUDEST_DB:g} dBFS, got {level_db:g}")
        if pulse.bpm <= 0 or not pulse.bars:
            raise ValueError(f"a pulse needs a tempo above 0 and a bar, got {pulse.bpm} and {len(pulse.bars)} bars")
        self._drone.hush()
        self._wanted = (pulse, min(self._peak, 10 ** (level_db / 20)))

    @property
    def silent(self) -> bool:
        """True when nothing sounds, nothing is still fading, and nothing is ordered."""
        return self._wanted is None and self._playing is None and self._drone.silent

    def render(self, samples: int) -> NDArray[np.float32]:
        """The next float32 samples, shape (samples,), none of them above the level."""
        out = np.zeros(samples, np.float32)
        for start in range(0, samples, CHUNK_SAMPLES):
            length = min(CHUNK_SAMPLES, samples - start)
            out[start : start + length] = self._chunk(length)
            self.rendered += length
        return out

    def _chunk(self, length: int) -> NDArray[np.floating]:
        wanted = self._wanted  # read once: an order may arrive at any time
        playing = self._playing
        if playing is not None:
            if wanted is None or wanted[0] != playing.pulse:
                playing.end()
            else:
                playing.level = wanted[1]
            made = playing.render(length)
            if playing.over:
                self._playing = self.beat_zero = None
            return made
        drone = self._drone.render(length)
        if wanted is not None and self._drone.silent:
            self._playing = _Playing(wanted[0], wanted[1], self._rate)
            self.beat_zero = self.rendered + length
        return drone


class _Playing:
    """One pulse from its count-in on."""

    def __init__(self, pulse: Pulse, level: float, rate: int) -> None:
        self.pulse, self.level = pulse, level
        self._rate, self._at = rate, 0
        self._layers = {hz: Layer(hz, rate) for hz in pulse.bars if hz}
        self._clicks = {accent: _click(pulse.click_hz, rate) * accent for accent in {*ACCENTS, OFF_ACCENT}}
        self._share_of_end = 1.0
        self._ending = False

    def end(self) -> None:
        """Fade out from now on."""
        self._ending = True

    @property
    def over(self) -> bool:
        """Whether it has faded."""
        return self._ending and self._share_of_end <= 0.0

    def render(self, samples: int) -> NDArray[np.float64]:
        """The next samples, at most a chunk."""
        at = self._at + np.arange(samples)
        made = CHORD_SHARE * self._chords(at) + CLICK_SHARE * self._clicked(at)
        self._at += samples
        if self._ending:
            step = samples / (END_S * self._rate)
            fade = np.clip(self._share_of_end - step * (np.arange(samples) + 1) / samples, 0.0, 1.0)
            made *= 0.5 - 0.5 * np.cos(np.pi * fade)
            self._share_of_end = float(fade[-1])
        return made * self.level

    def _chords(self, at: NDArray[np.int64]) -> NDArray[np.float64]:
        """Where one chord gives way to another both share the sound: the middle of it is the beat."""
        made, times = np.zeros(len(at)), at / self._rate
        for stretch in self.pulse.stretches(times[0] - CROSSING_S / 2, times[-1] + CROSSING_S / 2):
            if stretch.hz:
                share = crossed(times, stretch.start_s, stretch.end_s)
                # Phases follow from the time since the first beat, so a chord that comes back is what it was.
                made += share * self._layers[stretch.hz].wave(int(at[0]), len(at))
        return made

    def _clicked(self, at: NDArray[np.int64]) -> NDArray[np.float64]:
        made, longest = np.zeros(len(at)), len(self._clicks[OFF_ACCENT])
        first, end = int(at[0]), int(at[-1]) + 1
        # A sample more at both ends: clicks are told by seconds, and begin on whole samples.
        for beat, after, accent in self.pulse.clicks((first - longest - 1) / self._rate, (end + 1) / self._rate):
            start = round(self.pulse.click_s(beat, after) * self._rate)
            low, high = max(first, start), min(end, start + longest)
            if low < high:
                made[low - first : high - first] += self._clicks[accent][low - start : high - start]
        return made


def _click(hz: float, rate: int) -> NDArray[np.float64]:
    """A plucked tick: a sine that is there within half a millisecond and dies away at once; its peak is 1."""
    t = np.arange(round(CLICK_S * rate)) / rate
    rise = np.clip(t / CLICK_ATTACK_S, 0.0, 1.0)
    fall = np.clip((CLICK_S - t) / (CLICK_S / 4), 0.0, 1.0)
    made = np.sin(2 * np.pi * hz * t) * np.exp(-t / CLICK_DECAY_S) * rise * fall
    return np.asarray(made / np.abs(made).max())
