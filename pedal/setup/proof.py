"""Tune one string: the whole way of a sound has worked once it says how far off it is."""

from __future__ import annotations

from pedal.modes.input_events import LivePitch
from pedal.modes.screen_model import Status, TuneScreen
from pedal.modes.state import PedalState
from pedal.modes.tune import Tune
from pedal.setup.choice import InputChoice
from pedal.setup.event import Press, SetUpEvent, Sounded, Trouble
from pedal.setup.step import Findings, SetUpPage
from pedal.setup.wish import HearString, Nothing, Wish


class TuneOneString:
    """The pedal's own tuner, until one string has settled."""

    name = "tune"

    def __init__(self, place: PedalState, choice: InputChoice | None) -> None:
        self.over = False
        self.findings: Findings = {}
        self.said = ""
        self._choice, self._key = choice, str(place.key)
        self._tune = Tune(place)
        self._trouble = ""

    @property
    def wish(self) -> Wish:
        """Hear with the pedal's own ear."""
        return Nothing() if self.over or self._trouble else HearString(self._choice)

    @property
    def tuner(self) -> TuneScreen | None:
        """The tuner's own screen while it is at work."""
        screen = self._tune.screen(Status("set-up", self._key))
        return screen if not self.over and not self._trouble and screen.note is not None else None

    def hear(self, event: SetUpEvent) -> None:
        """Readings and onsets."""
        match event:
            case Sounded(heard=heard) if not self.over and not isinstance(heard, LivePitch):
                self._tune.hear(heard)
                self._look()
            case Trouble(sentence=sentence):
                self._trouble = sentence
            case Press() if self._trouble:
                self._trouble = ""
            case _:
                pass

    def _look(self) -> None:
        screen = self._tune.screen(Status("set-up", self._key))
        if screen.settled and screen.cents is not None:
            self.over = True
            self.said = f"string {screen.string}, {screen.note}, {screen.cents:+.1f} cents"

    def page(self) -> SetUpPage:
        """Before the first pluck, and once a string has settled."""
        if self._trouble:
            return SetUpPage("NO SOUND", (self._trouble,), "again", "leave")
        if self.over:
            return SetUpPage("HEARD", (f"It hears you: {self.said}.",), "go on", "again")
        return SetUpPage("TUNE", ("one open string: pluck it and let it ring",), "", "leave")
