"""Press each switch once: the pins that close are the pedal's, in the order of the feet."""

from __future__ import annotations

from pedal.setup.event import PinDown, Press, SetUpEvent, Trouble
from pedal.setup.step import Findings, SetUpPage
from pedal.setup.wish import Nothing, Wish

MOST = 4


class PressSwitches:
    """One switch is enough: press it, then hold it."""

    name = "switches"

    def __init__(self) -> None:
        self.over = False
        self.findings: Findings = {}
        self.said = ""
        self._pins: list[int] = []
        self._fresh: int | None = None
        self._trouble = ""

    @property
    def wish(self) -> Wish:
        """Pins are watched all the time."""
        return Nothing()

    @property
    def hold_is_mine(self) -> bool:
        """A long press of a switch that is known says: these are all."""
        return bool(self._pins) and not self.over

    def hear(self, event: SetUpEvent) -> None:
        """A contact, or the press that comes of it."""
        match event:
            case PinDown(pin=pin) if not self.over and pin not in self._pins and len(self._pins) < MOST:
                self._pins.append(pin)
                self._fresh = pin
            case Press(pin=pin) if pin is not None and pin == self._fresh:
                self._fresh = None  # its first: that it is there was said already
            case Press(kind="long") if self.hold_is_mine:
                self._end()
            case Press(kind="short", pin=None) if not self.over and self._pins:
                self._end()  # by a key
            case Trouble(sentence=sentence):
                self._trouble = sentence
            case _:
                pass

    def _end(self) -> None:
        self.over = True
        self.findings = {"switches.pins": f"[{', '.join(map(str, self._pins))}]"}
        self.said = ", ".join(f"{n} is GPIO {pin}" for n, pin in enumerate(self._pins, 1))

    def page(self) -> SetUpPage:
        """The switches so far."""
        if self.over:
            return SetUpPage("SWITCHES", (self.said,), "go on", "again")
        if self._trouble:
            return SetUpPage("NO PINS", (self._trouble,), "", "leave")
        if not self._pins:
            return SetUpPage("PRESS", ("each switch once, one after another",), "", "leave")
        found = tuple(f"{n}: GPIO {pin}" for n, pin in enumerate(self._pins, 1))
        return SetUpPage(f"FOUND {len(found)}", (", ".join(found), "the next one?"), "", "these are all")
