"""What the pedal takes from a stick: settings by the door, homework and licks as small plain texts with plain names.

A stick is a stranger's: it may hold ten thousand files, names that mean another folder, and whatever a text editor
makes. So only our own folder is looked at, and of that only the first entries; a file comes in whole or not at all.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from itertools import islice
from pathlib import Path

from pedal.errors import SettingsError, StoreError, UndertoeError
from pedal.licks.text import LickTextError, read_lick
from pedal.live.lick_folder import MOST_BYTES, SUFFIX
from pedal.safe_files import private_folder, writing
from pedal.settings.card import NAMES, card_of, load_layered, take_from_stick
from pedal.settings.document import text_of
from pedal.settings.homework_file import FILE_NAME, homework_of
from pedal.settings.load import settings_folder
from pedal.settings.parts import Settings
from pedal.values import frozen

MOST_LOOKED_AT = 500
"""Entries of a folder that are looked at at all."""
MOST_TAKEN = 50
"""Files of one kind that a stick may bring."""
_NAME = re.compile(r"[^\W_][\w ()'.-]{0,59}")


@frozen
class Cargo:
    """One kind of file that a stick brings. `folder`: below ours there, and in the state folder here.

    ending : of its names, in small letters, as it is kept here; a stick may have it in capitals.
    check : raises an `UndertoeError` with a sentence for a text that is none of these; (text, name).
    """

    thing: str
    things: str
    folder: str
    ending: str
    check: Callable[[str, str], object]


def _is_lick(text: str, name: str) -> object:
    if len(text.encode()) > MOST_BYTES:
        raise StoreError(f"{name} is larger than {MOST_BYTES // 1000} kB: no lick is")
    try:
        return read_lick(text)
    except LickTextError as fault:
        raise StoreError(f"{name}, {fault.faults[0]}") from fault


CARGOES = (Cargo("lick", "licks", "licks", SUFFIX, _is_lick),)


@frozen
class Taken:
    """What is new here, and one sentence for each thing that was refused."""

    settings: bool
    things: tuple[str, ...]
    faults: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """For the panel, "" if there was nothing."""
        parts = [*(["settings"] if self.settings else []), *self.things]
        return f"Taken: {', '.join(parts)}." if parts else ""


def take(folder: Path, settings: Settings, *, base: Path | None) -> Taken:
    """Take what `folder` (ours, on a stick) holds into the state folder; homework must fit the settings after that."""
    faults: list[str] = []
    others = _take_settings(folder, base, faults)
    if others:
        settings = load_layered(base, card=card_of(base)).settings
    things = ["homework"] if _take_homework(folder / FILE_NAME, settings, base, faults) else []
    things += [_take_cargo(folder, settings.state.folder, cargo, faults) for cargo in CARGOES]
    return Taken(others, tuple(thing for thing in things if thing), tuple(faults))


def _take_homework(file: Path, settings: Settings, base: Path | None, faults: list[str]) -> bool:
    """Whether there is one that fits and is new; it takes the place of the one before, wherever that came from."""
    if not _is_plain(file):
        return False
    try:
        text = text_of(file)
        homework_of(text, settings, name=str(file))
        kept = settings.state.folder / FILE_NAME
        new = _keep(text, kept)
        return _is_now_the_last(kept, settings_folder(base) / FILE_NAME) or new
    except SettingsError as fault:
        faults += [sentence.replace(f"{file}:", f"{FILE_NAME}:", 1) for sentence in fault.faults[:3]]
    except (UndertoeError, OSError) as fault:
        faults.append(str(fault))
    return False


def _is_now_the_last(kept: Path, beside: Path) -> bool:
    """Whether `beside` was the later one, which it is no longer, whatever this machine's clock says; raises OSError."""
    if not beside.exists():
        return False
    later_ns = beside.stat().st_mtime_ns
    if kept.stat().st_mtime_ns >= later_ns:
        return False
    os.utime(kept, ns=(later_ns, later_ns))
    return True


def _keep(text: str, kept: Path) -> bool:
    """Whether it is another than before, and kept now; raises `StoreError`, OSError."""
    if kept.exists() and text_of(kept) == text:
        return False
    private_folder(kept.parent)
    with writing(kept) as copy:
        copy.write(text)
    return True


def _take_cargo(folder: Path, state: Path, cargo: Cargo, faults: list[str]) -> str:
    """How many of one kind are new, in words; "" for none."""
    new = sum(_take_file(file, state / cargo.folder, cargo, faults) for file in _files(folder, cargo, faults))
    return f"{new} {cargo.thing if new == 1 else cargo.things}" if new else ""


def _take_settings(folder: Path, base: Path | None, faults: list[str]) -> bool:
    card = card_of(base)
    file = next((folder / name for name in NAMES if _is_plain(folder / name)), None)
    if file is None or card is None:
        return False
    try:
        return take_from_stick(file, base=base, card=card)
    except SettingsError as fault:
        faults += fault.faults[:3]
    except StoreError as fault:
        faults.append(str(fault))
    return False


def _files(folder: Path, cargo: Cargo, faults: list[str]) -> list[Path]:
    """Files of one kind: below its own folder, by its ending, in order of their names."""
    place = folder / cargo.folder
    if place.is_symlink():
        return []
    try:
        with os.scandir(place) as entries:
            found = sorted(entry.name for entry in islice(entries, MOST_LOOKED_AT))
    except OSError:
        return []
    fitting = [
        name for name in found if name.lower().endswith(cargo.ending) and not name.startswith((".", "_"))
    ]  # what systems leave beside a file begins with a dot
    if len(fitting) > MOST_TAKEN:
        faults.append(f"{cargo.folder}: more than {MOST_TAKEN} files: the first {MOST_TAKEN} are taken")
    return [place / name for name in fitting[:MOST_TAKEN] if _is_plain(place / name)]


def _take_file(file: Path, into: Path, cargo: Cargo, faults: list[str]) -> bool:
    """Whether it is new here."""
    if not _NAME.fullmatch(file.name):
        faults.append(f"{cargo.folder}: {file.name[:40]!r} is no plain name: use letters, figures and spaces")
        return False
    try:
        text = text_of(file)
        cargo.check(text, file.name)
        return _keep(text, into / (file.stem + cargo.ending))
    except (UndertoeError, OSError) as fault:
        faults.append(fault.faults[0] if isinstance(fault, SettingsError) else str(fault))
    return False


def _is_plain(file: Path) -> bool:
    return file.is_file() and not file.is_symlink()
