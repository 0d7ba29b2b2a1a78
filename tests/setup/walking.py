"""A set-up in a test's hands, and a world that grants its wishes."""

from __future__ import annotations

from pedal.modes.state import PedalState
from pedal.notes.event import Onset
from pedal.pitch.reading import Reading
from pedal.setup.choice import InputDevice, OutputDevice, PanelChoice, PanelPlace
from pedal.setup.event import (
    CableHeard,
    InputsFound,
    ListenedTo,
    OutputsFound,
    PanelsFound,
    Passed,
    PinDown,
    Played,
    Press,
    Quiet,
    Sounded,
)  # fmt: skip
from pedal.setup.machine import Known, SetUp
from pedal.setup.wish import (
    FindInputs,
    FindOutputs,
    FindPanels,
    HearLoudness,
    HearQuiet,
    HearString,
    ListenTo,
    MeasureCable,
)
from pedal.soundcheck.cable_words import CableRemark
from pedal.soundcheck.levels import Loudness
from pedal.soundcheck.noise import Noise
from pedal.soundcheck.string_heard import StringHeard

PLACE = PanelPlace("i2c", 1, 0x3C)
KNOWN = Known(PanelChoice(PLACE, "ssd1306", 0), PedalState())
USB, BUILT_IN = InputDevice(1, "USB Audio: -", 2), InputDevice(2, "Built-in: -", 1)
SPEAKER, PHONES = OutputDevice(1, "USB Audio: -"), OutputDevice(2, "Headphones")
HEARD, UNHEARD = StringHeard(True, -20.0, 1.0), StringHeard(False, -80.0, 0.0)
GOOD = Loudness(-15.0, -6.0, False)
STILL = Noise(-80.0, -140.0, -80.0, 0.0)

SHORT, LONG, HELD = Press("short", 17), Press("long", 17), Press("held", 17)


def granted(machine: SetUp) -> None:
    """One wish, as a machine with a panel, an interface and its output grants it."""
    match machine.wish:
        case FindPanels():
            machine.step(PanelsFound((PLACE,)))
        case FindInputs():
            machine.step(InputsFound((USB,)))
        case FindOutputs():
            machine.step(OutputsFound((SPEAKER,)))
        case ListenTo(device=device):
            machine.step(ListenedTo(device, (HEARD, UNHEARD)))
        case HearLoudness():
            machine.step(Played(GOOD))
        case MeasureCable():
            machine.step(
                CableHeard((CableRemark("cable delay", True, "31.0 ms"), CableRemark("distortion", True, "0.01 %")))
            )
        case HearQuiet():
            machine.step(Quiet(STILL, Loudness(-75.0, -70.0, False)))
        case HearString():
            machine.step(Sounded(Onset(0.0)))
            for number in range(400):
                machine.step(Sounded(Reading(number * 0.0027, 110.0, 0.99, -20.0, 0.0)))
        case _:
            machine.step(Passed(0.1))


def press_switch(machine: SetUp, pin: int, kind="short") -> None:
    machine.step(PinDown(pin))
    machine.step(Press(kind, pin))


def answer(machine: SetUp) -> None:
    """The press that the page asks for, by one switch on GPIO 17."""
    title = getattr(machine.screen(), "title", "TUNER")
    if machine.step_name == "switches" and title in ("PRESS", "FOUND 1"):
        press_switch(machine, 17, "long" if title == "FOUND 1" else "short")
    else:
        machine.step(SHORT)


def walk(machine: SetUp) -> list[str]:
    """The whole way with one switch, on GPIO 17; the titles that were seen, each once."""
    titles: list[str] = []

    def look() -> None:
        title = getattr(machine.screen(), "title", "TUNER")
        if titles[-1:] != [title]:
            titles.append(title)

    look()
    for _ in range(200):
        if machine.finished:
            break
        granted(machine)
        look()
        answer(machine)
        look()
    return titles
