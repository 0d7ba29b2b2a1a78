"""How many samples an overflow swallowed: what the clock says should have come, less what came."""

from __future__ import annotations

_WINDOW_S = 5.0
"""Long against the bursts of a driver, short against the drift of two crystals (100 ppm in 10 s is 1 ms)."""
_MOST_DRIFT = 5e-4
"""Of two crystals, far more than any: what comes faster than this after a loss was not lost but late."""


class SampleClock:
    """Counts delivered samples against the time. Time is an argument, in seconds of any steady clock."""

    def __init__(self, sample_rate: int) -> None:
        self._rate = sample_rate
        self._delivered = 0
        self._windows: list[float] = []
        self._window_ends_s = 0.0
        self._before_loss: tuple[float, float] | None = None

    def deliver(self, now_s: float, samples: int) -> None:
        """`samples` more have come at `now_s`."""
        self._delivered += samples
        behind = now_s * self._rate - self._delivered
        if self._before_loss is not None:
            # A sound server keeps what the driver had no room for and hands it over later: counted as lost, it is here
            # twice. It must not pass for the usual, or each overflow of a storm would add as much again.
            lost_s, usual = self._before_loss
            behind = max(behind, usual - _MOST_DRIFT * (now_s - lost_s) * self._rate)
        if not self._windows or now_s >= self._window_ends_s:
            self._windows = [behind, *self._windows[:1]]
            self._window_ends_s = now_s + _WINDOW_S
        else:
            self._windows[0] = min(self._windows[0], behind)

    def lose(self, now_s: float, *, still_waiting: int, at_least: int) -> int:
        """Samples lost by an overflow noticed at `now_s`, with `still_waiting` in the driver's buffer.

        The lateness beyond the usual one of the last seconds is what was lost; never less than `at_least`, the block
        that the overflow took with it.
        """
        usual = min(self._windows, default=now_s * self._rate - self._delivered)
        missing = now_s * self._rate - self._delivered - usual - still_waiting
        lost = max(at_least, round(missing))
        self._delivered += lost
        self._before_loss = (now_s, usual)
        return lost
