"""What the set-up shows, and what its steps have in common: they look, say what they found, are left and repeated."""

from __future__ import annotations

from typing import Protocol

from pedal.setup.event import SetUpEvent
from pedal.setup.wish import Wish
from pedal.values import frozen


@frozen
class SetUpPage:
    """One page.

    title : one or two words, large.
    lines : sentences, small.
    press, hold : what a short and a long press do, a word or two; "" for nothing.
    place, places : the step, from 0, and how many there are.
    bar : 0 to 1 of a level, with the good part from `good[0]` to `good[1]`; None for none.
    edges : a frame along all four edges, which shows whether the whole picture is there.
    beat : counts up; the page shows it by a mark that moves, so that a picture which only stands is told apart.
    """

    title: str
    lines: tuple[str, ...] = ()
    press: str = ""
    hold: str = ""
    place: int = 0
    places: int = 0
    bar: float | None = None
    good: tuple[float, float] = (0.0, 1.0)
    edges: bool = False
    beat: int = 0


Findings = dict[str, str]
"""Settings by their path, as YAML: {"audio.channel": "2"}."""


class Step(Protocol):
    """One step.

    name : a word.
    over : it has found something, and waits for a press to go on, or for a long one to begin again.
    findings : what is to be kept; `said` the same as a sentence.
    """

    name: str
    over: bool
    findings: Findings
    said: str

    @property
    def wish(self) -> Wish:
        """What is to be done now."""

    def hear(self, event: SetUpEvent) -> None:
        """Take what came. A press that is "short" is meant for the step; others do not come here."""

    def page(self) -> SetUpPage:
        """What is shown; without place and places."""
