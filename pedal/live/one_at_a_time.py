"""Two pedals must not write one state folder: the first one holds it until its end, however that comes."""

from __future__ import annotations

import contextlib
import fcntl
import os
from pathlib import Path

from pedal.errors import UndertoeError
from pedal.safe_files import give_to_its_folder, private_folder

FILE_NAME = "running"


class AlreadyRunningError(UndertoeError):
    """Another pedal holds the state folder."""


def hold(folder: Path) -> int | None:
    """Take a state folder for this process; an open file that the kernel lets go of with the process, kill -9 or not.

    None where the folder cannot be written: then nothing can be harmed in it either. Raises AlreadyRunningError.
    """
    try:
        private_folder(folder)
        file = os.open(folder / FILE_NAME, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, 0o600)
    except OSError:
        return None
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as held:
        other = os.read(file, 20).decode(errors="replace").strip() or "unknown"
        os.close(file)
        raise AlreadyRunningError(
            f"the pedal is already running with {folder} (process {other}): stop that one first, or set state.folder "
            "to another place"
        ) from held
    except OSError:  # a file system without locks
        os.close(file)
        return None
    give_to_its_folder(file, folder)
    with contextlib.suppress(OSError):  # a full disk: held is held, and only the name of the holder is not told
        os.ftruncate(file, os.write(file, f"{os.getpid()}\n".encode()))
    return file


def held_by(folder: Path) -> int | None:
    """The process that holds a state folder; None if nobody does, or it cannot be told. Takes nothing."""
    try:
        file = os.open(folder / FILE_NAME, os.O_RDONLY | os.O_CLOEXEC)
    except OSError:
        return None
    try:
        fcntl.flock(file, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        told = os.read(file, 20).decode(errors="replace").strip()
        return int(told) if told.isdecimal() else None
    except OSError:  # a file system without locks
        return None
    finally:
        os.close(file)
    return None


def let_go(held: int | None) -> None:
    """Free the folder for the next one. The file stays: removing it would let two hold two files of one name."""
    if held is not None:
        os.close(held)
