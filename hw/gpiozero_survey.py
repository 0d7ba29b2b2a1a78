"""Which pin library gpiozero has settled on, and for which board."""

from __future__ import annotations

from hw.pin_library import pin_factory
from pedal.ports import PinLibrary


def pin_library() -> PinLibrary:
    """The library in use; raises DeviceError where none works, with what to do."""
    factory = pin_factory()
    return PinLibrary(name=type(factory).__module__.rpartition(".")[2], board=_board(factory))


def _board(factory: object) -> str:
    info = getattr(factory, "board_info", None)
    return f"model {info.model}, revision {info.revision}" if info is not None else "an unknown board"
