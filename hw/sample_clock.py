"""What the card should have sent by now, less what came: how many samples an overflow swallowed.

No driver says how many samples it dropped, and PyAudio closes a stream that is asked to raise on an overflow; so the
clock tells. The rule:

- A look at the driver gives the time (taken before the driver is asked, so that a pause of this thread makes the stream
  look early and never late) and the samples that wait there. *Behind* is what the clock says should have come, less
  what was delivered, what was lost before, and what waits. While nothing is lost it stays the same but for the
  driver's bursts and the drift of two crystals.
- *Usual* is the smallest value of the last half to whole second. So a card may be up to a hundredth slower or faster
  than the clock and only drifts.
- More than 20 ms behind the usual (100 ms where a sound server is between) is a suspicion. It is believed at once where
  the kernel says that the stream began anew, as it does after an overflow; else when it has stood for two seconds: what
  a starved server held back has come by then. What is missing is lost then, all at once.
- In the first half second nothing is lost: a stream that starts is not steady yet.
"""

from __future__ import annotations

_WINDOW_S = 0.5
_SETTLE_S = 0.5
SUSPICIOUS_S, SUSPICIOUS_AT_A_SERVER_S = 0.02, 0.1
"""More than the period of a card; more than the bursts of a server, also of a starved one."""
_MOST_DRIFT = 5e-4
"""Of two crystals, far more than any: what comes faster than this after a loss was not lost but late."""


class SampleClock:
    """Counts samples against the time, which is an argument: seconds of any steady clock."""

    def __init__(self, sample_rate: int, *, suspicious_s: float = SUSPICIOUS_S) -> None:
        self._rate, self._suspicious = sample_rate, suspicious_s * sample_rate
        self._counted = 0
        self._windows: list[float] = []
        self._window_ends_s = 0.0
        self._settled_s: float | None = None
        self._before_loss: tuple[float, float] | None = None

    def deliver(self, samples: int) -> None:
        """`samples` more were taken from the driver."""
        self._counted += samples

    def missing(self, asked_s: float, *, waiting: int) -> int:
        """Samples by which the stream is suspiciously behind: 0 as long as all is well.

        asked_s : the time just before the driver was asked.
        waiting : what it said it holds.
        """
        behind = self._behind(asked_s, waiting)
        if self._settled_s is None:
            self._settled_s = asked_s + _SETTLE_S
        if asked_s < self._settled_s:
            self._windows = [behind]
            self._window_ends_s = asked_s + _WINDOW_S
            return 0
        late = behind - min(self._windows)
        if late > self._suspicious:
            return round(late)
        if self._before_loss is not None:
            # Believed lost and come after all: it is here twice. It must not pass for the usual, or each freeze of many
            # would add as much again.
            lost_s, usual = self._before_loss
            behind = max(behind, usual - _MOST_DRIFT * (asked_s - lost_s) * self._rate)
        if asked_s >= self._window_ends_s:
            self._windows = [behind, *self._windows[:1]]
            self._window_ends_s = asked_s + _WINDOW_S
        else:
            self._windows[0] = min(self._windows[0], behind)
        return 0

    def lose(self, asked_s: float, *, waiting: int) -> int:
        """Count what is missing as lost, and return it."""
        lost = self.missing(asked_s, waiting=waiting)
        if lost:
            self._before_loss = (asked_s, min(self._windows))
            self._counted += lost
        return lost

    def _behind(self, asked_s: float, waiting: int) -> float:
        return asked_s * self._rate - self._counted - waiting
