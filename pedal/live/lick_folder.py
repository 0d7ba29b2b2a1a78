"""The folder of kept licks: a text file each, `01 old gate.lick`; the one played last is `new.lick`."""

from __future__ import annotations

import re
from pathlib import Path

from pedal.errors import UndertoeError
from pedal.licks.lick import Lick
from pedal.licks.text import LickTextError, read_lick, write_lick
from pedal.modes.lick_shelf import NEW, KeptLick, put
from pedal.practice.item import MOST_LICKS
from pedal.safe_files import private_folder, writing

FOLDER = "licks"
SUFFIX = ".lick"
MOST_BYTES = 20_000
MOST_FILES = 200
_NUMBERED = re.compile(r"^([0-9]{1,2})(?:[ _-]+(.*))?$")
_NEW_NAME = "new"


class LickFileError(UndertoeError):
    """A file that is no lick, or a lick that cannot be kept."""


class LickFolder:
    """`.load()` gives the shelf; `.keep(kept)` writes one. `faults` are sentences on files that could not be read."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.faults: list[str] = []
        self._paths: dict[int, Path] = {}

    def load(self) -> tuple[KeptLick, ...]:
        """All that can be read, by number; files without one get the free numbers, in order of their names."""
        self.faults, self._paths = [], {}
        shelf: tuple[KeptLick, ...] = ()
        unnumbered = []
        for path in self._files():
            try:
                lick = lick_of_file(path)
            except LickFileError as fault:
                self.faults.append(str(fault))
                continue
            number = _number_of(path)
            if number is None or any(one.number == number for one in shelf):
                unnumbered.append((path, lick))
            else:
                shelf = self._place(shelf, number, lick, path)
        for path, lick in unnumbered:
            free = next((n for n in range(1, MOST_LICKS + 1) if all(one.number != n for one in shelf)), None)
            if free is None:
                self.faults.append(f"{path} is one lick more than the {MOST_LICKS} that the pedal keeps: take one away")
            else:
                shelf = self._place(shelf, free, lick, path)
        return shelf

    def _place(self, shelf: tuple[KeptLick, ...], number: int, lick: Lick, path: Path) -> tuple[KeptLick, ...]:
        self._paths[number] = path
        return put(shelf, KeptLick(number, lick))

    def keep(self, kept: KeptLick) -> Path:
        """Write a lick under its number; what stood there goes once the new one is safe. Raises `UndertoeError`."""
        try:
            private_folder(self.folder)
        except OSError as error:
            raise LickFileError(f"{self.folder} cannot be made: {error.strerror or error}.") from error
        self.load()  # what lies there now: a stick may have brought more
        path, before = self.folder / file_name(kept), self._paths.get(kept.number)
        with writing(path) as file:
            file.write(write_lick(kept.lick))
        if before is not None and before != path:
            before.unlink(missing_ok=True)
        self._paths[kept.number] = path
        return path

    def forget(self, number: int) -> Path:
        """Take a lick away; raises `LickFileError` if there is none of this number."""
        self.load()
        path = self._paths.pop(number, None)
        if path is None:
            raise LickFileError(f"no lick {number} is kept in {self.folder}")
        path.unlink(missing_ok=True)
        return path

    def _files(self) -> list[Path]:
        try:
            found = sorted(path for path in self.folder.iterdir() if path.suffix == SUFFIX and path.name[0] != ".")
        except FileNotFoundError:
            return []
        except OSError as error:
            self.faults.append(f"{self.folder} cannot be read: {error.strerror or error}.")
            return []
        if len(found) > MOST_FILES:
            self.faults.append(f"{self.folder} holds more than {MOST_FILES} files: only the first are read")
        return found[:MOST_FILES]


def lick_of_file(path: Path) -> Lick:
    """The lick of a text file; raises `LickFileError` with every line that is wrong."""
    try:
        if not path.is_file():
            raise LickFileError(f"{path} is no file")
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
        if len(raw) > MOST_BYTES:
            raise LickFileError(f"{path} is larger than {MOST_BYTES // 1000} kB: no lick is")
        return read_lick(raw.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise LickFileError(f"{path} is no text: save it as UTF-8") from error
    except OSError as error:
        raise LickFileError(f"{path} cannot be read: {error.strerror or error}.") from error
    except LickTextError as fault:
        raise LickFileError("\n".join(f"{path}, {sentence}" for sentence in fault.faults)) from fault


def file_name(kept: KeptLick) -> str:
    """`new.lick`, or number and name: only letters, figures, spaces and hyphens of it."""
    if kept.number == NEW:
        return _NEW_NAME + SUFFIX
    name = " ".join(re.sub(r"[^\w \-]", " ", kept.lick.name).split())[:40].strip()
    return f"{kept.number:02d}{' ' + name if name else ''}{SUFFIX}"


def _number_of(path: Path) -> int | None:
    if path.stem == _NEW_NAME:
        return NEW
    numbered = _NUMBERED.match(path.stem)
    number = int(numbered[1]) if numbered else 0
    return number if 1 <= number <= MOST_LICKS else None
