"""What the set-up shows: a title, a few words, what a press does, and how far it is."""

from __future__ import annotations

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
