"""Which named numbers do the tests notice? `python -m bench.sweep_constants OUT.tsv [FILE.py or NAME ...]`.

Each named number of leak, pitch and verdicts that is not worked out from others is made 30 % larger, and where nothing
notices that, 30 % smaller (of a row all numbers at once; whole numbers by 1 at least), in a copy of the tree, and the
quick tests of its room are run until one fails. One line a number goes to OUT: file, name, value, then for each way the
first test that failed, "-" where none did, nothing where it was not tried. Numbers that OUT already holds are left out,
so that a sweep can be stopped and gone on with. What came of it: docs/mutation.md.
"""

from __future__ import annotations

import argparse
import ast
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

from tests.test_sources import REPOSITORY, files_of, module_of, named_in, value_of, worked_out_in

ROOMS = ("verdicts", "leak", "pitch")
LARGER, SMALLER = 1.3, 0.7
LIMIT_S = 120.0
SLOW = (
    "under_strings_clicks or strings_on_the_beat or strumming_teaches or soft_note_right or pedal_still_judges"
    " or any_rate_and_hop or no_sound_brings or no_samples_raise"
)
"""Left out: they take more than all others together, or hold for any numbers."""


class Number(NamedTuple):
    """One named number (or row of them), its file from the root of the repository, and its value."""

    file: str
    name: str
    value: object


class Place(NamedTuple):
    """Where the expression of a number stands: lines from 1, columns in bytes."""

    line: int
    column: int
    end_line: int
    end_column: int


def numbers_of(file: Path) -> list[Number]:
    """The named numbers of a module that are not worked out from others."""
    module, worked_out = module_of(file), worked_out_in(file)
    where = str(file.relative_to(REPOSITORY))
    return [Number(where, name, value_of(module, name)) for name in named_in(file) if name not in worked_out]


def changed(value: object, times: float) -> object:
    """A number, or each of a row, so many times as large; a whole number stays one and changes by 1 at least."""
    if isinstance(value, tuple | list):
        return type(value)(changed(each, times) for each in value)
    if isinstance(value, int):
        step = max(1, round(abs(value * (times - 1.0))))
        return value + step if times > 1.0 else value - step
    assert isinstance(value, float)
    return value * times


def place_of(source: str, name: str) -> Place:
    """Where the value of a name stands in a module: `A`, one of `A, B = 1, 2`, or `Bands.a` in the class."""
    body: list[ast.stmt] = ast.parse(source).body
    if "." in name:
        owner, name = name.split(".")
        body = next(each.body for each in body if isinstance(each, ast.ClassDef) and each.name == owner)
    for statement in body:
        pairs: list[tuple[ast.expr, ast.expr | None]]
        if isinstance(statement, ast.AnnAssign):
            pairs = [(statement.target, statement.value)]
        elif isinstance(statement, ast.Assign):
            target, value = statement.targets[0], statement.value
            pairs = [(target, value)]
            if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
                pairs = [*zip(target.elts, value.elts, strict=True)]
        else:
            continue
        for each, given in pairs:
            if isinstance(each, ast.Name) and each.id == name and given is not None:
                assert given.end_lineno is not None
                assert given.end_col_offset is not None
                return Place(given.lineno, given.col_offset, given.end_lineno, given.end_col_offset)
    raise ValueError(f"{name} is given no value")


def with_value(source: str, name: str, value: object) -> str:
    """The module with another value for one of its names."""
    place, lines = place_of(source, name), source.encode().splitlines(keepends=True)
    before = b"".join(lines[: place.line - 1]) + lines[place.line - 1][: place.column]
    after = lines[place.end_line - 1][place.end_column :] + b"".join(lines[place.end_line :])
    return (before + repr(value).encode() + after).decode()


def suite_of(file: str) -> list[str]:
    """Arguments of pytest that run the quick tests of a file's room."""
    room, stem = Path(file).parts[1], Path(file).stem
    if stem == "second_string":  # what it is for, the notes' tests say
        return ["tests/notes/test_polyphony.py"]
    return [f"tests/{room}", "-k", f"not ({SLOW})"]


def first_failure(copy: Path, file: str) -> str:
    """The first quick test that fails in the copy, "-" if none does; "hangs" or "breaks" where no test says why."""
    command = [sys.executable, "-m", "pytest", "-q", "-x", "--tb=no", "-p", "no:cacheprovider", *suite_of(file)]
    try:
        run = subprocess.run(command, cwd=copy, capture_output=True, text=True, timeout=LIMIT_S, check=False)
    except subprocess.TimeoutExpired:
        return "hangs"
    failed = re.search(r"^(?:FAILED|ERROR) (\S+)", run.stdout, re.MULTILINE)
    return "-" if run.returncode == 0 else failed[1].removeprefix("tests/") if failed else "breaks"


def try_out(copy: Path, number: Number) -> tuple[str, str]:
    """What notices that a number is larger, and smaller."""
    path = copy / number.file
    source, smaller = path.read_text(), ""
    path.write_text(with_value(source, number.name, changed(number.value, LARGER)))
    larger = first_failure(copy, number.file)
    if larger == "-":
        path.write_text(with_value(source, number.name, changed(number.value, SMALLER)))
        smaller = first_failure(copy, number.file)
    path.write_text(source)
    return larger, smaller


def copy_of_tree(folder: Path) -> Path:
    """What the tests need of this repository, without what was built."""
    for name in ("pedal", "hw", "tests", "bench", "docs"):
        shutil.copytree(REPOSITORY / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        shutil.copy(REPOSITORY / name, folder / name)
    return folder


def main(out: Path, only: list[str]) -> None:
    """Try all numbers, or those of some files or names in their order, that OUT does not hold yet."""
    numbers = [number for room in ROOMS for file in files_of(room) for number in numbers_of(file)]
    if only:
        numbers = [n for wanted in only for n in numbers if wanted in (n.name, Path(n.file).name)]
    done = {tuple(line.split("\t")[:2]) for line in out.read_text().splitlines()} if out.exists() else set()
    numbers = [n for n in numbers if (n.file, n.name) not in done]
    with tempfile.TemporaryDirectory() as folder, out.open("a") as lines:
        copy = copy_of_tree(Path(folder))
        for file in {tuple(suite_of(n.file)): n.file for n in numbers}.values():
            if (found := first_failure(copy, file)) != "-":
                raise SystemExit(f"A test fails before anything is changed: {found}")
        for number in numbers:
            larger, smaller = try_out(copy, number)
            print(number.file, number.name, number.value, larger, smaller, sep="\t", file=lines, flush=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=Path)
    parser.add_argument("only", nargs="*", metavar="FILE.py or NAME")
    arguments = parser.parse_args()
    main(arguments.out, arguments.only)
