"""Libraries that only some jobs need: one that is missing is told before the job begins, with what installs it here."""

from __future__ import annotations

import importlib.util
import shlex
import sys

from pedal.errors import UsageError


def installing(library: str) -> str:
    """The command that installs a library where this program runs, which need not be where the player's own pip does.

    >>> installing("mido").endswith(" -m pip install mido")
    True
    """
    return f"{shlex.quote(sys.executable)} -m pip install {shlex.quote(library)}"


def need(library: str, what: str, *, or_else: str = "") -> None:
    """Raise `UsageError` where `what` the player asked for needs a library that is not installed.

    or_else : what does without it.
    """
    if importlib.util.find_spec(library) is None:
        remedy = installing(library) + (f"; or {or_else}" if or_else else "")
        raise UsageError(f"{what} needs {library}: {remedy}")
