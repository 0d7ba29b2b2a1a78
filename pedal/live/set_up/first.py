"""Whether a first start shall begin with the set-up.

It is asked at every start, so nothing of the set-up itself is loaded for a pedal that was played already.
"""

from __future__ import annotations

from pathlib import Path

from pedal import wiring
from pedal.errors import DeviceError
from pedal.live.set_up.found import found_file, with_findings

OFFERED, MOST_OFFERS = "offered", 3
"""So often the pedal begins with the set-up though nobody answers; a pedal on a stage must play by itself."""


def first_set_up_fits(config: Path | None) -> bool:
    """A new pedal, with a panel that answers and pins to press: else nobody could see or answer anything."""
    given = wiring.given_settings(config).settings
    if given.display.kind == "none" or given.log.path.exists():
        return False
    from pedal.live.set_up.devices import panel_places
    from pedal.setup.names import NAMES

    record = found_file(given).load()
    asked = record.get(OFFERED, 0)
    if all(name in record for name in NAMES) or not isinstance(asked, int) or asked >= MOST_OFFERS:
        return False
    try:
        wiring.pin_library()
    except DeviceError:
        return False
    return bool(panel_places(with_findings(given, record)))
