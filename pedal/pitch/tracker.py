"""Block of samples -> readings: the ear put together."""

from __future__ import annotations

import math
from collections.abc import Iterator

from pedal.pitch.correlation import SHORTEST_LAG
from pedal.pitch.gate import FALL, FORGETS, REST_TICKS, TICKS_A_PERIOD, Gate
from pedal.pitch.held import Held
from pedal.pitch.intake import Intake, Samples, tamed, thinning
from pedal.pitch.noise import Noise
from pedal.pitch.octave import SLACK, WINDOW_S
from pedal.pitch.onset import BROKEN_DB, SILENT_POWER, STRUCK_DB, Jump
from pedal.pitch.partial_filter import HIGHEST_HZ, LOWEST_HZ
from pedal.pitch.reading import Reading
from pedal.pitch.repeat import Repeat
from pedal.pitch.search import CLEAR_AT_LAST, Search, is_hum
from pedal.pitch.tick import Tick, ticks_of

HOP_S = 128 / 48000
"""One reading each 2.67 ms; longer hops are cut into ticks of about this length."""
HOPS_AT_ONCE = 16
"""So many are thinned out and squared together where each is a tick of its own: calls cost more than sums."""
SWELL = 16.0
"""A note that begins without being struck is heard from 12 dB over the floor: 4 dB more than a struck one."""
RESIDUE_ATTACK_DB = 12.0
_reading = tuple.__new__
"""Makes a `Reading` of its fields in half of the time that calling the class takes, which passes each on by itself."""


class Tracker:
    """Streaming pitch tracker; see `make_tracker`. `thinned` is the newest of the sound as the tracker looks at it."""

    # With more than thirty attributes and without slots, Python would look each up in a table of its own.
    __slots__ = (
        "_at_once", "_attack_db", "_before_hz", "_before_sure", "_clear_hz", "_confidence", "_edge", "_even",
        "_faded", "_floor", "_floor_db", "_gate", "_heard", "_held", "_highest_hz", "_hop", "_level_db", "_lowest_hz",
        "_noise", "_note", "_rate", "_repeat", "_rested", "_sample_rate", "_samples", "_search", "_since_struck",
        "_strike", "_strongest", "_struck", "_tick_samples", "now_hz", "thinned",
    )  # fmt: skip

    def __init__(self, sample_rate: int, hop: int) -> None:
        self._sample_rate = sample_rate
        self._hop = hop
        parts = max(1, math.ceil(hop / (HOP_S * sample_rate) - 0.5))
        part_s = hop / parts / sample_rate
        self.thinned = Intake(sample_rate, -(-hop // parts), parts * HOPS_AT_ONCE)
        self._rate = rate = self.thinned.rate_hz
        # All ticks are equally long, whatever part of an inner sample a hop ends with: what they measure is added up.
        # Short parts are put together until they last two thirds of the usual.
        self._tick_samples = round(math.ceil(2.0 / 3.0 * HOP_S / part_s) * part_s * rate)
        self._even = self._tick_samples * self.thinned.factor == hop
        self._at_once = hop * HOPS_AT_ONCE if self._even else hop
        tick_s = self._tick_samples / rate
        self._strike = 3.0 * HOP_S * rate  # one pluck does not start the window twice within 8 ms
        self._gate, self._noise, self._edge = Gate(), Noise(rate), Jump(FORGETS)
        self._search, self._repeat = Search(rate), Repeat(rate, self._tick_samples)
        self._note = Held(rate, tick_s, self._noise.density)
        self._lowest_hz, self._highest_hz = LOWEST_HZ, min(HIGHEST_HZ, rate / SHORTEST_LAG)
        self._held = self._faded = False
        self._samples = 0
        self._heard = self._since_struck = 0
        self._struck = False
        self._level_db, self._attack_db, self._confidence = -120.0, 0.0, 0.0
        self.now_hz = 0.0
        self._before_hz = self._strongest = 0.0
        self._clear_hz = self._floor = 0.0
        self._floor_db = -90.0
        self._before_sure = False
        self._rested = 0

    def push(self, block: Samples, *, lost_samples: int = 0) -> list[Reading]:
        """One reading of a block of exactly `hop` samples; `lost_samples` were lost just before it."""
        return list(self.hear(tamed(block), lost_samples=lost_samples))

    def hear(self, samples: Samples, *, lost_samples: int = 0) -> Iterator[Reading]:
        """`push` of any number of whole blocks that were tamed already: each is heard when its reading is asked for."""
        if lost_samples:
            self._lose(lost_samples)
        for start in range(0, len(samples), self._at_once):
            self.thinned.feed(samples[start : start + self._at_once])
            ticks = self._waiting_ticks()
            for tick in ticks:
                self._tick(tick)
                if self._even:
                    yield self._reading()
            if not self._even:
                yield self._reading()

    def _waiting_ticks(self) -> list[Tick]:
        number, count = self.thinned.waiting // self._tick_samples, self._tick_samples
        return ticks_of(self.thinned.next(number * count), count) if number else []

    def _reading(self) -> Reading:
        self._samples += self._hop
        heard_s = self._samples / self._sample_rate
        if self._gate.floor != self._floor:  # it stands while a note sounds
            self._floor = self._gate.floor
            self._floor_db = 10.0 * math.log10(max(SILENT_POWER, self._floor))
        if not self._held:
            silence = (heard_s, 0.0, self._confidence, self._level_db, heard_s, self._attack_db, self._floor_db, 0.0)
            return _reading(Reading, silence)
        note, intake = self._note, self.thinned
        behind_s = intake.delay_s if self._even else intake.delay_s + intake.ago_s
        time_s = heard_s - behind_s - note.ago_s
        clear_db = 10.0 * math.log10(1.0 + note.over_noise)
        level_db, attack_db, floor_db = self._level_db, self._attack_db, self._floor_db
        return _reading(Reading, (time_s, note.hz, self._confidence, level_db, heard_s, attack_db, floor_db, clear_db))

    def _lose(self, samples: int) -> None:
        self._samples += samples
        self._since_struck = 0
        self._before_hz = 0.0
        self._noise.interrupted()  # what is in its window now is made of zeros
        self.thinned.forget()
        self._let_go()

    def _let_go(self) -> None:
        self._held = False
        self._confidence = self.now_hz = 0.0

    def _tick(self, tick: Tick) -> None:
        gate, count = self._gate, self._tick_samples
        self.thinned.step(count)
        energy, slope = tick
        power = energy / count if energy > 0.0 else 0.0
        self._level_db = 10.0 * math.log10(power + 1e-12)
        self._heard += count
        if not gate.hear(power, over_noise=self._note.over_noise if self._held else 0.0):
            self._rest()
            return
        self._rested = 0
        loudest = gate.loudest
        self._attack_db = attack_db = self._attack(energy, slope, loudest)
        self._since_struck += count
        if loudest > self._strongest:  # noqa: PLR1730 - a call a tick dearer
            self._strongest = loudest
        # What a stream begins with, as far as the octave looks back, was not struck just now.
        if attack_db > BROKEN_DB and self._heard > WINDOW_S * self._rate:
            self._struck = True
            if loudest > FALL * self._strongest or attack_db > RESIDUE_ATTACK_DB:
                self._before_hz = 0.0
        if attack_db > STRUCK_DB and self._since_struck > self._strike:
            self._since_struck = count
            if self._before_hz == 0.0:
                self._strongest = loudest
            self._held = False
            self._confidence = 0.0
        if self._held:
            self._follow(count)
        elif not gate.fading(TICKS_A_PERIOD):  # what is left of a note cut off has no pitch of its own
            self._look(count)

    def _rest(self) -> None:
        """Nothing sounds: learn what that is like."""
        if self._held or self._since_struck:
            self._let_go()
            self._since_struck = 0
            self._struck = False
        if not self._rested:
            self._noise.interrupted()
        self._rested += 1
        if self._rested == REST_TICKS:
            self._before_hz = self._strongest = 0.0
        self._attack_db = 0.0
        self._edge.hear(0.0, SILENT_POWER)
        self._gate.learn()
        self._noise.hear(self.thinned.newest)

    def _attack(self, energy: float, slope: float, loudest: float) -> float:
        floor, count = self._gate.floor, self._tick_samples
        attack_db = self._edge.hear(slope / count if slope > 0.0 else 0.0, SILENT_POWER + 4.0 * floor)
        if not self._held:
            return attack_db
        novelty_db = self._repeat.hear(
            self.thinned.before, self._note.now_hz, energy=energy, floor=floor, loudest=loudest
        )
        if novelty_db > attack_db and self._since_struck > 3.0 * self._rate / self._note.now_hz + 0.006 * self._rate:
            return novelty_db
        return attack_db

    def _look(self, count: int) -> None:
        hz = self._same_note(self._search.look(self.thinned, self._since_struck, struck=self._struck))
        if self._reaches(hz) and (self._struck or not is_hum(hz)) and self._begins(hz, count):
            self._held, self._faded = True, False
            self._gate.interrupted()
            self._clear_hz = hz
            self._repeat.start(self._search.clarity, self._gate.loudest)
            self._confidence, self.now_hz = self._search.clarity, self._note.now_hz
        elif self._since_struck >= self._search.whole:
            self._let_go()
            self._gate.learn()

    def _begins(self, hz: float, count: int) -> bool:
        """Start a note of this pitch; whether it is what sounds, and no likeness within hiss that a hum lifts."""
        self._note.start(self.thinned, hz, count / self._rate)
        return self._note.power > FALL * self._gate.loudest

    def _same_note(self, hz: float) -> float:
        """A pitch found again without a strike: no string leaps by octaves, and none begins 25 dB below another."""
        before_hz = self._before_hz
        if hz == 0.0:
            return 0.0
        if before_hz == 0.0:
            return hz if self._struck or self._gate.loudest > SWELL * self._gate.floor else 0.0
        ratio = hz / before_hz if hz > before_hz else before_hz / hz
        whole = round(ratio)
        if self._before_sure and whole > 1 and abs(ratio - whole) < SLACK * ratio:
            return before_hz
        if abs(ratio - 1.0) < SLACK or self._gate.loudest > FALL * self._strongest:
            return hz
        return 0.0

    def _follow(self, count: int) -> None:
        nsdf, note, gate = self._repeat.nsdf, self._note, self._gate
        if note.power < FALL * gate.loudest:  # it has sunk into hum, or never was more than the hiss beside it
            self._let_go()
            return
        if nsdf >= CLEAR_AT_LAST:
            self._clear_hz = note.hz
            lost = False
        else:  # buried in hum a pitch may stand, but what seems to glide there is the hum
            needed = CLEAR_AT_LAST * (1.0 - gate.floor / gate.loudest)  # hiss and hum excuse their share
            lost = abs(note.hz - self._clear_hz) > SLACK * note.hz
            lost = lost or (nsdf < needed and not gate.buried(note.over_noise))
        if lost:
            if note.recovered(self.thinned, count, self._since_struck) and self._reaches(note.hz):
                self._repeat.start(1.0, self._gate.loudest)
                self.now_hz = note.now_hz
            else:
                self._before_hz, self._before_sure = note.hz, note.decided
                self._let_go()
            return
        if gate.fading(2 + int(self._rate / (note.hz * count))):
            self._faded = True
            return
        if self._faded:
            self._faded = False
            note.resume(self.thinned, note.hz, count / self._rate)
        else:
            note.follow(self.thinned, count, since_struck=self._since_struck)
        # A squeal, or what is left of a note, may lead out of reach, or be about to.
        if self._lowest_hz < note.hz < self._highest_hz and self._lowest_hz < note.now_hz < self._highest_hz:
            self._confidence, self.now_hz = nsdf if nsdf < 1.0 else 1.0, note.now_hz
        else:
            self._let_go()

    def _reaches(self, hz: float) -> bool:
        return self._lowest_hz < hz < self._highest_hz


def hop_samples(sample_rate: int) -> int:
    """Samples from one reading to the next; sound cut at a multiple of it is measured again at the same places."""
    factor = thinning(sample_rate)  # so that every hop brings as many inner samples
    part = 8 if 8 % factor == 0 else factor
    return max(16, part * round(sample_rate * HOP_S / part))


def make_tracker(sample_rate: int, hop: int) -> Tracker:
    """A streaming pitch tracker for one guitar string.

    Parameters
    ----------
    sample_rate : int
        Samples a second, 8000 to 192000.
    hop : int
        Samples in every block that `push` will be given, 16 to 1024.

    Returns
    -------
    tracker
        `.push(block, lost_samples=0)` returns a list of one `Reading`; `.now_hz` is the best estimate of the pitch at
        this instant (0.0 if none), looking ahead along the motion.

    Raises
    ------
    ValueError
        If the rate or the hop lies outside these ranges.
    """
    if not 8000 <= sample_rate <= 192_000:
        raise ValueError(f"sample_rate must lie within 8000 and 192000 Hz, got {sample_rate}")
    if not 16 <= hop <= 1024:
        raise ValueError(f"hop must lie within 16 and 1024 samples, got {hop}")
    return Tracker(sample_rate, hop)
