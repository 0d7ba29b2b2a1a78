"""Draw the page that a panel shows while the pedal loads: this writes hw/first_page_bits.py.

A test holds the file to what the pedal's own pen draws.
"""

from __future__ import annotations

import base64
from pathlib import Path
from textwrap import wrap

from hw.luma_screen import pack
from pedal.modes.screen_model import MessageScreen
from pedal.screen.drawing import draw

PAGE = MessageScreen("STARTING", ("The ear is loading. Then this says what it waits for.",))
FILE = Path(__file__).resolve().parents[1] / "hw/first_page_bits.py"


def bits(height: int) -> bytes:
    """The page as a panel's memory: rows of eight dots, a byte a column, the lowest bit on top."""
    return pack(draw(PAGE, density="glance", height=height)).tobytes()


def source() -> str:
    """The file."""
    lines = [
        '"""The first page as bits, 128 columns wide. Written by docs/make_first_page.py: do not edit."""',
        "",
        "from __future__ import annotations",
        "",
        "from base64 import b64decode",
        "",
        "PAGES = {",
    ]
    for height in (64, 32):
        lines += [
            f"    {height}: b64decode(",
            *(f'        "{part}"' for part in wrap(base64.b64encode(bits(height)).decode(), 100)),
            "    ),",
        ]
    return "\n".join([*lines, "}", ""])


if __name__ == "__main__":
    FILE.write_text(source())
