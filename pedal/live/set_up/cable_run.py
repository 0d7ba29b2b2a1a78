"""A cable from output to input: the signal is played and recorded at once, by the pedal's own ports."""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

import numpy as np
from numpy.typing import NDArray

from pedal.errors import DeviceError
from pedal.ports import AudioSink, AudioSource
from pedal.soundcheck.cable import NotHeardError, measure_cable
from pedal.soundcheck.cable_signal import PEAK_DB, CableSignal, cable_signal
from pedal.soundcheck.cable_words import CableRun

LEAD_S, TRAIL_S = 0.3, 1.0
"""The recording runs this much longer: before, for a stream to settle; after, for what is still under way."""
LONGEST_GAP_S = 3.0
"""A stream that loses more at once has no cable worth measuring."""
NO_CABLE = "put a cable from the output to the guitar's input, turn volume and gain up, and look at audio.channel"
Moments = list[tuple[int, float]]


def run_cable(
    source: AudioSource,
    sink: AudioSink,
    *,
    peak_db: float = PEAK_DB,
    stopped: Callable[[], bool] = lambda: False,
    clock: Callable[[], float] = time.monotonic,
) -> CableRun | None:
    """One run of some 16 s from `sink` through a cable to `source`; None if `stopped` said so.

    peak_db : how loud the signal is at most, dBFS.

    Raises DeviceError, also where nothing comes back.
    """
    facts = source.open()
    try:
        rate_hz = facts.sample_rate
        player = _Player(cable_signal(rate_hz, peak_db=peak_db), clock)
        try:
            out = sink.open(player.render)
            if out.sample_rate != rate_hz:
                raise DeviceError(
                    f"{out.device} plays at {out.sample_rate} Hz and {facts.device} listens at {rate_hz} Hz: "
                    "set audio.rate_hz to what both take"
                )
            heard, lost, arrivals = _record(source, player, stopped, clock)
        finally:
            sink.close()
    finally:
        source.close()
    if stopped():
        return None
    signal = player.signal
    try:
        figures = measure_cable(signal, heard)
    except NotHeardError as fault:
        raise DeviceError(f"{fault} from {out.device} to {facts.device}: {NO_CABLE}") from fault
    asked_s, arrived_s = _zero(player.asked, rate_hz), _zero(arrivals, rate_hz)
    delay_s = arrived_s - asked_s + figures.offset_samples / rate_hz
    return CableRun(figures, lost, delay_s, signal.seconds, rate_hz, facts.block_samples)


class _Player:
    """Renders the signal; `asked` says when which sample was asked for."""

    def __init__(self, signal: CableSignal, clock: Callable[[], float]) -> None:
        self.signal, self._clock = signal, clock
        lead = np.zeros(round(LEAD_S * signal.rate_hz), np.float32)
        self._samples = np.concatenate([lead, signal.samples])
        self._lead, self._at = len(lead), 0
        self.asked: Moments = []

    @property
    def over(self) -> bool:
        """All was asked for."""
        return self._at >= len(self._samples)

    def render(self, count: int) -> NDArray[np.float32]:
        self.asked.append((self._at - self._lead, self._clock()))
        piece = self._samples[self._at : self._at + count]
        self._at += count
        return piece if len(piece) == count else np.concatenate([piece, np.zeros(count - len(piece), np.float32)])


def _record(
    source: AudioSource, player: _Player, stopped: Callable[[], bool], clock: Callable[[], float]
) -> tuple[NDArray[np.float32], int, Moments]:
    """(samples, with silence for those that the source says it lost; how many those are; when which was there)."""
    rate_hz = player.signal.rate_hz
    parts: list[NDArray[np.float32]] = []
    count = lost = after = 0
    arrivals: Moments = []
    while after < TRAIL_S * rate_hz and not stopped():
        block = source.read()
        if block is None:
            break
        if block.lost_samples:
            lost += block.lost_samples
            parts.append(np.zeros(min(block.lost_samples, round(LONGEST_GAP_S * rate_hz)), np.float32))
            count += len(parts[-1])
        parts.append(block.samples)
        count += len(block.samples)
        arrivals.append((count, clock()))
        after += len(block.samples) if player.over else 0
    return np.concatenate(parts) if parts else np.zeros(0, np.float32), lost, arrivals


def _zero(moments: Moments, rate_hz: int) -> float:
    """When sample 0 would have been, at the pace of the later half: a stream begins by filling its buffers at once."""
    later = moments[len(moments) // 2 :]
    return median(at_s - number / rate_hz for number, at_s in later) if later else 0.0
