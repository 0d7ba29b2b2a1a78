"""Room for the log, and how the log stands."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from pedal.doctor.finding import Finding
from pedal.errors import StoreError
from pedal.log.reader import quick_check
from pedal.settings.parts import Settings

LEAST_FREE_MB = 100
"""A year of daily practice needs about a tenth of this; below it a system itself begins to fail."""


def storage(settings: Settings) -> Iterator[Finding]:
    """The folders that are written, the free space, and the log."""
    places = {"state folder": settings.state.folder, "log folder": settings.log.path.parent}
    if settings.takes.keep:
        places["takes folder"] = settings.takes.folder
    seen: set[Path] = set()
    for part, folder in places.items():
        if folder not in seen:
            seen.add(folder)
            yield from _folder(part, folder)
    yield from _free(settings.state.folder)
    yield from _log(settings.log.path, settings.log.max_mb)


def _folder(part: str, folder: Path) -> Iterator[Finding]:
    there = _nearest(folder)
    if not there.is_dir():
        yield Finding(part, "missing", f"{there} is no folder", f"move it away, or set another place than {folder}")
    elif not os.access(there, os.W_OK | os.X_OK):
        remedy = f"give it to this user (chown), or set another place than {folder}"
        yield Finding(part, "missing", f"{there} cannot be written", remedy)
    else:
        yield Finding(part, "ok", f"{folder}" + ("" if there == folder else ", made at the first note"))


def _free(folder: Path) -> Iterator[Finding]:
    free_mb = shutil.disk_usage(_nearest(folder)).free // 1_000_000
    if free_mb >= LEAST_FREE_MB:
        yield Finding("free space", "ok", f"{free_mb} MB")
    else:
        remedy = "make room: logging pauses when the disk is full, judging goes on"
        yield Finding("free space", "warn", f"{free_mb} MB", remedy)


def _log(path: Path, max_mb: int) -> Iterator[Finding]:
    if not path.exists():
        yield Finding("log", "ok", "none yet")
        return
    size_mb = path.stat().st_size / 1e6
    try:
        answer = quick_check(path)
    except StoreError as fault:
        remedy = "name another file in log.path, or move this one away: nothing is logged into it"
        yield Finding("log", "missing", str(fault), remedy)
        return
    if answer != "ok":
        remedy = "nothing need be done: at the next start it is set aside and a new one is begun"
        yield Finding("log", "warn", f"{path} is damaged or locked ({answer})", remedy)
    elif size_mb > 0.9 * max_mb:
        remedy = "export it with undertoe review and begin a new one, or raise log.max_mb"
        yield Finding("log", "warn", f"{path} is nearly full: {size_mb:.1f} of {max_mb} MB", remedy)
    else:
        yield Finding("log", "ok", f"{path}, {size_mb:.1f} of {max_mb} MB")


def _nearest(folder: Path) -> Path:
    """The folder itself, or the nearest one above it that exists."""
    return next(place for place in (folder, *folder.parents) if place.exists())
