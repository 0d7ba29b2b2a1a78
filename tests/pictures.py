"""A picture of the documents beside the same one drawn anew."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from PIL import Image, ImageChops

from tests.conftest import REPOSITORY


def drawn_anew(program: str, folder: Path, *, within_s: float) -> Path:
    """The folder, in which a program of docs has drawn what it draws."""
    subprocess.run([sys.executable, f"docs/{program}.py", str(folder)], cwd=REPOSITORY, check=True, timeout=within_s)
    return folder


def assert_same_picture(drawn: Path, kept: Path, *, remedy: str) -> None:
    with Image.open(drawn) as new, Image.open(kept) as old:
        assert new.size == old.size
        assert ImageChops.difference(new.convert("RGB"), old.convert("RGB")).getbbox() is None, remedy
