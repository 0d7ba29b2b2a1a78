"""Which adapter stands behind which port.

The only file that imports `hw`, and inside functions: no verb loads a library that it does not need.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pedal.app.ports import Store, Take
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
