"""Bitmaps -> numbered PNG files, or one moving picture: panels for documents and tests."""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable
from pathlib import Path

from PIL import Image

from pedal.errors import DeviceError, StoreError
from pedal.safe_files import writing_bytes

DOT = 4
"""Picture dots a side for each dot of the panel: 512 x 256, large enough for a page."""


class PngScreen:
    """Saves each new picture as `screen-0001.png` and on; the same picture again is not saved again.

    Raises `DeviceError` for a folder that cannot be made.
    """

    delay_s = 0.0

    def __init__(self, folder: Path, *, dot: int = DOT) -> None:
        self._folder, self._dot = folder, dot
        self._shown: bytes | None = None
        self._bitmap: Image.Image | None = None
        self._blank = False
        self.count = 0
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as fault:
            raise _unwritable(folder, fault) from fault

    def show(self, bitmap: Image.Image) -> None:
        """Save the picture if it differs from the one before; raises `DeviceError` where it cannot be written."""
        self._bitmap = bitmap.copy()
        seen = Image.new("1", bitmap.size) if self._blank else bitmap
        dots = seen.tobytes()
        if dots == self._shown:
            return
        self._shown = dots
        self.count += 1
        path = self._folder / f"screen-{self.count:04d}.png"
        try:
            with writing_bytes(path, lasting=False) as file:
                enlarged(seen, self._dot).save(file, "PNG")
        except StoreError as fault:
            why = str(fault).rstrip(".")
            raise DeviceError(f"cannot save pictures here: {why}; give a folder that you may write to") from fault

    def dim(self, share: float) -> None:
        """A file has no brightness; blank is black."""
        self._blank = share <= 0.0
        if self._bitmap is not None:
            self.show(self._bitmap)

    def close(self) -> None:
        """Nothing is held open."""


def enlarged(bitmap: Image.Image, dot: int) -> Image.Image:
    """The picture with `dot` by `dot` squares for dots."""
    return bitmap.resize((bitmap.width * dot, bitmap.height * dot), Image.Resampling.NEAREST)


def _unwritable(path: Path, fault: OSError) -> DeviceError:
    return DeviceError(f"{path}: cannot save pictures here ({fault.strerror}); give a folder that you may write to")


LEAST_MS = 20
"""Viewers slow down what asks for less."""
LAST_MS = 1500
"""The last picture stays this long before the film begins again."""


class GifScreen:
    """Keeps each new picture with the time it came at; `close` writes the film.

    Raises `DeviceError` for a folder that is not there.
    """

    delay_s = 0.0

    def __init__(self, path: Path, *, dot: int = 3, clock: Callable[[], float] = time.monotonic) -> None:
        self._path, self._dot, self._clock = path, dot, clock
        self._frames: list[tuple[float, Image.Image]] = []
        self._blank = False
        self._bitmap: Image.Image | None = None
        if not path.parent.is_dir():
            raise DeviceError(f"{path}: there is no folder {path.parent}; make it, or give another file")

    def show(self, bitmap: Image.Image) -> None:
        """Keep the picture if it differs from the one before."""
        self._bitmap = bitmap.copy()
        seen = Image.new("1", bitmap.size) if self._blank else bitmap.copy()
        if not self._frames or self._frames[-1][1].tobytes() != seen.tobytes():
            self._frames.append((self._clock(), seen))

    def dim(self, share: float) -> None:
        """Blank is black; a film has no other brightness."""
        self._blank = share <= 0.0
        if self._bitmap is not None:
            self.show(self._bitmap)

    def close(self) -> None:
        """Write the film, once; nothing if no picture came. Raises `DeviceError` where it cannot be written."""
        frames, self._frames = self._frames, []
        if not frames:
            return
        times = [at_s for at_s, _ in frames]
        lengths = [max(LEAST_MS, round(1000 * (b - a))) for a, b in itertools.pairwise(times)]
        first, *rest = [enlarged(picture, self._dot) for _, picture in frames]
        try:
            with writing_bytes(self._path) as file:
                first.save(file, "GIF", save_all=True, append_images=rest, duration=[*lengths, LAST_MS], loop=0)
        except StoreError as fault:
            why = str(fault).rstrip(".")
            raise DeviceError(f"cannot write the film: {why}; give another file") from fault
