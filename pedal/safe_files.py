"""A file that is asked for: written aside, forced to the disk, renamed, so that a good one is never half overwritten.

It is its owner's alone (0600; one that is replaced keeps its mode), whatever the umask, and nothing is followed on the
way: the name that stands there may be a link that somebody else put there. What root writes belongs to whom its folder
belongs: the service must read what `sudo` put there.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any, BinaryIO, TextIO, cast

from pedal.errors import StoreError, UsageError

_PRIVATE = 0o600
_HALF = ".part"
_BESIDE_A_LOG = ("", "-wal", "-shm", "-journal")


@contextmanager
def writing(path: Path, *, instead_of: Iterable[Path] = ()) -> Iterator[TextIO]:
    """A text file (UTF-8, line ends as they are given) to write to; there only once all was written.

    instead_of : what is read meanwhile; to write over one of these is refused.

    Raises `UsageError` for that, else `StoreError`.
    """
    with _written(path, instead_of, {"mode": "w", "encoding": "utf-8", "newline": ""}) as file:
        yield cast("TextIO", file)


@contextmanager
def writing_bytes(path: Path, *, instead_of: Iterable[Path] = (), lasting: bool = True) -> Iterator[BinaryIO]:
    """The same for bytes; not `lasting`: renamed, but not forced to the disk, where hundreds come one after another."""
    with _written(path, instead_of, {"mode": "wb"}, lasting=lasting) as file:
        yield cast("BinaryIO", file)


def remove_halves(folder: Path) -> None:
    """What `writing` and `writing_bytes` had begun below a folder of our own when the power, or the stick, went."""
    for left in folder.rglob(f".*{_HALF}"):
        with suppress(OSError):
            left.unlink()


def private_file(path: Path) -> int:
    """A descriptor to write a new file with, readable by its owner alone; raises OSError if anything stands there."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, _PRIVATE)
    give_to_its_folder(handle, path.parent)
    return handle


def private_folder(path: Path) -> None:
    """Make a folder, and those above it, for its owner alone, unless it is there; raises OSError."""
    if path.is_dir():
        return
    path.mkdir(mode=0o700, parents=True, exist_ok=True)
    as_its_folder(path)


def as_its_folder(path: Path) -> None:
    """Give what root made to whom the folder belongs that it lies in; for others, and through links, nothing."""
    if os.geteuid() != 0:
        return
    with suppress(OSError):
        handle = os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
        try:
            give_to_its_folder(handle, path.parent)
        finally:
            os.close(handle)


def give_to_its_folder(handle: int, folder: Path) -> None:
    """The same for what is open already."""
    if os.geteuid() == 0:
        with suppress(OSError):  # a file system that knows no owners
            owner = folder.stat()
            os.fchown(handle, owner.st_uid, owner.st_gid)


@contextmanager
def _written(path: Path, instead_of: Iterable[Path], how: dict[str, Any], *, lasting: bool = True) -> Iterator[IO[Any]]:
    refuse_an_input(path, instead_of)
    try:
        mode = _mode_of(path)
        if mode is not None and not stat.S_ISREG(mode):
            with path.open(**how) as file:  # a pipe or a device: there is nothing to keep
                yield file
            return
        aside = path.with_name(f".{path.name}.{os.urandom(4).hex()}{_HALF}")
        handle = private_file(aside)
        try:
            with os.fdopen(handle, **how) as file:
                if mode is not None:
                    os.fchmod(handle, stat.S_IMODE(mode))
                yield file
                file.flush()
                if lasting:
                    os.fsync(handle)
            aside.replace(path)
        finally:
            aside.unlink(missing_ok=True)
        if lasting:
            keep_the_name(path.parent)
    except OSError as error:
        raise cannot_be_written(path, error) from error


def cannot_be_written(path: Path, error: OSError) -> StoreError:
    """The sentence for a file or folder that the system does not let us write."""
    return StoreError(f"{path} cannot be written: {error.strerror or error}.")


def refuse_an_input(path: Path, instead_of: Iterable[Path]) -> None:
    """Raise `UsageError` if a name to write to is one of these, or belongs to one that is a log."""
    for source in instead_of:
        for ending in _BESIDE_A_LOG:
            with suppress(OSError):
                if path.samefile(source.with_name(source.name + ending)):
                    raise UsageError(f"{path} is what is read: name another file to write to")


def _mode_of(path: Path) -> int | None:
    """The mode of what stands there, None for nothing; raises OSError for what must not be written over."""
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        return None
    if stat.S_ISLNK(mode):
        mode = path.stat().st_mode if path.exists() else 0
        if stat.S_ISREG(mode) or not mode:
            raise OSError(errno.ELOOP, "it is a link to another file; name that one")
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    if stat.S_ISREG(mode) and not os.access(path, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    return mode


def picture_format(option: str, file: Path, known: Sequence[str]) -> str:
    """The format that the ending of a picture's name tells, in small letters and without its point: "png".

    Parameters
    ----------
    option : str
        What the name was given to: "--plot".
    file : Path
        PNG in capitals is png.
    known : sequence of str
        The endings that can be drawn, such as ".png".

    Raises
    ------
    UsageError
        For a name that ends in none of them.
    """
    ending = file.suffix.lower()
    if ending not in known:
        choices = " or ".join(known) if len(known) <= 2 else f"one of {', '.join(known)}"
        raise UsageError(f"{option} {file}: the name must end in {choices}")
    return ending.removeprefix(".")


def keep_the_name(folder: Path) -> None:
    """The rename itself outlives a power cut."""
    with suppress(OSError):  # a folder that may not be read, or a file system that flushes no folders
        handle = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
