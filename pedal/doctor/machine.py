"""Where the looks read: the root of the file system, the environment, the groups. Tests give their own."""

from __future__ import annotations

import grp
import os
from collections.abc import Mapping
from dataclasses import field
from pathlib import Path

from pedal.values import frozen


def _own_groups() -> frozenset[str]:
    names = set()
    for number in {*os.getgroups(), os.getegid()}:
        try:
            names.add(grp.getgrgid(number).gr_name)
        except KeyError:
            continue
    return frozenset(names)


@frozen
class Machine:
    """One machine as a process sees it."""

    root: Path = Path("/")
    environment: Mapping[str, str] = field(default_factory=lambda: os.environ)
    groups: frozenset[str] = field(default_factory=_own_groups)

    def path(self, name: str) -> Path:
        """A place below the root, given as an absolute path."""
        return self.root / name.lstrip("/")

    def text(self, name: str) -> str:
        """What a small file says, "" if it cannot be read."""
        try:
            return self.path(name).read_text(errors="replace").strip("\0\n ")
        except OSError:
            return ""

    def number(self, name: str) -> int | None:
        """What a device-tree property of four bytes, most significant first, says; None if there is none."""
        try:
            raw = self.path(name).read_bytes()
        except OSError:
            return None
        return int.from_bytes(raw, "big") if len(raw) == 4 else None
