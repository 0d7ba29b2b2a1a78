"""Which pin library gpiozero has settled on, and for which board."""

from __future__ import annotations

import warnings

from gpiozero import Device

from hw.pin_faults import told
from pedal.app.ports import PinLibrary


def pin_library() -> PinLibrary:
    """The library in use; raises DeviceError where none works, with what to do."""
    with (
        told("no pin library works here", "on the pedal install one, elsewhere set switches.pins to []"),
        warnings.catch_warnings(),  # a warning for each library that gpiozero tries and drops
    ):
        warnings.simplefilter("ignore")
        factory = Device.pin_factory or Device._default_pin_factory()  # no public way to ask
    Device.pin_factory = factory
    return PinLibrary(name=type(factory).__module__.rpartition(".")[2], board=_board(factory))


def _board(factory: object) -> str:
    info = getattr(factory, "board_info", None)
    return f"model {info.model}, revision {info.revision}" if info is not None else "an unknown board"
