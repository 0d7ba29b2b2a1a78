"""A folder of numbered takes: the oldest go when it grows beyond its bound."""

from __future__ import annotations

import os
import re
import shutil
import wave
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pedal.safe_files import private_file, private_folder

SPARED_BYTES = 64_000_000
"""Left free on the disk whatever the bound says: the log comes first."""

_WORDS = r"take-(\d{6,})-[A-G#b\d]*-?[a-z]+"
_NAME, _HALF = re.compile(rf"{_WORDS}\.wav"), re.compile(rf"{_WORDS}\.part")
_FULL_SCALE = 8388607


class NoRoomError(OSError):
    """The disk is all but full."""


class TakesFolder:
    """`.add(samples, words)` writes one WAV of 24 bits, and removes the oldest of ours beyond `most_bytes`."""

    def __init__(self, path: Path, *, sample_rate: int, most_bytes: int) -> None:
        self._path, self._rate, self._most_bytes = path, sample_rate, most_bytes
        self._sizes: dict[Path, int] | None = None

    def add(self, samples: NDArray[np.float32], words: str) -> Path:
        """Write a take under the next number; raises OSError."""
        private_folder(self._path)
        if self._sizes is None:
            _remove_halves(self._path)
            self._sizes = {path: path.stat().st_size for path in takes_in(self._path)}
        if shutil.disk_usage(self._path).free < SPARED_BYTES + 3 * len(samples):
            raise NoRoomError(f"less than {SPARED_BYTES // 1_000_000} MB are free")
        latest = max((_number(path) for path in self._sizes), default=0)
        path = self._path / f"take-{latest + 1:06}-{words}.wav"
        aside = path.with_suffix(".part")
        aside.unlink(missing_ok=True)  # a link that somebody put there
        try:
            _write_wav(aside, samples, self._rate)
            aside.replace(path)  # so that a power cut leaves no half take that looks whole
        finally:
            aside.unlink(missing_ok=True)
        self._sizes[path] = path.stat().st_size
        self._thin(self._sizes)
        return path

    def _thin(self, sizes: dict[Path, int]) -> None:
        """Oldest first; the newest stays even if it alone is beyond the bound."""
        total = sum(sizes.values())
        for path in sorted(sizes, key=_number)[:-1]:
            if total <= self._most_bytes:
                return
            path.unlink(missing_ok=True)
            total -= sizes.pop(path)


def takes_in(folder: Path) -> list[Path]:
    """The takes of a folder, the oldest first; raises OSError."""
    return sorted((path for path in folder.iterdir() if _NAME.fullmatch(path.name)), key=_number)


def _remove_halves(folder: Path) -> None:
    """What a power cut left of takes."""
    for path in folder.iterdir():
        if _HALF.fullmatch(path.name):
            path.unlink(missing_ok=True)


def _number(path: Path) -> int:
    match = _NAME.fullmatch(path.name)
    return int(match[1]) if match else 0


def _write_wav(path: Path, samples: NDArray[np.float32], rate: int) -> None:
    """Mono, 24 bits: judged again, a take gives the verdict it gave."""
    whole = np.round(np.clip(samples, -1.0, 1.0).astype(np.float64) * _FULL_SCALE).astype("<i4")
    with os.fdopen(private_file(path), "wb") as file:
        with wave.open(file, "wb") as wav:
            wav.setnchannels(1)
            wav.setsampwidth(3)
            wav.setframerate(rate)
            wav.writeframes(whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
        file.flush()
        os.fsync(file.fileno())  # the name that it gets next may be on the disk long before the sound
