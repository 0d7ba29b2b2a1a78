"""A cable from output to input, for who has one at hand: each figure of the sound device on a page of its own."""

from __future__ import annotations

from pedal.setup.choice import InputChoice, OutputDevice
from pedal.setup.event import CableHeard, Press, SetUpEvent, Trouble
from pedal.setup.step import Findings, SetUpPage
from pedal.setup.wish import MeasureCable, Nothing, Wish
from pedal.soundcheck.cable_words import CableRemark

CARE = "Cable from output to input, headphones away: 16 s of test sounds."


class TryCable:
    """Begins only when it is told to: it is louder than the rest, and most will leave it."""

    name = "cable"

    def __init__(self, choice: InputChoice | None, output: OutputDevice | None) -> None:
        self.over = False
        self.findings: Findings = {}
        self.said = ""
        self._choice, self._output = choice, output
        self._runs, self._running, self._page = 0, False, 0
        self._remarks: tuple[CableRemark, ...] = ()
        self._trouble = ""

    @property
    def wish(self) -> Wish:
        """Measure while a run goes on, else wait."""
        return MeasureCable(self._choice, self._output, self._runs) if self._running else Nothing()

    def hear(self, event: SetUpEvent) -> None:
        """A press begins, then turns the pages."""
        match event:
            case CableHeard(remarks=remarks):
                self._remarks, self._running, self._page = remarks, False, 0
                self._end_on_the_last()
            case Trouble(sentence=sentence):
                self._trouble, self._running = sentence, False
            case Press() if self._remarks and not self.over:
                self._page += 1
                self._end_on_the_last()
            case Press() if not self._running and not self.over:
                self._running, self._trouble = True, ""
                self._runs += 1
            case _:
                pass

    def _end_on_the_last(self) -> None:
        if self._page >= len(self._remarks) - 1:
            bad = [f"{one.part}: {one.fact}" for one in self._remarks if not one.good]
            self.over, self.said = True, "; ".join(bad) or "all figures are good"

    def page(self) -> SetUpPage:
        """What to do, that it runs, or one figure."""
        if self._remarks:
            one = self._remarks[self._page]
            lines = tuple(line for line in (one.fact, one.remedy) if line)
            title = one.part.removeprefix("cable ").upper()
            return SetUpPage(title, lines, "go on" if self.over else "next", "again" if self.over else "leave")
        if self._trouble:
            return SetUpPage("CABLE?", (self._trouble,), "again", "leave")
        if self._running:
            return SetUpPage("MEASURING", ("for 16 seconds",), "", "leave")
        return SetUpPage("CABLE", (CARE,), "begin", "leave")
