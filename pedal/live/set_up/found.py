"""What the set-up found, kept over a power cut, and put into the settings.

A setting that is changed in the file after the set-up is what the player wants now: then what was found no longer
holds.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from pedal.errors import SettingsError
from pedal.live.memory_file import MemoryFile
from pedal.modes.memory import Memory
from pedal.settings.cross_checks import disagreements
from pedal.settings.document import parse_document
from pedal.settings.export import value_of
from pedal.settings.kinds import Unfit
from pedal.settings.parts import Settings
from pedal.settings.table import ROWS

FILE_NAME = "set_up.json"
PATHS = frozenset(
    (
        "display.kind", "display.bus", "display.rotation", "display.i2c_port", "display.i2c_address",
        "display.spi_port", "display.spi_device", "switches.pins", "audio.input", "audio.channel", "audio.output",
    )
)  # fmt: skip
"""All that a set-up may set."""
_ROWS = {row.path: row for row in ROWS if row.path in PATHS}


def found_file(settings: Settings) -> MemoryFile:
    """The file of a pedal; `settings` as its own file has them, without what was found."""
    given: Memory = {path: row.kind.write(value_of(settings, row)) for path, row in _ROWS.items()}
    return MemoryFile(settings.state.folder / FILE_NAME, given)


def with_found(settings: Settings) -> Settings:
    """The settings with what the set-up found, as far as it holds and fits."""
    return with_findings(settings, found_file(settings).load())


def with_findings(settings: Settings, record: Memory) -> Settings:
    """The settings with the findings in a record put in; what is damaged or does not fit the others is left out."""
    findings = {path: value for path, word in record.items() if path in _ROWS for value in _values(path, str(word))}
    while True:
        changed = _put(settings, findings)
        values = {row.path: value_of(changed, row) for row in ROWS}
        wrong = {path for path, _ in disagreements(values, given=frozenset(findings))}
        if not wrong:
            return changed
        findings = {path: value for path, value in findings.items() if path not in wrong}


def _values(path: str, word: str) -> list[Any]:
    """The value that the words of YAML stand for; none if they stand for no value of this row."""
    try:
        ((_, node),) = parse_document(f"value: {word}", name=FILE_NAME).entries
        return [_ROWS[path].kind.read(node)]
    except (SettingsError, Unfit, ValueError):
        return []


def _put(settings: Settings, findings: dict[str, Any]) -> Settings:
    for path, value in findings.items():
        section, _, key = path.partition(".")
        settings = replace(settings, **{section: replace(getattr(settings, section), **{key: value})})
    return settings
