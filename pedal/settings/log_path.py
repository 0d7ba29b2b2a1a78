"""Where the log lies when nobody says otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

FILE_NAME = "log.sqlite"


def log_path(environ: Mapping[str, str]) -> Path:
    """The log's file under an environment; nothing is created.

    systemd's STATE_DIRECTORY (systemd.exec(5); the first of several, they are parted by colons) comes before
    XDG_STATE_HOME, which counts only where absolute (XDG Base Directory Specification), before ~/.local/state.

    >>> log_path({"STATE_DIRECTORY": "/var/lib/undertoe"}).as_posix()
    '/var/lib/undertoe/log.sqlite'
    """
    given = environ.get("STATE_DIRECTORY", "").split(":")[0]
    if given:
        return Path(given) / FILE_NAME
    state = environ.get("XDG_STATE_HOME", "")
    home = Path(environ["HOME"]) if environ.get("HOME") else Path.home()
    base = Path(state) if state.startswith("/") else home / ".local" / "state"
    return base / "undertoe" / FILE_NAME
