"""Bitmaps -> numbered PNG files: a panel for documents and tests."""

from __future__ import annotations

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
