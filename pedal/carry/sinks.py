"""Where what the pedal gives goes: into a folder, or as a tar archive to whoever may write where the pedal may not."""

from __future__ import annotations

import shutil
import tarfile
from pathlib import Path
from typing import BinaryIO, Protocol

from pedal.errors import StoreError
from pedal.safe_files import cannot_be_written, keep_the_name, remove_halves, writing_bytes

SPARED_BYTES = 8_000_000
"""Left free on a stick or card, whatever else would fit: a full FAT is easily a broken one."""


class Sink(Protocol):
    """Takes files by a name such as "takes/take-000001-B-true.wav"."""

    def holds(self, name: str, size: int) -> bool:
        """Whether a file of this name and size is there already."""

    def has_room_for(self, size: int) -> bool:
        """Whether that many bytes fit, with some to spare."""

    def place_to_make(self, state: Path) -> Path:
        """The folder in which what is not there yet is to be made before it is added; `state` is the pedal's own."""

    def has_room_for_made(self, file: Path) -> bool:
        """The same as `has_room_for`, of a file that was made there."""

    def add(self, name: str, file: Path) -> None:
        """Put a file there, whole or not at all; raises `StoreError`."""


class FolderSink:
    """A folder of our own; a file is written aside and renamed, so that no half file has a whole one's name.

    What a stick that was pulled out half way holds aside is removed first.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        remove_halves(folder)

    def holds(self, name: str, size: int) -> bool:
        """By name and size."""
        return _is_there(self._folder / name, size)

    def has_room_for(self, size: int) -> bool:
        """By what the file system says now."""
        return _free_bytes(self._folder.parent) >= size + SPARED_BYTES

    def place_to_make(self, state: Path) -> Path:  # noqa: ARG002 - another sink has no place but that
        """On the stick itself."""
        return self._folder

    def has_room_for_made(self, file: Path) -> bool:  # noqa: ARG002 - it takes its room already
        """Whether there is still some to spare beside it."""
        return self.has_room_for(0)

    def add(self, name: str, file: Path) -> None:
        """Copy the file aside, then rename it; raises `StoreError` where the stick is full or was pulled out.

        What was made here is renamed and no more.
        """
        path = self._folder / name
        try:
            if self._folder in file.parents:
                file.replace(path)
                keep_the_name(path.parent)
                return
            path.parent.mkdir(parents=True, exist_ok=True)
            with file.open("rb") as source, writing_bytes(path) as copy:
                shutil.copyfileobj(source, copy, 1 << 20)
        except OSError as error:
            raise cannot_be_written(path, error) from error


class TarSink:
    """An archive for a folder that only another may write; what is there already is not sent again."""

    def __init__(self, folder: Path, stream: BinaryIO) -> None:
        self._folder = folder
        self._left = _free_bytes(folder) - SPARED_BYTES
        self._archive = tarfile.open(fileobj=stream, mode="w|", format=tarfile.USTAR_FORMAT)  # noqa: SIM115

    def holds(self, name: str, size: int) -> bool:
        """By name and size."""
        return _is_there(self._folder / name, size)

    def has_room_for(self, size: int) -> bool:
        """By what was free, less what was sent."""
        return self._left >= size

    def place_to_make(self, state: Path) -> Path:
        """The state folder: an archive must be told the size before the file, and the other folder is not ours."""
        return state

    def has_room_for_made(self, file: Path) -> bool:
        """Once it is sent; by its size."""
        return self.has_room_for(file.stat().st_size)

    def add(self, name: str, file: Path) -> None:
        """Into the archive, with a name and a size and nothing else of the file; raises `StoreError`."""
        try:
            with file.open("rb") as source:
                member = tarfile.TarInfo(name)
                member.size = file.stat().st_size
                member.mode = 0o644
                self._archive.addfile(member, source)
        except OSError as error:
            raise StoreError(f"{file} cannot be sent: {error.strerror or error}.") from error
        self._left -= member.size

    def close(self) -> None:
        """The archive's end."""
        self._archive.close()


def _is_there(path: Path, size: int) -> bool:
    try:
        return path.stat().st_size == size
    except OSError:
        return False


def _free_bytes(folder: Path) -> int:
    try:
        return shutil.disk_usage(folder).free
    except OSError as error:
        raise StoreError(f"{folder} cannot be looked at: {error.strerror or error}.") from error
