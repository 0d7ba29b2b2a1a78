"""The drone's filter and the chain of one stream, made anew in place when they fail over what they hear."""

from __future__ import annotations

import numpy as np

from pedal.chain import Chain, Heard
from pedal.leak.chord_leak import ChordLeak
from pedal.leak.drone_leak import DroneLeak
from pedal.live.messages import Samples
from pedal.modes.drone import SILENCE, DroneOrder
from pedal.notes.event import Onset
from pedal.pitch.intake import tamed
from pedal.theory.pulse import Grid
from pedal.verdicts.aim import Aim
from pedal.verdicts.fret import GuitarOffset
from pedal.verdicts.verdict import Verdict

REMAINDER_S = 0.1
"""A note that seems to begin so soon after a restart was sounding before it; the lowest takes 0.04 s to be known."""
_NOTHING = np.zeros(0, np.float32)


class Ear:
    """`.clean(samples)` takes the drone out, `.judge(samples)` gives what was heard; each raises what it failed over.

    After that it can be used as before, and its times go on: what it failed over counts as lost. The note in hand is
    then given up, and what still sounds of it is not judged, because a bend without its beginning is judged wrongly.

    drone : whether the pedal's own drone may come back with the guitar.
    """

    def __init__(self, sample_rate: int, aim: Aim, *, drone: bool) -> None:
        self.rate = sample_rate
        self.heard = 0
        """Samples so far, the lost ones with them."""
        self.aim = aim
        self._judged = 0
        self._order = SILENCE
        self._grid: Grid | None = None
        self._drone = DroneLeak(sample_rate) if drone else None
        self._chords = ChordLeak(sample_rate)
        self._guitar = GuitarOffset()
        self._chain = Chain(sample_rate, aim, self._guitar)
        self._doubtful_from_s = float("inf")

    @property
    def now_hz(self) -> float:
        """The pitch at this instant, 0.0 if none."""
        return self._chain.now_hz

    def expect(self, order: DroneOrder) -> None:
        """What the drone plays from now on."""
        self._order = order
        if self._drone is not None:
            self._drone.expect(order.hz)
            self._chords.follow(order.pulse, order.level_db)

    def begin_anew(self, order: DroneOrder) -> None:
        """The input's stream began anew while this is played: what was learned of the way back is void."""
        self.expect(order)
        self._chords.begin_anew()

    def lies(self, grid: Grid | None, *, heard: bool = False) -> None:
        """Where the pulse that is played lies on the axis of the samples; `heard`: by its clicks."""
        self._grid = grid
        self._chords.lies(grid, heard=heard)

    @property
    def clicks_from_s(self) -> float | None:
        """Where the pulse's first beat lies by its clicks as they come in; None where they are not heard."""
        return self._chords.clicks_from_s if self._drone is not None else None

    def clean(self, samples: Samples, *, lost_samples: int = 0) -> Samples:
        """The samples without the drone, and 0 where one is none; `lost_samples` were lost just before them."""
        self.heard += lost_samples + len(samples)
        if len(samples):
            samples = tamed(samples)  # first of all: one that is no number stays in all that is learned of the leak
        if self._drone is None:
            return samples
        try:
            self._drone.skip(lost_samples)
            self._chords.skip(lost_samples)
            return self._drone.clean(self._chords.clean(samples))
        except Exception:
            self._drone, self._chords = DroneLeak(self.rate), ChordLeak(self.rate, self.heard)
            self._drone.expect(self._order.hz)
            self._chords.follow(self._order.pulse, self._order.level_db)
            self._chords.lies(self._grid)
            self._begin_anew()
            raise

    def judge(self, samples: Samples) -> list[Heard]:
        """Everything that was heard in these newest samples, as `clean` gave them, in order."""
        self._chain.aim = self.aim
        # By count: what was cleaned and never judged, because something in between failed, is lost to the chain.
        lost_samples, self._judged = self.heard - len(samples) - self._judged, self.heard
        try:
            heard = self._chain.hear(samples, lost_samples=lost_samples)
        except Exception:
            self._begin_anew()
            raise
        return self._certain(heard)

    def finish(self) -> list[Heard]:
        """The stream is over: end and judge what still sounds."""
        try:
            heard = self._chain.finish()
        except Exception:
            self._begin_anew()
            raise
        return self._certain(heard)

    def _begin_anew(self) -> None:
        self._chain = Chain(self.rate, self.aim, self._guitar)  # the same one, whatever failed over its sound
        self._chain.hear(_NOTHING, lost_samples=self.heard)
        self._judged = self.heard
        self._doubtful_from_s = self.heard / self.rate

    def _certain(self, heard: list[Heard]) -> list[Heard]:
        """Without the verdict on what was sounding when the chain was made anew."""
        if self._doubtful_from_s == float("inf"):
            return heard
        certain: list[Heard] = []
        until_s = self._doubtful_from_s + REMAINDER_S
        for each in heard:
            if isinstance(each, Onset) and each.time_s > until_s:
                self._doubtful_from_s, until_s = float("inf"), float("-inf")
            if not (isinstance(each, Verdict) and each.onset_s <= until_s):
                certain.append(each)
        return certain
