"""A file of settings -> `Settings`, or every fault at once: line, key, what was expected, and the nearest fit."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterable
from collections.abc import Mapping as Lookup
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pedal.errors import SettingsError
from pedal.settings.cross_checks import disagreements
from pedal.settings.document import Mapping, Node, parse_document, read_document, short
from pedal.settings.kinds import Unfit, nearest, shown
from pedal.settings.log_path import FILE_NAME, log_path
from pedal.settings.parts import (
    Audio,
    Display,
    Force,
    Lamp,
    Log,
    Modes,
    Players,
    Round,
    Settings,
    State,
    Strings,
    Switches,
    Takes,
    Time,
)
from pedal.settings.table import PRESSES, ROWS, SECTIONS, Row
from pedal.verdicts.aim import Bands

_ROWS = {row.path: row for row in ROWS}
_PARTS: dict[str, type] = {
    "bands": Bands,
    "strings": Strings,
    "force": Force,
    "audio": Audio,
    "time": Time,
    "display": Display,
    "switches": Switches,
    "players": Players,
    "lamp": Lamp,
    "modes": Modes,
    "round": Round,
    "log": Log,
    "takes": Takes,
    "state": State,
}
SERVICE_FILE = Path("/etc/undertoe/undertoe.yaml")
Refusals = Callable[[dict[str, Any], dict[str, Any]], Iterable[tuple[str, str]]]
_MOST_HINTS = 50
"""A file with more faults is no typing mistake, and looking for near words takes time."""


@dataclass(frozen=True, slots=True, order=True)
class _Fault:
    line: int
    path: str
    sentence: str


def settings_file(asked: Path | None, *, environment: Lookup[str, str] = os.environ) -> Path | None:
    """The file to load: the one asked for, else the player's own, else the installed one; None where there is none."""
    if asked is not None:
        return asked
    return next((file for file in (_own_file(environment), SERVICE_FILE) if os.access(file, os.F_OK)), None)


def settings_folder(asked: Path | None, *, environment: Lookup[str, str] = os.environ) -> Path:
    """The folder of the file to load, or of the player's own where there is none yet."""
    file = settings_file(asked, environment=environment)
    return _own_file(environment).parent if file is None else file.parent


def _own_file(environment: Lookup[str, str]) -> Path:
    base = environment.get("XDG_CONFIG_HOME", "")
    home = base if base.startswith("/") else f"{environment.get('HOME', '')}/.config"
    return Path(home) / "undertoe/undertoe.yaml"


def load(path: Path | None, *, environment: Lookup[str, str] = os.environ) -> Settings:
    """The settings of a file; with None, the defaults.

    Raises
    ------
    SettingsError
        With every fault of the file, sorted by line.
    """
    return settings_of(values_of(path), environment=environment)


def load_over(
    below: dict[str, Any],
    text: str,
    *,
    name: str,
    refused: Refusals,
    environment: Lookup[str, str] = os.environ,
) -> Settings:
    """The settings of a file's values, and over them those of a text that is trusted with some of them only.

    below : the file's values by their keys, as `values_of` gives them.
    environment : where folders named by the system are looked up.
    refused : what of the text does not count: from its values and all values of the file, (key, sentence) each.

    Raises `SettingsError` with every fault of the text behind `name`.
    """
    over = _Reader()
    over.read_section(parse_document(text, name=name), "")
    for key, sentence in list(refused(over.values, below)):
        over.faults.append(_Fault(over.lines[key], key, sentence))
        over.values.pop(key)
    return settings_of(_agreed(over, below, name=name), environment=environment)


def values_of(path: Path | None) -> dict[str, Any]:
    """The value of every row of the table by a file, the default where it says nothing; raises as `load` does."""
    return _read(Mapping(1, ()) if path is None else read_document(path), name=str(path))


def values_in_spite(path: Path) -> dict[str, Any]:
    """The same of a broken file, the default for what is wrong in it: enough for a page on the panel that says so."""
    reader = _Reader()
    with contextlib.suppress(SettingsError):
        reader.read_section(read_document(path), "")
    return {row.path: row.default for row in ROWS} | reader.values


def loads(text: str, *, name: str = "settings", environment: Lookup[str, str] = os.environ) -> Settings:
    """The settings of a text; `name` stands before the line in complaints. Raises `SettingsError`."""
    return settings_of(_read(parse_document(text, name=name), name=name), environment=environment)


def _read(tree: Mapping, *, name: str) -> dict[str, Any]:
    reader = _Reader()
    reader.read_section(tree, "")
    return _agreed(reader, {row.path: row.default for row in ROWS}, name=name)


def _agreed(reader: _Reader, below: dict[str, Any], *, name: str) -> dict[str, Any]:
    """What was read over the values below it; raises `SettingsError` for faults, and for rules that the two break."""
    values = below | reader.values
    for path, sentence in disagreements(values, given=frozenset(reader.values)):
        reader.faults.append(_Fault(reader.lines[path], path, sentence))
    if reader.faults:
        raise SettingsError([f"{name}:{fault.line}: {fault.path}: {fault.sentence}" for fault in sorted(reader.faults)])
    return values


class _Reader:
    """Walks the tree along the table and gathers values, lines and faults."""

    def __init__(self) -> None:
        self.values: dict[str, Any] = {}
        self.lines: dict[str, int] = {}
        self.faults: list[_Fault] = []

    def read_section(self, tree: Node, section: str) -> None:
        if not isinstance(tree, Mapping):
            if shown(tree) != "nothing":  # an emptied section keeps its defaults
                self.faults.append(_Fault(tree.line, section, f"expected keys below it (got {shown(tree)})"))
            return
        for word, node in tree.entries:
            path = f"{section}.{word.text}" if section else word.text
            if not word.text or "." in word.text or (path not in _ROWS and path not in SECTIONS):
                self.faults.append(_Fault(word.line, _printable(path), self._unknown(word.text, section)))
            elif path in self.lines:
                sentence = f"expected each key once (got it again; first on line {self.lines[path]})"
                self.faults.append(_Fault(word.line, path, sentence))
            elif path in _ROWS:
                self._read_row(_ROWS[path], node)
            else:
                self.read_section(node, path)
            self.lines.setdefault(path, word.line)

    def _read_row(self, row: Row, node: Node) -> None:
        try:
            self.values[row.path] = row.kind.read(node)
        except Unfit as unfit:
            meant = f", did you mean {unfit.meant}?" if unfit.meant else ""
            self.faults.append(_Fault(node.line, row.path, f"expected {row.kind.expected} (got {unfit.got}){meant}"))

    def _unknown(self, word: str, section: str) -> str:
        """The complaint about a key that is not in the table, with the nearest beside it, else the nearest anywhere."""
        got, meant = repr(short(word)), ""
        if len(self.faults) < _MOST_HINTS:
            beside = {row.key: row.key for row in ROWS if row.section == section} | _sections_below(section)
            anywhere = {row.key: f"{row.key} below {row.section}" for row in ROWS if row.section}
            word = word.rpartition(".")[2]
            meant = beside.get(nearest(word, list(beside)), "") or anywhere.get(nearest(word, list(anywhere)), "")
        hint = f", did you mean {meant}?" if meant else "; undertoe check --default shows all keys"
        return f"expected a known key (got {got}){hint}"


def _sections_below(section: str) -> dict[str, str]:
    words = (path.removeprefix(f"{section}.") for path in SECTIONS if path.rpartition(".")[0] == section and path)
    return {word: word for word in words}


def _printable(word: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in word[:80]) or "''"


def settings_of(values: dict[str, Any], *, environment: Lookup[str, str] = os.environ) -> Settings:
    """The settings that values of all rows make."""
    state = values["state.folder"] or log_path(environment).parent
    values = values | {
        "state.folder": state,
        "log.path": values["log.path"] or state / FILE_NAME,
        "takes.folder": values["takes.folder"] or state / "takes",
        "switches.actions": tuple(
            (word, values[f"switches.actions.{word}"]) for word in PRESSES if values[f"switches.actions.{word}"]
        ),
    }
    parts = {name: part(**_below(values, name)) for name, part in _PARTS.items()}
    return Settings(**{path: value for path, value in values.items() if "." not in path}, **parts)


def _below(values: dict[str, Any], section: str) -> dict[str, Any]:
    return {path.rpartition(".")[2]: value for path, value in values.items() if path.rpartition(".")[0] == section}
