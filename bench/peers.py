"""Everyone who listens: ours and the general-purpose trackers, each at the set-up that suits a live guitar.

A streaming listener is fed 128 samples at a time; an offline one gets the whole take. All search 60 to 1700 Hz.
"""

from __future__ import annotations

import importlib
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bench.curves import RATE
from pedal.pitch import make_tracker

HOP = 128
LOW_HZ, HIGH_HZ = 60, 1700
Array = NDArray[np.float64]


@dataclass(frozen=True)
class Answers:
    """Rows of (time stamp, hz) in `readings`; of (time it stood on the meter, hz) in `shown`, empty if offline."""

    readings: Array
    shown: Array
    cpu_s: float
    hop_s: Array


@dataclass(frozen=True)
class Peer:
    """`needs` is the module that must be there; one of `stream` (a factory of push functions) and `whole` is given."""

    name: str
    needs: str
    stream: Callable[[], Callable[[NDArray[np.float32]], tuple[float, float, float]]] | None = None
    whole: Callable[[NDArray[np.float32]], tuple[Array, Array]] | None = None

    def missing(self) -> str:
        """Why it cannot play along, empty if it can."""
        try:
            importlib.import_module(self.needs)
        except Exception as error:  # a peer may fail to load in any way, and the bench must say which
            return f"{type(error).__name__}: {error}"
        return ""

    def hear(self, samples: NDArray[np.float32]) -> Answers:
        """All answers to one take."""
        if self.whole is not None:
            start = time.process_time()
            times, hz = self.whole(samples)
            spent = time.process_time() - start
            return Answers(np.column_stack([times, np.nan_to_num(hz)]), np.zeros((0, 2)), spent, np.zeros(0))
        assert self.stream is not None
        push = self.stream()
        rows, shown, walls = [], [], []
        start = time.process_time()
        for at in range(0, len(samples) - HOP + 1, HOP):
            began = time.perf_counter()
            stamp, hz, now_hz = push(samples[at : at + HOP])
            walls.append(time.perf_counter() - began)
            rows.append((stamp, hz))
            shown.append(((at + HOP) / RATE, now_hz))
        return Answers(np.array(rows), np.array(shown), time.process_time() - start, np.array(walls))


def _ours() -> Callable[[NDArray[np.float32]], tuple[float, float, float]]:
    tracker = make_tracker(RATE, HOP)

    def push(block: NDArray[np.float32]) -> tuple[float, float, float]:
        reading = tracker.push(block)[0]
        return reading.time_s, reading.hz, tracker.now_hz

    return push


def _aubio(method: str, window: int, least: float) -> Callable[[], Callable]:
    def make() -> Callable[[NDArray[np.float32]], tuple[float, float, float]]:
        import aubio

        pitch = aubio.pitch(method, window, HOP, RATE)
        pitch.set_unit("Hz")
        pitch.set_silence(-75)
        heard = 0

        def push(block: NDArray[np.float32]) -> tuple[float, float, float]:
            nonlocal heard
            heard += HOP
            hz = float(pitch(block)[0])
            hz = hz if LOW_HZ < hz < HIGH_HZ and (not least or pitch.get_confidence() >= least) else 0.0
            # yin compares the first half of its window with later halves; yinfft looks at all of it.
            back = 0.75 * window - 0.5 * RATE / hz if hz and method != "yinfft" else window / 2
            return (heard - back) / RATE, hz, hz

        return push

    return make


def _praat(x: NDArray[np.float32]) -> tuple[Array, Array]:
    import parselmouth

    sound = parselmouth.Sound(x.astype(float), RATE)
    pitch = sound.to_pitch_ac(time_step=0.005, pitch_floor=LOW_HZ, pitch_ceiling=HIGH_HZ)
    return pitch.xs(), pitch.selected_array["frequency"]


def _librosa(x: NDArray[np.float32], method: str) -> tuple[Array, Array]:
    import librosa

    span = {"fmin": LOW_HZ, "fmax": HIGH_HZ, "sr": RATE, "frame_length": 2048, "hop_length": 256}
    if method == "yin":
        hz = librosa.yin(x, **span)
    else:
        hz, voiced, _ = librosa.pyin(x, **span)
        hz = np.where(voiced, hz, 0.0)
    return np.arange(len(hz)) * 256 / RATE, hz


def _world(x: NDArray[np.float32], method: str) -> tuple[Array, Array]:
    import pyworld

    y = x.astype(float)
    hz, times = getattr(pyworld, method)(y, RATE, f0_floor=LOW_HZ, f0_ceil=HIGH_HZ, frame_period=5)
    return times, pyworld.stonemask(y, hz, times, RATE)


def _sptk(x: NDArray[np.float32], method: str) -> tuple[Array, Array]:
    import pysptk

    y = (x * 32767).astype(np.float32 if method == "rapt" else np.float64)
    hz = getattr(pysptk, method)(y, RATE, hopsize=240, min=LOW_HZ, max=HIGH_HZ, otype="f0")
    return np.arange(len(hz)) * 0.005, hz


def _swift() -> Callable[[NDArray[np.float32]], tuple[Array, Array]]:
    detector = None

    def whole(x: NDArray[np.float32]) -> tuple[Array, Array]:
        nonlocal detector
        if detector is None:
            from swift_f0 import SwiftF0

            detector = SwiftF0(threads=1, spin=False)
        found = detector.detect(x, RATE, fmin=LOW_HZ, fmax=HIGH_HZ)
        return found.timestamps, np.where(found.confidence >= 0.3, found.pitch_hz, 0.0)

    return whole


PEERS = (
    Peer("undertoe", "pedal.pitch", stream=_ours),
    Peer("aubio yinfast 2048", "aubio", stream=_aubio("yinfast", 2048, 0.6)),
    Peer("aubio yin 2048", "aubio", stream=_aubio("yin", 2048, 0.5)),
    Peer("aubio yinfft 2048", "aubio", stream=_aubio("yinfft", 2048, 0.0)),
    Peer("praat ac", "parselmouth", whole=_praat),
    Peer("librosa pyin", "librosa", whole=lambda x: _librosa(x, "pyin")),
    Peer("librosa yin", "librosa", whole=lambda x: _librosa(x, "yin")),
    Peer("world harvest", "pyworld", whole=lambda x: _world(x, "harvest")),
    Peer("world dio", "pyworld", whole=lambda x: _world(x, "dio")),
    Peer("sptk rapt", "pysptk", whole=lambda x: _sptk(x, "rapt")),
    Peer("sptk swipe", "pysptk", whole=lambda x: _sptk(x, "swipe")),
    Peer("swift-f0", "swift_f0", whole=_swift()),
)
