"""An example of every page of the set-up: for the contact sheet and the tests."""

from __future__ import annotations

from pedal.setup.cable import CARE as CABLE_CARE
from pedal.setup.panel import REMEDIES
from pedal.setup.sound_in import NONE_HEARS
from pedal.setup.sound_out import CARE
from pedal.setup.step import SetUpPage

_GOOD = (0.4, 0.85)
SET_UP_PAGES = {
    "panel": SetUpPage(
        "PRESS",
        ("if this is whole, sharp and upright", "2 of 4: SH1106 at 0x3C on I2C 1"),
        edges=True,
        beat=5,
        places=8,
    ),
    "no panel": SetUpPage("NO PANEL", REMEDIES, "again", "leave", 0, 8),
    "switches": SetUpPage("FOUND 2", ("1: GPIO 17, 2: GPIO 27", "the next one?"), "", "these are all", 1, 8),
    "input": SetUpPage("PLAY", ("open strings, on and on", "2 of 3: USB Audio: -"), "", "leave", 2, 8),
    "none hears": SetUpPage("NOTHING", (NONE_HEARS, "2 of 3: USB Audio: -"), "again", "leave", 2, 8),
    "level": SetUpPage(
        "TURN DOWN", ("the input's gain: it clips", "-4 dBFS"), "go on", "leave", 3, 8, bar=0.93, good=_GOOD
    ),
    "noise": SetUpPage(
        "HUM", ("Some hum: 50 Hz at -61 dBFS. Isolated supply, one outlet for all.",), "go on", "again", 4, 8
    ),
    "output": SetUpPage("HEAR IT?", (f"A quiet tone. {CARE}", "1 of 2: USB Audio: -"), "yes", "none", 5, 8),
    "cable": SetUpPage("CABLE", (CABLE_CARE,), "begin", "leave", 7, 8),
    "figure": SetUpPage("LOSSES", ("no sample lost in 15 s",), "next", "leave", 7, 8),
    "ready": SetUpPage("READY", ("All steps are done. The menu has each of them again.",), "play", "", 8, 8),
}
