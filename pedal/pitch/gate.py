"""Is there anything to hear? The level of silence is learned while nothing sounds, or while what sounds stands still.

A string fades, beats and is struck again; hiss and hum do none of that. So a sound without a pitch is taken for silence
only after it has stood within `STEADY` for a second, and never above `MOST_FLOOR`, however long a chord is strummed.
"""

from __future__ import annotations

from collections import deque
from itertools import islice

OVER_FLOOR, STILL_OVER = 6.0, 1.8
"""Power over the learned floor (8 dB) from which something sounds, and (2.5 dB) down to which a held note does. What a
damped note leaves ringing is a floor of its own: a new note rises by as much out of that, faster than strings beat."""
STANDS_OUT = 1.5
"""Power of a held note's partials over the noise at their place from which it sounds, however loud hum is."""
LEAST_POWER = 3e-9
"""-85 dBFS: below this no converter of a pedal tells a string from its own noise."""
MOST_FLOOR = 5e-4
"""-33 dBFS, where hum is louder than a player would bear."""
FALL = 3e-3
"""A whole period this far (-25 dB) below the note's recent strength: the note is over, whatever the floor is, and what
sounds is what it left ringing. Nor is it a note that lies so far below all that sounds, but the hiss beside hum."""
FORGETS = 0.93
"""What is left of a remembered strength after a tick, 20 dB in 170 ms: the pulses of a low string are no news."""
TICKS_A_PERIOD = 6
"""16 ms: a low string pulses, and only its strongest tick tells how loud it is."""
FADED = 0.08
"""A period this far (-11 dB) below the one before is a note being cut off: what it still does is no motion."""
BLOCK_TICKS = 16
"""43 ms, two periods of the mains: the loudest tick of a hum is the same in each."""
BLOCKS = 24
"""So many blocks, a second, must stand still."""
STEADY, LEVEL = 2.5, 1.26
"""Power by which blocks of pink noise differ (4 dB), and (1 dB) halves of a second: a chord falls faster."""
FALLS, RISES, RISES_FIRST = 0.1, 0.02, 0.2
"""Share of the way to each tick of silence by which the floor moves: it settles in the lower part of what hiss does.
The first sound of a stream is taken for its silence at once."""
FIRST_TICKS = 7 * BLOCK_TICKS
"""0.3 s: nobody plays yet."""
REST_TICKS = 38
"""0.1 s: after such a pause what sounds has nothing to do with the note before."""


class Gate:
    """Open while the newest ticks are clearly louder than learned silence and have not dropped out of the note."""

    def __init__(self) -> None:
        self.floor = 10.0 * LEAST_POWER  # -75 dBFS, 10 dB over the least, until silence was heard
        self.loudest = 0.0
        self._recent = [0.0] * (2 * TICKS_A_PERIOD)  # the newest first: a list, because parts of it are looked at
        self._strength = 0.0
        self._left: float | None = None
        self._blocks: deque[float] = deque(maxlen=BLOCKS)
        self._block = 0.0
        self._ticks = 0
        self._first_ticks = FIRST_TICKS

    def hear(self, power: float, *, over_noise: float) -> bool:
        """Whether something sounds, after one more tick of this mean power.

        `over_noise` is how far the partials of a held note stand out (a power ratio), 0 if there is none: such a note
        may sink into the floor.
        """
        recent, loudest = self._recent, self.loudest
        leaves = recent[TICKS_A_PERIOD - 1]
        recent.insert(0, power)
        recent.pop()
        if self._first_ticks:
            self._first_ticks -= 1
        if power >= loudest:
            loudest = power
        elif leaves == loudest:
            loudest = max(recent[:TICKS_A_PERIOD])
        self.loudest = loudest
        remembered = FORGETS * self._strength
        self._strength = loudest if loudest > remembered else remembered
        if self._left is not None:
            return self._rises_again(loudest, self._left)
        if loudest < LEAST_POWER:
            return False
        if loudest < FALL * self._strength:
            self._left = loudest
            return False
        return over_noise > STANDS_OUT or loudest > (STILL_OVER if over_noise else OVER_FLOOR) * self.floor

    def _rises_again(self, loudest: float, left: float) -> bool:
        """Whether a new note stands out of what a note that dropped has left."""
        if loudest < STILL_OVER * self.floor or loudest < LEAST_POWER:
            self._left = None
            return False
        self._left = min(left / FORGETS, loudest)
        if loudest < OVER_FLOOR * self._left:
            return False
        self._left = None
        self._strength = loudest
        return True

    def fading(self, ticks: int) -> bool:
        """Whether the last `ticks`, a period or more, are far below what was before."""
        recent = self._recent
        faded = FADED * max(recent)
        return recent[0] < faded and max(recent[:ticks]) < faded

    def buried(self, over_noise: float) -> bool:
        """Whether a held note stands out by its partials alone: how alike the sound is to itself tells of the hum."""
        return over_noise > STANDS_OUT and self.loudest < OVER_FLOOR * self.floor

    def learn(self) -> None:
        """A tick of no note: the floor follows silence, and anything else only once it has stood still."""
        first = self._first_ticks > 0
        if first or self.loudest < OVER_FLOOR * self.floor:
            loudest, most = self.loudest, 4.0 * self.floor
            off = (loudest if loudest < most else most) - self.floor
            rises = RISES_FIRST if first else RISES
            floor = self.floor + off * (FALLS if off < 0.0 else rises)
            self.floor = floor if floor < MOST_FLOOR else MOST_FLOOR
        power, block = self._recent[0], self._block
        self._block = block if block > power else power
        self._ticks += 1
        if self._ticks == BLOCK_TICKS:
            self._blocks.append(self._block)
            self._block, self._ticks = 0.0, 0
            self._learn_steady()

    def interrupted(self) -> None:
        """A note sounds: what stood still before it is forgotten."""
        if self._blocks or self._ticks:
            self._blocks.clear()
            self._block, self._ticks = 0.0, 0
        self._first_ticks = 0

    def _learn_steady(self) -> None:
        blocks = self._blocks
        if len(blocks) < BLOCKS:
            return
        early, late = (2.0 * sum(islice(blocks, k, k + BLOCKS // 2)) / BLOCKS for k in (0, BLOCKS // 2))
        if max(blocks) < STEADY * min(blocks) and early < LEVEL * late and late < LEVEL * early:
            self.floor = min(MOST_FLOOR, max(self.floor, 0.5 * (early + late)))
