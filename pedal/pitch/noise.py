"""What silence sounds like: its spectrum, learned while nothing is played."""

from __future__ import annotations

import numpy as np

SIZE = 512
EVERY_TICKS = 8


class Noise:
    def __init__(self, rate: float) -> None:
        self._window = np.hanning(SIZE).astype(np.float32)
        self._gain = 1.0 / float(np.sum(self._window**2))
        self._density = np.full(SIZE // 2 + 1, 1e-9)
        self._list = self._density.tolist()
        self._scale = SIZE / rate
        self._ticks = 0
        self._seen = 0

    def hear(self, history) -> None:
        self._ticks += 1
        if self._ticks < EVERY_TICKS:
            return
        self._ticks = 0
        self._seen += 1
        z = np.fft.rfft(history[len(history) - SIZE :] * self._window)
        power = (z.real**2 + z.imag**2) * self._gain
        wide = power.copy()
        np.maximum(wide[1:], power[:-1], out=wide[1:])
        np.maximum(wide[:-1], power[1:], out=wide[:-1])
        self._density += (wide - self._density) / min(self._seen, 8)
        self._list = self._density.tolist()

    def at(self, hz: float) -> float:
        return self._list[int(hz * self._scale + 0.5)]
