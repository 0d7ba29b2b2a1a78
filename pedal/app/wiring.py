"""Which adapter stands behind which port.

The only file that imports `hw`, and inside functions: no verb loads a library that it does not need.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pedal.app.ports import PinLibrary, SoundDevice, Store, Take
    from pedal.app.settings.parts import Settings


def settings(file: Path | None) -> Settings:
    """The settings of a file, of the player's or installed one, or the defaults; raises SettingsError."""
    from pedal.app.settings.load import load, settings_file

    return load(settings_file(file))


def sound_file(path: Path, *, channel: int) -> Take:
    """A recorded take."""
    from hw.sound_file import SoundFile

    return SoundFile(path, channel=channel)


def store(path: Path) -> Store:
    """The log at a path; raises StoreError."""
    from pedal.app.store import open_store

    return open_store(path)


def sound_devices() -> list[SoundDevice]:
    """Every sound device, in and out."""
    from hw.portaudio_survey import sound_devices as listed

    return listed()


def portaudio_version() -> str:
    """The sound library's own words on its version."""
    from hw.portaudio_survey import portaudio_version as told

    return told()


def pin_library() -> PinLibrary:
    """What drives the pins; raises DeviceError where nothing does."""
    from hw.gpiozero_survey import pin_library as found

    return found()


def address_answers(port: int, address: int) -> bool:
    """Whether something answers at an address of an I2C bus."""
    from hw.smbus2_survey import answers

    return answers(port, address)
