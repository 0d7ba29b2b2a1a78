"""Pictures as text art on disk, so that a change of a layout is a diff that can be read.

`UNDERTOE_REDRAW_GOLDEN=1 pytest tests/screen` redraws them and fails: look at the pictures, then commit.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from PIL import Image

FOLDER = Path(__file__).parent / "golden"
REDRAW = "UNDERTOE_REDRAW_GOLDEN"


def art_of(bitmap: Image.Image) -> str:
    """A line a row, behind a bar: `#` for a lit dot."""
    bits, width = bitmap.convert("L").tobytes(), bitmap.width
    rows = (bits[start : start + width] for start in range(0, len(bits), width))
    return "\n".join("|" + "".join("#" if bit else " " for bit in row).rstrip() for row in rows)


def assert_as_kept(name: str, bitmaps: dict[str, Image.Image]) -> None:
    """The pictures against the file of that name: one file a density, a headline a picture."""
    drawn = "\n\n".join(f"== {title}\n{art_of(bitmap)}" for title, bitmap in bitmaps.items()) + "\n"
    path = FOLDER / f"{name}.txt"
    if os.environ.get(REDRAW):
        path.write_text(drawn)
        pytest.fail(f"{path.name} was redrawn: look at the pictures, then run without {REDRAW}")
    assert drawn.splitlines() == path.read_text().splitlines()
