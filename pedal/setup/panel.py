"""Find the panel: one way to drive it after another shows the same picture, and a press takes the one that is whole."""

from __future__ import annotations

from pedal.setup.choice import PanelChoice, panel_choices
from pedal.setup.event import PanelsFound, Passed, Press, SetUpEvent, Trouble
from pedal.setup.step import Findings, SetUpPage
from pedal.setup.wish import FindPanels, Nothing, TryPanel, Wish

EACH_S = 6.0
"""Long enough to look, and to step on a switch."""
GRACE_S = 0.6
"""A press so soon after the picture changed meant the one before: a foot is slower than an eye."""
BEAT_S = 0.5
AGAIN_S = 3.0
REMEDIES = ("SDA to pin 3, SCL to pin 5, 3.3 V, ground. Some panels have VCC and GND swapped.",)


class FindPanel:
    """`configured` is what the settings say: it is tried first."""

    name = "panel"

    def __init__(self, configured: PanelChoice) -> None:
        self.over = False
        self.findings: Findings = {}
        self.said = ""
        self.chosen: PanelChoice | None = None
        self._configured = configured
        self._choices: tuple[PanelChoice, ...] | None = None
        self._at, self._shown_s, self._looks = 0, 0.0, 0
        self._failed: set[PanelChoice] = set()

    @property
    def wish(self) -> Wish:
        """Look, then try each."""
        if self._choices is None:
            return FindPanels(self._looks)
        return TryPanel(self._choices[self._at]) if self._choices else Nothing()

    def hear(self, event: SetUpEvent) -> None:
        """Places, time, a press, a search that failed, or a panel that does not answer after all."""
        match event:
            case PanelsFound(places=places):
                self._choices, self._at, self._shown_s = panel_choices(places, self._configured), 0, 0.0
            case Passed(seconds=seconds) if not self.over:
                self._pass(seconds)
            case Press() if not self.over:
                self._take()
            case Trouble() if self._choices:
                self._failed.add(self._choices[self._at])
                self._next()
            case Trouble():
                self._choices, self._shown_s = (), 0.0
            case _:
                pass

    def _pass(self, seconds: float) -> None:
        self._shown_s += seconds
        if self._choices == () and self._shown_s >= AGAIN_S:
            self._look_again()
        elif self._choices and self._shown_s >= EACH_S and len(self._choices) > 1:
            self._next()

    def _next(self) -> None:
        assert self._choices
        if self._failed.issuperset(self._choices):
            self._look_again()
            return
        self._at, self._shown_s = (self._at + 1) % len(self._choices), 0.0
        while self._choices[self._at] in self._failed:
            self._at = (self._at + 1) % len(self._choices)

    def _look_again(self) -> None:
        self._choices, self._shown_s = None, 0.0
        self._looks += 1
        self._failed.clear()

    def _take(self) -> None:
        if not self._choices:
            self._look_again()
            return
        before = (self._at - 1) % len(self._choices)
        if self._shown_s < GRACE_S and self._choices[before] not in self._failed and self._looked_at_others():
            self._at = before
        choice = self._choices[self._at]
        self.over, self.chosen, self.findings, self.said = True, choice, choice.findings(), choice.words

    def _looked_at_others(self) -> bool:
        return self._at > 0

    def page(self) -> SetUpPage:
        """The picture to look for; on a screen elsewhere it says which one is up."""
        if self._choices is None or not self._choices:
            lines: tuple[str, ...] = () if self._choices is None and not self._looks else REMEDIES
            return SetUpPage("NO PANEL" if lines else "LOOKING", lines or ("for a panel",), "again", "leave")
        choice = self._choices[self._at]
        if self.over:
            return SetUpPage("PANEL", (choice.words,), "go on", "again")
        number = f"{self._at + 1} of {len(self._choices)}: {choice.words}"
        shown: tuple[str, ...] = ("if this is whole, sharp and upright", number)
        return SetUpPage("PRESS", shown, edges=True, beat=int(self._shown_s / BEAT_S))
