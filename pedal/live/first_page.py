"""What the panel shows before the ear is loaded: a page drawn beforehand, put there as the panel was wired last time.

Numbers, pictures and settings take seconds to load on a small board; this takes none of them, nothing but the standard
library.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pedal.values import frozen

if TYPE_CHECKING:
    from pedal.settings.parts import Display

FILE = "panel.json"
_KINDS, _HEIGHTS, _ROTATIONS = ("ssd1306", "ssd1309", "sh1106"), (32, 64), (0, 180)


@frozen
class PanelWiring:
    """A panel on I2C; the defaults are those of the settings. Raises ValueError for what no panel is."""

    kind: str = "ssd1306"
    port: int = 1
    address: int = 0x3C
    height: int = 64
    rotation: int = 0
    inverse: bool = False

    def __post_init__(self) -> None:
        fits = self.kind in _KINDS and self.height in _HEIGHTS and self.rotation in _ROTATIONS
        if not fits or not 0 <= self.port <= 20 or not 0x08 <= self.address <= 0x77:
            raise ValueError("no panel")


def show_at_once(show: Callable[[PanelWiring], None], *, environment: Mapping[str, str] = os.environ) -> bool:
    """Show the first page on a service's panel; whether it was shown. A fault is the later panel's to tell."""
    folder = environment.get("STATE_DIRECTORY", "").partition(":")[0]
    if not folder:
        return False
    wiring = _remembered(Path(folder) / FILE)
    if wiring is None:
        return False
    try:
        show(wiring)
    except OSError:
        return False
    return True


def remember_panel(state: Path, display: Display) -> None:
    """Keep how the panel is wired for the next start, if it is another than before."""
    wiring = PanelWiring(
        display.kind, display.i2c_port, display.i2c_address, display.height, display.rotation, display.inverse
    ) if display.kind != "none" and not display.needs_pins else None  # fmt: skip
    words = json.dumps(None if wiring is None else asdict(wiring))
    file = state / FILE
    with suppress(OSError):
        if file.exists() and file.read_bytes() == words.encode():
            return
        aside = file.with_name(f"{FILE}.new")
        aside.unlink(missing_ok=True)
        aside.write_text(words)
        aside.replace(file)


def _remembered(file: Path) -> PanelWiring | None:
    """The wiring of last time; the usual one at the very first start; None for a panel that takes longer."""
    try:
        kept: Any = json.loads(file.read_bytes()[:1024])
        return None if kept is None else PanelWiring(**kept)
    except FileNotFoundError:
        return PanelWiring()
    except (OSError, ValueError, TypeError, RecursionError):
        return None
