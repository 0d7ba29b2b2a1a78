"""Two or more panels that show the same: pictures and a film of one performance."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pedal.ports import Screen

if TYPE_CHECKING:
    from PIL import Image


class SeveralScreens:
    """Shows each picture on every one of them."""

    def __init__(self, screens: list[Screen]) -> None:
        self._screens = screens
        self.delay_s = max(screen.delay_s for screen in screens)

    def show(self, bitmap: Image.Image) -> None:
        """Give the picture to each in turn; what one raises ends the turn."""
        for screen in self._screens:
            screen.show(bitmap)

    def dim(self, share: float) -> None:
        """Turn each down to a share of its brightness, 0 to 1."""
        for screen in self._screens:
            screen.dim(share)

    def close(self) -> None:
        """Let go of each device or file in turn."""
        for screen in self._screens:
            screen.close()
