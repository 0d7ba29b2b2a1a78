"""A take -> what the chain hears, block by block; on a terminal a long one shows how far it has been read."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from pedal.chain import Heard
    from pedal.ports import Take
    from pedal.verdicts.aim import Aim
    from pedal.verdicts.verdict import Verdict

_LONG_S = 60.0
"""Sound shorter than this is read before anyone wonders."""
_WIDTH = 30
_EVERY_S = 0.2


class ProgressBar:
    """One line on standard error that is wiped again: nothing of it reaches a pipe or a file."""

    def __init__(
        self,
        total_samples: int,
        *,
        sample_rate: int,
        terminal: TextIO,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._total, self._done = total_samples, 0
        self._terminal, self._clock = terminal, clock
        self._wanted = terminal.isatty() and total_samples > _LONG_S * sample_rate
        self._next_s = clock()
        self._drawn = False

    def advance(self, samples: int) -> None:
        """`samples` more have been read; the line is drawn anew a few times a second."""
        self._done += samples
        if self._wanted and self._clock() >= self._next_s:
            self._next_s = self._clock() + _EVERY_S
            share = min(1.0, self._done / self._total)
            bar = "#" * round(_WIDTH * share)
            self._terminal.write(f"\r[{bar:<{_WIDTH}}] {100 * share:3.0f} %")
            self._terminal.flush()
            self._drawn = True

    def clear(self) -> None:
        """Wipe the line, so that something else may be printed."""
        if self._drawn:
            self._terminal.write("\r\x1b[K")
            self._terminal.flush()
            self._drawn = False


def heard_in(take: Take, aim: Aim) -> Iterator[list[Heard]]:
    """What the chain hears, block by block; what is odd about the take is said first. Raises what opening it raises."""
    from pedal.chain import Chain

    facts = take.open()
    if facts.remark:
        remark(facts.remark)
    chain = Chain(facts.sample_rate, aim)
    bar = ProgressBar(take.total_samples, sample_rate=facts.sample_rate, terminal=sys.stderr)
    try:
        while (block := take.read()) is not None:
            heard = chain.push(block.samples)
            bar.advance(len(block.samples))
            if verdicts_among(heard):
                bar.clear()  # a row of the table is about to be printed
            yield heard
        yield chain.finish()
    finally:
        bar.clear()


def verdicts_among(heard: list[Heard]) -> list[Verdict]:
    """The notes that ended among all that was heard."""
    from pedal.verdicts.verdict import Verdict

    return [thing for thing in heard if isinstance(thing, Verdict)]


def remark(*sentences: str) -> None:
    """Sentences on standard error, as every command says them."""
    from pedal.safe_text import clean

    for sentence in sentences:
        print(f"undertoe: {clean(sentence)}", file=sys.stderr)
