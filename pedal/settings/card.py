"""The settings that any computer or telephone can edit: `undertoe.yaml` on the card's FAT partition, or from a stick.

They lie over the installed ones, and the one that came last counts: a stick's, which the pedal keeps a copy of, until
the card's file is another. A file that is broken changes nothing: the last good one holds, and the panel says why.
"""

from __future__ import annotations

import os
from collections.abc import Mapping as Lookup
from contextlib import suppress
from pathlib import Path
from typing import Any

from pedal.errors import SettingsError
from pedal.safe_files import writing
from pedal.settings.document import text_of
from pedal.settings.door import of_a_stick, of_the_card
from pedal.settings.load import SERVICE_FILE, Refusals, load_over, settings_of, values_in_spite, values_of
from pedal.settings.parts import Settings
from pedal.values import frozen

CARD = Path("/boot/firmware")
"""Where Raspberry Pi OS on Debian 12 and 13 mounts the card's FAT partition."""
NAMES = ("undertoe.yaml", "undertoe.yml", "undertoe.yaml.txt", "undertoe.yml.txt", "undertoe.txt")
"""What computers that hide or add endings make of the name; the first that is there counts."""
GOOD, STICK = "settings-good.yaml", "settings-from-stick.yaml"
"""In the state folder: the last text that was good, and the one that a stick brought."""
_MARK = "# card: "


@frozen
class Layered:
    """Settings, and one sentence for each fault of a file that therefore does not count.

    text : what lies over the installed settings, "" for nothing; kept as the last good one by `keep_good`.
    """

    settings: Settings
    faults: tuple[str, ...] = ()
    text: str = ""


@frozen
class _Over:
    """A text that shall lie over the installed settings, and what of it does not count."""

    name: str
    text: str
    refused: Refusals


def load_layered(base: Path | None, *, card: Path | None, environment: Lookup[str, str] = os.environ) -> Layered:
    """The settings of a file, and over them what the card or a stick says; card None: nothing but the file.

    Raises `SettingsError` if the file itself is wrong: what is installed is never half used.
    """
    return _layered(values_of(base), card, environment)


def layered_in_spite(base: Path, *, card: Path | None, environment: Lookup[str, str] = os.environ) -> Layered:
    """The same where the file is wrong, with defaults for what is wrong in it: how the panel is wired that says so."""
    return _layered(values_in_spite(base), card, environment)


def keep_good(layered: Layered) -> None:
    """Keep what lies over the installed settings as the last good text, if it is another; raises `StoreError`."""
    if layered.faults:
        return
    file = layered.settings.state.folder / GOOD
    if not layered.text:
        with suppress(OSError):
            file.unlink(missing_ok=True)
        return
    with suppress(OSError, SettingsError):
        if text_of(file) == layered.text:
            return
    with writing(file) as aside:
        aside.write(layered.text)


def take_from_stick(file: Path, *, base: Path | None, card: Path, environment: Lookup[str, str] = os.environ) -> bool:
    """Take a stick's settings up; whether they are others than it brought before.

    file : on the stick; `base` the pedal's own settings, below them; `card` the file that they become.
    environment : where folders named by the system are looked up.

    Raises `SettingsError` for what does not count or is wrong, and then nothing is taken; `StoreError`.
    """
    text = text_of(file)
    settings = _laid(_Over(file.name, text, of_a_stick), values_of(base), environment)
    kept = settings.state.folder / STICK
    whole = f"{_MARK}{_stamp(card)}\n{text}"
    with suppress(SettingsError):
        if text_of(kept) == whole:
            return False
    with writing(kept) as aside:
        aside.write(whole)
    return True


def card_of(base: Path | None) -> Path | None:
    """The card whose settings lie over those of a file: the pedal's own over the installed ones, else none."""
    return CARD if base == SERVICE_FILE else None


def card_file(card: Path = CARD) -> Path | None:
    """The file of settings on the card, None if there is none."""
    return next((card / name for name in NAMES if os.path.lexists(card / name)), None)


def _layered(below: dict[str, Any], card: Path | None, environment: Lookup[str, str]) -> Layered:
    installed = settings_of(below, environment=environment)
    if card is None:
        return Layered(installed)
    state = installed.state.folder
    try:
        over = _newest(card, state)
        if over is None:
            return Layered(installed)
        return Layered(_laid(over, below, environment), (), over.text)
    except SettingsError as fault:
        faults = tuple(fault.faults)
    with suppress(SettingsError):
        good = _Over(GOOD, text_of(state / GOOD), of_the_card)
        return Layered(_laid(good, below, environment), faults, good.text)
    return Layered(installed, faults)


def _newest(card: Path, state: Path) -> _Over | None:
    """A stick's text as long as the card's file is what it was when the stick came; else the card's."""
    with suppress(SettingsError):
        mark, _, text = text_of(state / STICK).partition("\n")
        if mark == f"{_MARK}{_stamp(card)}":
            return _Over("the stick's undertoe.yaml", text, of_a_stick)
    if _is_missing(card) and (state / GOOD).exists():
        raise SettingsError([f"{card}: the card's FAT partition is not there: the last good settings hold"])
    file = card_file(card)
    return None if file is None else _Over(str(file), text_of(file), of_the_card)


def _laid(over: _Over, below: dict[str, Any], environment: Lookup[str, str]) -> Settings:
    return load_over(below, over.text, name=over.name, refused=over.refused, environment=environment)


def _is_missing(card: Path) -> bool:
    """A partition that was not mounted leaves an empty folder, or none: that is no file that somebody removed."""
    try:
        with os.scandir(card) as entries:
            return next(entries, None) is None
    except OSError:
        return True


def _digest(text: str) -> str:
    import hashlib  # it loads the system's cryptography, for which most starts have no use

    return hashlib.sha256(text.encode()).hexdigest()


def _stamp(card: Path) -> str:
    file = card_file(card)
    if file is None:
        return "none"
    try:
        return _digest(text_of(file))
    except SettingsError:
        return "broken"
