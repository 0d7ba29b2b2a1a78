"""docs/sources.md against the code: each named number stands there with the value that it has, and no other does."""

from __future__ import annotations

import ast
import importlib
import math
import re
from pathlib import Path
from types import ModuleType
from typing import NamedTuple

import pytest

from tests.source_trees import tree_of

REPOSITORY = Path(__file__).resolve().parent.parent
PAGE = (REPOSITORY / "docs" / "sources.md").read_text()
ROOMS = {
    "Notes": "notes", "Verdicts": "verdicts", "Leak": "leak", "Pitch": "pitch", "Theory": "theory",
    "Progress": "progress", "Practice": "practice",
}  # fmt: skip


class Row(NamedTuple):
    """One line of a table: names in the order of their values."""

    names: tuple[str, ...]
    value: str
    file: str
    source: str


def rows_of(page: str, heading: str) -> list[Row]:
    """The rows of all tables under a heading of the second level."""
    parts = re.split(r"^## (.+)$", page, flags=re.MULTILINE)
    text = dict(zip(parts[1::2], parts[2::2], strict=True))[heading]
    rows = []
    for line in text.splitlines():
        cells = [cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
        if len(cells) == 4 and cells[0].startswith("`"):
            names, file = cells[0].strip("`"), cells[2].strip("`")
            rows.append(Row(tuple(n.strip() for n in names.split(",")), cells[1].strip("`"), file, cells[3]))
    return rows


def is_number(value: object) -> bool:
    """A number, or a tuple or a table of them; words are none."""
    if isinstance(value, tuple | list):
        return len(value) > 0 and all(is_number(v) for v in value)
    return isinstance(value, int | float) and not isinstance(value, bool)


def named_in(file: Path) -> list[str]:
    """Names that a module gives to numbers at its top, in order, `_own` ones left out; `Bands.x` for the bands."""
    module, names = module_of(file), []
    for statement in tree_of(file).body:
        targets = statement.targets if isinstance(statement, ast.Assign) else []
        if isinstance(statement, ast.AnnAssign):
            targets = [statement.target]
        for target in targets:
            each = target.elts if isinstance(target, ast.Tuple) else [target]
            names += [t.id for t in each if isinstance(t, ast.Name) and not t.id.startswith("_")]
        if isinstance(statement, ast.ClassDef) and statement.name == "Bands":
            names += [f"Bands.{s.target.id}" for s in statement.body if isinstance(s, ast.AnnAssign)]
    return [name for name in names if is_number(value_of(module, name))]


def module_of(file: Path) -> ModuleType:
    return importlib.import_module(".".join(file.relative_to(REPOSITORY).with_suffix("").parts))


def value_of(module: ModuleType, name: str) -> object:
    if name.startswith("Bands."):
        return getattr(module.Bands(), name.removeprefix("Bands."))
    return getattr(module, name)


def told(row: Row, module: ModuleType) -> object:
    """What the value cell of a row says, worked out where it is a sum."""
    return eval(row.value, {**vars(module), "math": math})  # noqa: S307 (a file of this repository)


def same(a: object, b: object) -> bool:
    if isinstance(a, tuple | list) and isinstance(b, tuple | list):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
    return isinstance(a, int | float) and isinstance(b, int | float) and math.isclose(a, b, rel_tol=1e-9)


def files_of(room: str) -> list[Path]:
    return sorted((REPOSITORY / "pedal" / room).glob("*.py"))


@pytest.mark.parametrize(("heading", "room"), ROOMS.items(), ids=list(ROOMS))
def test_each_number_has_a_row_and_each_row_a_number(heading: str, room: str) -> None:
    written = [(row.file, name) for row in rows_of(PAGE, heading) for name in row.names]
    there = [(file.name, name) for file in files_of(room) for name in named_in(file)]
    assert len(written) > 10
    assert len(written) == len(set(written)), "a number stands there twice"
    assert sorted(set(there) - set(written)) == [], "these have no row"
    assert sorted(set(written) - set(there)) == [], "these are gone from the code"


@pytest.mark.parametrize(
    ("room", "row"),
    [(room, row) for heading, room in ROOMS.items() for row in rows_of(PAGE, heading)],
    ids=lambda item: ",".join(item.names) if isinstance(item, Row) else item,
)
def test_a_row_has_the_value_of_the_code_and_a_source(room: str, row: Row) -> None:
    module = module_of(REPOSITORY / "pedal" / room / row.file)
    code = tuple(value_of(module, name) for name in row.names)
    value = told(row, module)
    assert same(value, code if len(code) > 1 else code[0]), f"{row.names} is {code}, the page says {value}"
    assert len(row.source) > 5


def worked_out_in(file: Path) -> set[str]:
    """Which of a module's named numbers are worked out from others, its own or imported ones."""
    module, found = module_of(file), set()
    for statement in tree_of(file).body:
        if isinstance(statement, ast.Assign) and isinstance(statement.targets[0], ast.Name | ast.Tuple):
            names = {node.id for node in ast.walk(statement.value) if isinstance(node, ast.Name)}
            if any(is_number(getattr(module, name, None)) for name in names):
                each = statement.targets[0]
                here = each.elts if isinstance(each, ast.Tuple) else statement.targets
                found |= {t.id for t in here if isinstance(t, ast.Name) and not t.id.startswith("_")}
    return found


@pytest.mark.parametrize(
    ("rooms", "said"),
    [
        (("notes", "verdicts"), "Notes and verdicts hold {} named numbers, {} of them worked out from the others"),
        (("leak",), "Leak holds {} named numbers, {} of them worked out from the others"),
        (("pitch",), "Pitch holds {} named numbers, {} of them worked out from the others"),
    ],
)
def test_the_page_tells_how_many_there_are(rooms: tuple[str, ...], said: str) -> None:
    files = [file for room in rooms for file in files_of(room)]
    count, worked_out = sum(len(named_in(file)) for file in files), sum(len(worked_out_in(file)) for file in files)
    assert said.format(count, worked_out) in PAGE, said.format(count, worked_out)


def test_a_value_that_differs_is_seen() -> None:
    """The check above can fail: a wrong cell, a missing value and a word are no match."""
    assert same((1.0, (2, 3.0)), (1, (2.0, 3)))
    assert not same(1.0, 1.01)
    assert not same((1.0, 2.0), (1.0,))
    assert not same("1", 1)
