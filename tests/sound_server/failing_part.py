"""`undertoe live` with a part that fails over a fault of ours whenever a file says so: FILE PART, then live's words."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from typing import Any

WHERE = {
    "capture": ("hw.portaudio_input", "PortAudioInput", "read"),
    "hearing": ("pedal.chain", "Chain", "_hear"),
    "drawing": ("hw.picture_files", "PngScreen", "show"),
    "keeping": ("pedal.log.writer", "SqliteStore", "append"),
    "telling": ("pedal.live.printer", "Printer", "_print"),
    "sounding": ("pedal.live.drone_player", "DronePlayer", "_obey"),
}


def fail_on_demand(file: Path, part: str) -> None:
    """Each time the file is there, it is taken away and the part raises."""
    module, name, method = WHERE[part]
    owner = getattr(importlib.import_module(module), name)
    real = getattr(owner, method)

    def perhaps(this: Any, *words: Any, **named: Any) -> Any:
        try:
            file.unlink()
        except FileNotFoundError:
            return real(this, *words, **named)
        raise ZeroDivisionError(f"the test's own, in {part}")

    setattr(owner, method, perhaps)


if __name__ == "__main__":
    from pedal.cli.entry import program

    fail_on_demand(Path(sys.argv[1]), sys.argv[2])
    sys.argv[1:] = ["live", *sys.argv[3:]]
    program()  # as the command itself does: its words stay to be heard while file descriptor 2 is mute
