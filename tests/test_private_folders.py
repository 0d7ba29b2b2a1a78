"""A folder that the pedal makes is its owner's alone, wherever it is made (docs/security.md)."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.source_trees import tree_of

REPOSITORY = Path(__file__).resolve().parent.parent

FILES = sorted(file for room in ("pedal", "hw") for file in (REPOSITORY / room).rglob("*.py"))
MADE = [
    (str(file.relative_to(REPOSITORY)), node)
    for file in FILES
    for node in ast.walk(tree_of(file))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in ("mkdir", "makedirs")
    if file.name != "sinks.py"  # on a stick, whose file system knows no owner
]


def test_some_folders_are_made() -> None:
    assert len(MADE) >= 3


@pytest.mark.parametrize(("file", "call"), MADE, ids=[f"{file}:{call.lineno}" for file, call in MADE])
def test_it_is_made_for_nobody_else(file: str, call: ast.Call) -> None:
    modes = [word.value.value for word in call.keywords if word.arg == "mode" and isinstance(word.value, ast.Constant)]
    assert modes == [0o700], file
