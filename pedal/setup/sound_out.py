"""The output: a quiet tone from one after another, and a press takes the one that is heard."""

from __future__ import annotations

from pedal.setup.choice import OutputDevice
from pedal.setup.event import OutputsFound, Passed, Press, SetUpEvent, Trouble
from pedal.setup.step import Findings, SetUpPage
from pedal.setup.wish import FindOutputs, Nothing, PlayTone, Wish

TONE_S, GAP_S = 4.0, 1.5
"""In the gap a press still means what sounded last: an ear is slower than a foot."""
CARE = "Headphones off your ears."


class ChooseOutput:
    """Only the drone needs one: leaving this step is no loss where none is wanted."""

    name = "output"

    def __init__(self) -> None:
        self.over = False
        self.findings: Findings = {}
        self.said = ""
        self.chosen: OutputDevice | None = None
        self._devices: tuple[OutputDevice, ...] | None = None
        self._at, self._looks, self._since_s = 0, 0, 0.0
        self._failed: dict[OutputDevice, str] = {}
        self._trouble = ""

    @property
    def wish(self) -> Wish:
        """Sound from each in turn, with a silence after it."""
        if self._devices is None:
            return FindOutputs(self._looks)
        silent = self.over or not self._devices or self._since_s >= TONE_S
        return Nothing() if silent else PlayTone(self._devices[self._at])

    def hear(self, event: SetUpEvent) -> None:
        """Devices, time, a press."""
        if self.over:
            return
        match event:
            case OutputsFound(devices=devices):
                self._devices, self._at, self._since_s = devices, 0, 0.0
            case Passed(seconds=seconds) if self._devices:
                self._since_s += seconds
                if self._since_s >= TONE_S + GAP_S:
                    self._next()
            case Trouble(sentence=sentence) if self._devices:
                self._failed[self._devices[self._at]] = sentence
                self._next()
            case Trouble(sentence=sentence):
                self._devices, self._trouble = (), sentence
            case Press():
                self._take()
            case _:
                pass

    def _next(self) -> None:
        assert self._devices
        working = [device for device in self._devices if device not in self._failed]
        if not working:
            self._devices = ()
            return
        self._since_s = 0.0
        self._at = (self._at + 1) % len(self._devices)
        while self._devices[self._at] in self._failed:
            self._at = (self._at + 1) % len(self._devices)

    def _take(self) -> None:
        if not self._devices:
            self._devices, self._failed, self._trouble = None, {}, ""
            self._looks += 1
            return
        device = self._devices[self._at]
        self.over, self.chosen, self.findings, self.said = True, device, device.findings(), device.name

    def page(self) -> SetUpPage:
        """Which one sounds."""
        if self.over:
            return SetUpPage("OUTPUT", (f"The drone sounds from {self.said}.",), "go on", "again")
        if self._devices is None:
            return SetUpPage("LISTEN", (CARE,), "", "none")
        if not self._devices:
            none = self._trouble or "No device has an output: there is no drone."
            why = next(iter(self._failed.values()), none)
            return SetUpPage("NO OUTPUT", (why,), "again", "none")
        now = f"{self._at + 1} of {len(self._devices)}: {self._devices[self._at].name}"
        return SetUpPage("HEAR IT?", (f"A quiet tone. {CARE}", now), "yes", "none")
