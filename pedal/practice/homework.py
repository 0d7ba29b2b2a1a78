"""What a teacher asked for: bends, curls and licks, how often each must be true, and by when."""

from __future__ import annotations

from collections import Counter
from typing import Literal

from pedal.progress.naming import folded
from pedal.values import frozen

TaskPart = Literal["curl", "bend", "prebend", "lick"]
TaskSpot = tuple[TaskPart, int, int, int, str]
"""What a try is at: string, fret and semitones, 0 for a lick; and the lick's name in small letters."""
MOST_TASKS, MOST_TIMES = 24, 500


@frozen
class Task:
    """One thing, on a string (1 is the highest) and a fret; `semitones` is 0 for a curl. `times` it must be true.

    lick : a lick's name; it has no string, fret and semitones of its own, all 0.
    """

    part: TaskPart
    string: int
    fret: int
    semitones: int
    times: int
    lick: str = ""

    @property
    def spot(self) -> TaskSpot:
        """What a try must be to count."""
        return self.part, self.string, self.fret, self.semitones, self.lick.casefold()


@frozen
class Homework:
    """The tasks of one file.

    player : whose they are; "" for everybody's.
    by : the day, as it was written (2026-12-04); "" for none.
    since_s : true tries from then on count, on the clock of whoever counts.
    """

    tasks: tuple[Task, ...]
    player: str = ""
    by: str = ""
    since_s: float = float("-inf")


class Progress:
    """`.count(...)` takes a true try; `.true(task)` says how many there were, `.done` how many tasks have enough."""

    def __init__(self, homework: Homework) -> None:
        self.homework = homework
        self._true: Counter[TaskSpot] = Counter()

    def count(self, spot: TaskSpot, *, time_s: float, player: str) -> None:
        """A true try: by whom, when, and what it was."""
        if time_s >= self.homework.since_s and self.is_for(player):
            self._true[spot] += 1

    def is_for(self, player: str) -> bool:
        """Whether the homework is a player's, however the name was written."""
        return self.homework.player == "" or folded(self.homework.player) == folded(player)

    def true(self, task: Task) -> int:
        """True tries at a task, at most as many as it wants."""
        return min(self._true[task.spot], task.times)

    @property
    def done(self) -> int:
        """Tasks that were true often enough."""
        return sum(self.true(task) >= task.times for task in self.homework.tasks)
