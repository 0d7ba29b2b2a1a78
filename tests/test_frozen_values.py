"""A value that crosses from one room to another cannot be changed on its way."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.source_trees import tree_of
from tests.test_arrows import PURE

PEDAL = Path(__file__).resolve().parent.parent / "pedal"
GATHER = {
    "licks/midi.py": {"_Played"},
    "licks/text.py": {"_Reading"},
    "modes/gesture.py": {"_Foot"},
    "practice/course.py": {"State"},
    "practice/score.py": {"Score"},
    "progress/time_and_vibrato.py": {"TimedNotes"},
    "progress/tries.py": {"_Columns"},
    "synth/player.py": {"MadeUpPlayer"},
}
"""Those that are filled step by step inside their own room, by file."""


def _thawed(module: ast.Module) -> set[str]:
    """The dataclasses that may be changed after they were made."""
    found = set()
    for node in ast.walk(module):
        if isinstance(node, ast.ClassDef):
            for mark in node.decorator_list:
                words = ast.unparse(mark)
                if words.startswith("dataclass") and "frozen=True" not in words:
                    found.add(node.name)
    return found


@pytest.mark.parametrize("room", sorted(PURE - {"chain"}))
def test_a_value_that_a_caller_could_change_is_told(room: str) -> None:
    thawed = {
        str(path.relative_to(PEDAL)): names
        for path in (PEDAL / room).rglob("*.py")
        if (names := _thawed(tree_of(path)))
    }
    assert thawed == {file: names for file, names in GATHER.items() if file.startswith(f"{room}/")}
