"""One Round: what is asked for now, when the hand rests, and when it is over. Times are seconds since it began.

Which item comes next: of those still open in this part that are no lighter than the one before, as many as fit into the
part's time are taken by need, and of these the lightest is asked for. So the force rises, the neediest are there, and
the time is filled at the pace of this player. Between two tries at something heavy fretted notes are asked for, and no
lap begins with a heavy bend whose share of the ceiling is used.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from pedal.practice.item import Item, ItemName, Part
from pedal.practice.score import MOST_MISSES, Outcome, Score
from pedal.practice.sections import WARM_UP, Section, sections_of

MINUTES = (5, 10, 20)
REST_S = 30.0
REST_EVERY_S = 150.0
"""Half a minute in every three: the ten minutes in the hour that the cautions ask for."""
LEAST_AFTER_REST_S = 45.0
"""Nobody rests to play for less than this."""
LAST_S = 8.0
"""With less than this left nothing new is begun."""
GRACE_S = 8.0
"""A note that sounds when the time is up is heard to its end, for so long."""
MOST_BETWEEN = 2
"""A fretted note between heavy bends that was missed so often is let go."""
_USUAL_S: dict[Part, float] = {"plain": 4.0, "curl": 14.0, "half": 14.0, "bend": 18.0, "prebend": 16.0, "lick": 45.0}
_USUAL_WEIGHT = 2.0
"""How long an item of a part takes, until this player's pace is known: as if two had been seen. Guesses."""
_EXTRA: tuple[Part, ...] = ("bend", "prebend", "curl")
_NO_MORE_THAN = 64
"""Sections looked through for the next item: more says that there is none."""


@dataclass(slots=True)
class State:
    """All that a Round must not forget over a power cut, in values that can be written down."""

    minutes: int
    elapsed_s: float = 0.0
    at: int = 0
    until_s: float = 0.0
    force_n: float = 0.0
    rested_s: float = 0.0
    resting_until_s: float | None = None
    begun_s: float = 0.0
    heavy: int = 0
    after_heavy: bool = False
    done: set[ItemName] = field(default_factory=set)
    history: dict[ItemName, Score] = field(default_factory=dict)
    now: ItemName | None = None
    score: Score = field(default_factory=Score)
    over: bool = False


class Course:
    """`.tick(elapsed_s)`, `.tried(outcome)` and `.pass_over()` move on; `asked`, `resting_s`, `over` say where we are.

    items : everything that may be asked for, each part from its lightest on; never empty.
    need : how much an item needs practice; greater comes sooner.
    heavy_left : how many heavy bends may still be asked for.
    between : the fretted notes that are asked for between two tries at a heavy bend.
    rest_s : how long a rest is.
    """

    def __init__(
        self,
        state: State,
        items: Sequence[Item],
        *,
        need: Callable[[Item], float],
        heavy_left: Callable[[], int],
        between: Callable[[Item], tuple[Item, ...]],
        rest_s: float = REST_S,
    ) -> None:
        self.state = state
        self._items, self._need, self._heavy_left, self._make_between = list(items), need, heavy_left, between
        self._rest_s = rest_s
        self._sections = list(sections_of(state.minutes, lick=any(item.part == "lick" for item in self._items)))
        self._between: list[Item] = []
        self._between_misses = 0
        self._pace: dict[Part, tuple[float, float]] = {}
        while len(self._sections) <= state.at:
            self._add_lap()
        self.item = next((item for item in self._items if item.name == state.now), None)
        if self.item is None and not state.over and state.resting_until_s is None:
            if state.until_s == 0.0:
                self._enter()
            self._choose()
        elif self.item is not None and self.item.heavy and state.after_heavy:
            self._ask_between(self.item)
        self._spare_the_hand()

    @property
    def items(self) -> tuple[Item, ...]:
        """Everything that may be asked for."""
        return tuple(self._items)

    @property
    def total_s(self) -> float:
        """How long the Round is."""
        return 60.0 * self.state.minutes

    @property
    def over(self) -> bool:
        """Whether nothing more is asked for: the time is up, or nothing is left that may be asked."""
        return self.state.over

    @property
    def left_s(self) -> float:
        """How long it goes on."""
        return max(0.0, self.total_s - self.state.elapsed_s)

    @property
    def resting_s(self) -> float | None:
        """How long the hand still rests; None while something is asked for."""
        until_s = self.state.resting_until_s
        return None if until_s is None or self.over else max(0.0, until_s - self.state.elapsed_s)

    @property
    def asked(self) -> Item | None:
        """What shall be played now; None in a rest and after the end."""
        if self.over or self.state.resting_until_s is not None:
            return None
        return self._between[0] if self._between else self.item

    @property
    def part(self) -> Part:
        """The part of the Round that we are in."""
        return self._section.part

    @property
    def _section(self) -> Section:
        return self._sections[self.state.at]

    def tick(self, elapsed_s: float, *, sounding: bool) -> None:
        """So much of the Round has gone; `sounding` while a note is to be heard to its end."""
        state = self.state
        state.elapsed_s = max(state.elapsed_s, elapsed_s)
        if state.over:
            return
        if state.elapsed_s >= self.total_s and (not sounding or state.elapsed_s >= self.total_s + GRACE_S):
            self._end()
        elif state.resting_until_s is not None and state.elapsed_s >= state.resting_until_s:
            self.end_rest()
        else:
            self._spare_the_hand()

    def tried(self, outcome: Outcome, error_cents: float | None = None) -> None:
        """A try at what is asked for."""
        state, item = self.state, self.item
        if self.asked is None or item is None:
            return
        if self._between:
            state.after_heavy = False
            self._between_misses += outcome != "true"
            if outcome == "true":
                self._between.pop(0)
            elif self._between_misses >= MOST_BETWEEN:
                self._between.clear()
            return
        state.heavy, state.after_heavy = state.heavy + item.heavy, item.heavy
        for score in (state.score, state.history.setdefault(item.name, Score())):
            score.outcomes.append(outcome)
            if error_cents is not None:
                score.errors.append(error_cents)
        late = state.elapsed_s >= state.until_s
        if state.score.over(item) or late or self._too_heavy_now(item):
            self.pass_over()
        elif item.heavy:
            self._ask_between(item)

    def _too_heavy_now(self, item: Item) -> bool:
        """Whether one more try would be a heavy bend more than the ceiling leaves."""
        bends = max(item.heavy_bends, int(item.heavy))
        return bends > 0 and bends > self._heavy_left()  # asked at each tick, and counted only for what is heavy

    def _spare_the_hand(self) -> None:
        """What is asked for goes where the ceiling no longer leaves it: it was lowered, or used up in another mode."""
        if self.item is not None and self._too_heavy_now(self.item):
            self.pass_over()

    def strained(self) -> None:
        """Something heavy was played that was no try: the hand rests from it all the same."""
        if self.item is not None and self.item.heavy and not self._between:
            self.state.heavy, self.state.after_heavy = self.state.heavy + 1, True
            if self._heavy_left() == 0:
                self.pass_over()
            else:
                self._ask_between(self.item)

    def pass_over(self) -> None:
        """The item is done with, for whatever reason: on to a rest, the next one, or the end."""
        state, item = self.state, self.item
        if state.over or item is None:
            return
        self._between.clear()
        self._keep_pace(item)
        state.done.add(item.name)
        state.force_n = item.force_n
        if self.left_s < LAST_S:
            self._end()
        elif state.elapsed_s - state.rested_s >= REST_EVERY_S and self.left_s >= self._rest_s + LEAST_AFTER_REST_S:
            state.now, self.item = None, None
            state.resting_until_s = state.elapsed_s + self._rest_s
        else:
            self._choose()

    def end_rest(self) -> None:
        """The hand has rested, or its player goes on."""
        state = self.state
        if state.resting_until_s is None:
            return
        begun_s = state.resting_until_s - self._rest_s
        state.resting_until_s, state.rested_s = None, state.elapsed_s
        state.until_s += state.elapsed_s - begun_s
        self._choose()

    def change_items(self, items: Sequence[Item]) -> None:
        """Another key or place on the neck, or a bend crossed off: what is asked for may not be there any more.

        Where it is, it may take another force by now: a capo was set, or A4 moved.
        """
        self._items = list(items)
        if self.over or self.state.resting_until_s is not None:
            return
        self.item = next((item for item in self._items if item.name == self.state.now), None)
        if self.item is not None:
            self._spare_the_hand()
            return
        self._between.clear()
        self._choose()

    def _choose(self) -> None:
        state = self.state
        state.score, self._between_misses = Score(), 0
        for _ in range(_NO_MORE_THAN):
            open_items = self._open()
            if open_items and state.elapsed_s < state.until_s:
                self.item = self._lightest_of_the_neediest(open_items)
                state.now, state.begun_s = self.item.name, state.elapsed_s
                if self.item.heavy and state.after_heavy:
                    self._ask_between(self.item)
                return
            state.at += 1
            if state.at == len(self._sections):
                self._add_lap()
            self._enter()
        self._end()

    def _open(self) -> list[Item]:
        """What may come next. Few heavy bends are left to a lap: they go to the items that need them most."""
        state, part = self.state, self._section.part
        found = [
            item
            for item in self._items
            if item.part == part and item.name not in state.done and item.force_n >= state.force_n
        ]
        heavy = sorted((item for item in found if item.heavy), key=self._need, reverse=True)
        chosen = {item.name for item in heavy[: math.ceil(self._heavy_share() / MOST_MISSES)]}
        light = [item for item in found if not item.heavy or item.name in chosen]
        return [item for item in light if item.heavy_bends <= self._heavy_left()]

    def _heavy_share(self) -> float:
        """How many heavy bends may still be asked for in this lap: its share of the ceiling, less what was played."""
        left = self._heavy_left()
        laps = max(1, sum(section.part == "bend" for section in self._sections[len(WARM_UP) :]))
        lap = max(1, sum(section.part == "bend" for section in self._sections[: self.state.at + 1]))
        return min(left, max(0.0, (self.state.heavy + left) * lap / laps - self.state.heavy))

    def _lightest_of_the_neediest(self, open_items: Sequence[Item]) -> Item:
        part = self._section.part
        seconds, count = self._pace.get(part, (0.0, 0.0))
        usual_s = (seconds + _USUAL_WEIGHT * _USUAL_S[part]) / (count + _USUAL_WEIGHT)
        fitting = max(1, round((self.state.until_s - self.state.elapsed_s) / usual_s))
        neediest = sorted(open_items, key=self._need, reverse=True)[:fitting]
        return min(neediest, key=lambda item: (item.force_n, open_items.index(item)))

    def _enter(self) -> None:
        """A section begins: its time is its share of what is left without the rests."""
        state = self.state
        state.done, state.force_n = set(), 0.0
        rests = max(0, int((self.left_s - LEAST_AFTER_REST_S) // (REST_EVERY_S + self._rest_s)))
        playing_s = self.left_s - rests * self._rest_s
        ahead = sum(section.share for section in self._sections[state.at :])
        state.until_s = state.elapsed_s + playing_s * self._section.share / ahead

    def _add_lap(self) -> None:
        """There is time left when all was played: once more, as far as it goes."""
        self._sections += [Section(part, 1.0) for part in _EXTRA]

    def _ask_between(self, item: Item) -> None:
        self._between, self._between_misses = list(self._make_between(item)), 0

    def _keep_pace(self, item: Item) -> None:
        seconds, count = self._pace.get(item.part, (0.0, 0.0))
        self._pace[item.part] = seconds + self.state.elapsed_s - self.state.begun_s, count + 1.0

    def _end(self) -> None:
        self.state.over, self.state.now, self.item = True, None, None
