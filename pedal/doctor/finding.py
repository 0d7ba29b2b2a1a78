"""One thing that was looked at, and how it stands."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Literal

from pedal.errors import UndertoeError
from pedal.values import frozen

Mark = Literal["ok", "warn", "missing"]


@frozen
class Finding:
    """`part` is what was looked at, `fact` what was seen, `remedy` what to do, "" where nothing need be done.

    "warn": the pedal plays, but worse than it could. "missing": something that the settings ask for does not work.
    """

    part: str
    mark: Mark
    fact: str
    remedy: str = ""


Look = Callable[[], Iterator[Finding]]


def look_safely(part: str, look: Look) -> list[Finding]:
    """What a look finds; when it fails itself, that is a finding too: a doctor survives whatever is broken."""
    found: list[Finding] = []
    try:
        found.extend(look())
    except UndertoeError as fault:
        fact, _, remedy = str(fault).partition(": ")
        found.append(Finding(part, "missing", fact, remedy))
    except Exception as fault:  # noqa: BLE001 - a broken library may raise anything, at import too
        words = f"{type(fault).__name__}: {fault}".splitlines()[0]
        found.append(Finding(part, "missing", f"cannot be looked at ({words[:200]})", "install the pedal anew"))
    return found
