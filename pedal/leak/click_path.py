"""Samples with the pedal's own clicks in them -> the click as it comes back, to be taken off, also under a note.

Every click is the same sound but for its loudness, and when it is played is known to the sample: so what comes back of
it, with the echoes of a room, is the mean of what was heard around clicks, each weighed by how little else was there.
"""

from __future__ import annotations

import math
from collections import deque

import numpy as np

from pedal.leak.chord_fit import CHUNK
from pedal.leak.drone_leak import CLEAR_SHARE, NEW_GATE_DB, SURE_DB
from pedal.leak.way_time import FAR_S, NEAR_S
from pedal.theory.pulse import Pulse
from pedal.theory.voice import CLICK_S, Floats

BEFORE_S = FAR_S / 2
"""How early a click may come beside where it is expected. A grid that moves by more is another one: the output ran
dry. By less: it is told no better than that."""
FORGETS = 0.99
"""Of what is known, with each click: a way that changed is learned anew within some bars."""
HUSHED_FROM_S = 0.006
"""What is hushed around a click: from so much before it, because it may be early, to its end."""
LEFT_SHARE = 0.3
"""Of a click that is taken off, no more than this is left: clocks that differ, an echo longer than what is learned.
Only where it was so much quieter just before is anything hushed."""
LEAST_DOUBT = 0.01
"""Of its power: no one click tells more, for it may come a part of a sample early, and the way back may move."""
FIRST_TURN, TURNS = 1.0, 0.05
"""Radians of the click's own pitch by which it may come elsewhere: at first, and from click to click."""


class ClickPath:
    """`.expected(at, count)` is what comes back of clicks, `.learn(at, samples)` hears what was left with them.

    Times count in samples from the first beat of the pulse.
    """

    def __init__(self, pulse: Pulse, rate: int) -> None:
        self._pulse, self._rate = pulse, rate
        # It rings on for half of its length in a room.
        self._before, self._after = round(BEFORE_S * rate), round(1.5 * CLICK_S * rate)
        length = self._before + self._after
        self._sum, self._weight = np.zeros(length), 0.0
        self.click: Floats = np.zeros(length)
        """What comes back of a bar's first click, from `BEFORE_S` before it on."""
        self._left = 0.0
        self._turn_doubt = FIRST_TURN**2
        self._tells_time = False
        self.told: list[tuple[float, float, float]] = []
        """When a click came, from the first beat; by how much earlier than is known; both seconds; how alike, to 1."""
        self._at_click: int | None = None
        self._before_it = 1.0
        self._newest: float | None = None
        self._tail: Floats = np.zeros(0)
        self._tail_from = 0
        self._waiting: deque[tuple[int, float]] = deque()
        self._asked_to: int | None = None

    def expected(self, at: int, count: int, late: float = 0.0) -> Floats:
        """What comes back of clicks in the next samples; `late` samples later than at first."""
        made = np.zeros(count)
        if not self._weight:
            return made
        whole = math.floor(late)
        for start, loud in self._clicks(at - self._after - whole - 1, at + count + self._before - whole):
            begin = start + whole - self._before - at
            for first, share in ((begin, 1.0 - late + whole), (begin + 1, late - whole)):
                low, high = max(0, first), min(count, first + len(self.click))
                if low < high:
                    made[low:high] += share * loud * self.click[low - first : high - first]
        return made

    def learn(self, at: int, samples: Floats, *, tells_time: bool = False) -> None:
        """The next samples, without everything else that is known of; counted as if nothing had come later since.

        tells_time : nothing else tells by how much later all comes: a click that does is put into `told`, and what is
            known stays where it is; else that is moved.
        """
        self._tells_time = tells_time
        moved = at - self._tail_from - len(self._tail)
        if abs(moved) <= NEAR_S * self._rate:  # a drift from piece to piece: it goes on
            self._tail_from += moved
        else:
            self._tail, self._waiting = np.zeros(0), deque()
            self._asked_to = at + self._before
            self._tail_from = at
        to = at + len(samples) + self._before
        self._waiting.extend(self._clicks(self._asked_to if self._asked_to is not None else to, to))
        self._asked_to = to
        self._tail = np.concatenate([self._tail, samples])
        while self._waiting and self._waiting[0][0] + self._after <= at + len(samples):
            start, loud = self._waiting.popleft()
            begin = start - self._before - self._tail_from
            if begin >= 0:
                self._take(self._tail[begin : begin + len(self.click)], loud, start / self._rate)
        keep = min(len(self._tail), self._before + self._after + len(samples))
        self._tail_from += len(self._tail) - keep
        self._tail = self._tail[len(self._tail) - keep :]

    def _take(self, heard: Floats, loud: float, at_s: float) -> None:
        # At both ends, where no click is, sounds something else.
        count = round((BEFORE_S - HUSHED_FROM_S) * self._rate)
        beside, tail = heard[:count], heard[-count:]
        else_there = max(float(np.mean(beside**2)), float(np.mean(tail**2)), LEAST_DOUBT * float(np.mean(heard**2)))
        if self.known:
            self._turn_to(heard / loud, at_s)
            else_there = max(else_there, float(np.mean((heard - loud * self.click) ** 2)))
        weight = loud**2 / (else_there + 1e-12)
        self._sum = FORGETS * self._sum + weight / loud * heard
        self._weight = FORGETS * self._weight + weight
        mean = self._sum / self._weight
        power = float(np.mean(mean**2)) + 1e-20
        self.click = mean * max(0.0, 1.0 - 1.0 / (self._weight * power))
        whole = self.click[: len(self.click) // CHUNK * CHUNK].reshape(-1, CHUNK)
        self._left = LEFT_SHARE * float(np.sqrt(np.max(np.mean(whole**2, axis=1))))

    def _turn_to(self, heard: Floats, at_s: float) -> None:
        """Move what is known by the part of a sample that a click, heard alone, came later: clocks that differ."""
        spectrum = np.fft.rfft(self.click)
        like = 2.0 * np.fft.rfft(heard) * spectrum.conj()
        like[0] = 0.0
        likeness = complex(np.sum(like)) / len(heard)
        alike = abs(likeness) / float(np.linalg.norm(heard) * np.linalg.norm(self.click) + 1e-20)
        self._turn_doubt += TURNS**2
        if 2.0 * alike**2 < 1.0:  # less than half of its power is the click's
            return
        turn = float(np.angle(likeness)) / (2 * np.pi * self._pulse.click_hz)
        if self._tells_time:
            self.told.append((at_s, turn, alike))
            return
        told = (1.0 - alike**2) / (2.0 * alike**2)
        gain = self._turn_doubt / (self._turn_doubt + told)
        self._turn_doubt *= 1.0 - gain
        # Later by so much is a turn back at each frequency; the angle of the likeness has that sign already.
        later = np.exp(2j * np.pi * np.fft.rfftfreq(len(heard)) * gain * turn * self._rate)
        self._sum = np.fft.irfft(np.fft.rfft(self._sum) * later, len(heard))
        self.click = np.fft.irfft(spectrum * later, len(heard))

    @property
    def known(self) -> bool:
        """Whether enough was heard to say how a click comes back, and be it not at all: else it is hushed."""
        return self._weight * max(10 ** (SURE_DB / 10), CLEAR_SHARE * float(np.mean(self.click**2))) > 1.0

    def turn(self, gain: float) -> None:
        """What is played is so many times as loud from now on."""
        self.click, self._left = gain * self.click, gain * self._left
        self._sum = gain * self._sum

    def hush(self, at: int, samples: Floats) -> None:
        """Turn down, in place, what around clicks is no louder than what may be left of them, to what was there before.

        No further: after silence the room's own hiss would be news to the ear.
        """
        rings = round(CLICK_S * self._rate), round(HUSHED_FROM_S * self._rate)
        if self._newest is None:
            self._newest = _power(samples[:CHUNK])
        for start, loud in self._clicks(at - rings[0], at + len(samples) + rings[1]):
            if start != self._at_click:
                self._at_click, self._before_it = start, self._newest
            limit = loud * self._left if self.known else 10 ** (NEW_GATE_DB / 20)
            if self._before_it > (LEFT_SHARE * limit) ** 2:  # a string sounds, and goes on: the click is the softer one
                continue
            low, high = max(0, start - rings[1] - at), min(len(samples), start + rings[0] - at)
            for begin in range(low, high, CHUNK):
                part = samples[begin : min(high, begin + CHUNK)]
                power = _power(part)
                if self._before_it < power <= limit**2:
                    part *= np.sqrt(self._before_it / power)
        self._newest = _power(samples[-CHUNK:]) or self._newest  # a dead input tells nothing of the room

    def _clicks(self, low: int, high: int) -> list[tuple[int, float]]:
        """Clicks that begin from one sample to before another, and how loud they are."""
        found = self._pulse.clicks((low - 1) / self._rate, (high + 1) / self._rate)
        every = [(round(self._pulse.click_s(beat, after) * self._rate), loud) for beat, after, loud in found]
        return [(start, loud) for start, loud in every if low <= start < high]


def _power(samples: Floats) -> float:
    return float(samples @ samples) / max(1, len(samples))
