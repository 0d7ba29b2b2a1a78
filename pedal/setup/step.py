"""What all steps have in common: they look, then say what they found; each can be left or taken again."""

from __future__ import annotations

from typing import Protocol

from pedal.setup.event import SetUpEvent
from pedal.setup.page import SetUpPage
from pedal.setup.wish import Wish

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
