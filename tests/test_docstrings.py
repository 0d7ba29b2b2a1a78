"""What a caller is told: a sentence for everything public, and at the doors of the rooms what comes, in what shape.

A door is a function or class of one room that another room imports. Names carry units here (`_s`, `_cents`), and a
parameter that is called by its type needs no words; what is left must be said.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.source_trees import tree_of

REPOSITORY = Path(__file__).resolve().parent.parent
FILES = sorted([*(REPOSITORY / "pedal").rglob("*.py"), *(REPOSITORY / "hw").rglob("*.py")])
TREES = {file: tree_of(file) for file in FILES}
EMPTY = """a an the of to in on at for and or is are as it its with by from this that these those all them what there
here whether be has have one"""
EMPTY_WORDS = frozenset(re.findall(r"\w+", EMPTY))
KNOWN_BY_NAME = {"clock", "sleep", "rng"}
"""Time and chance, handed in so that a test can have its own."""
TOLD_PARAMETERS = 3
"""With more parameters than this no call explains itself."""


class Door(NamedTuple):
    """A function, or a method of a class; `told` is all that its caller reads of it."""

    label: str
    node: ast.FunctionDef
    told: str


def module_of(file: Path) -> str:
    return ".".join(file.relative_to(REPOSITORY).with_suffix("").parts).removesuffix(".__init__")


def room_of(module: str) -> str:
    parts = module.split(".")
    return parts[1] if parts[0] == "pedal" and len(parts) > 1 else parts[0]


def imported(tree: ast.AST) -> Iterator[tuple[str, str]]:
    """(module, name) of everything that a file takes from the house."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] in ("pedal", "hw"):
            yield from ((node.module, alias.name) for alias in node.names)


def doors() -> Iterator[Door]:
    defined = {
        (module_of(file), node.name): node
        for file, tree in TREES.items()
        for node in tree.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
    }
    handed_on = {
        (module_of(file), name): (module, name)
        for file, tree in TREES.items()
        if file.name == "__init__.py"
        for module, name in imported(tree)
    }
    used = {
        (module, name)
        for file, tree in TREES.items()
        for asked in imported(tree)
        for module, name in [handed_on.get(asked, asked)]
        if room_of(module) != room_of(module_of(file))
    }
    for module, name in sorted(used & defined.keys()):
        node = defined[module, name]
        told = ast.get_docstring(node) or ""
        if isinstance(node, ast.FunctionDef):
            yield Door(f"{module}.{name}", node, told)
            continue
        for method in node.body:
            if isinstance(method, ast.FunctionDef) and method.name in ("__init__", "__post_init__"):
                yield Door(f"{module}.{name}", method, told)
            elif isinstance(method, ast.FunctionDef) and not method.name.startswith("_"):
                yield Door(f"{module}.{name}.{method.name}", method, ast.get_docstring(method) or "")


DOORS = list(doors())


def parameters(node: ast.FunctionDef) -> list[ast.arg]:
    every = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    return [one for one in every if one.arg not in ("self", "cls")]


def stem(word: str) -> str:
    for ending in ("ings", "ing", "ies", "es", "ed", "s"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word[: -len(ending)]
    return word


def says_more(name: str, told: str) -> bool:
    """Whether two words or more are neither in the name nor empty."""
    in_name = {stem(part.lower()) for part in re.findall(r"[A-Z]?[a-z]+|[A-Z]+|[0-9]+", name)}
    words = {stem(word.lower()) for word in re.findall(r"[A-Za-z0-9]+", told)}
    return len(words - in_name - EMPTY_WORDS) >= 2


def public(body: list[ast.stmt], within: str = "") -> Iterator[tuple[str, ast.FunctionDef | ast.ClassDef]]:
    for node in body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield f"{within}{node.name}", node
            if isinstance(node, ast.ClassDef):
                yield from public(node.body, f"{node.name}.")


def of_a_protocol() -> set[tuple[str, str]]:
    """(room, method) of every protocol: what it says of a method is said of each class that has it."""
    return {
        (room_of(module_of(file)), method.name)
        for file, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef) and any(ast.unparse(base) == "Protocol" for base in node.bases)
        for method in node.body
        if isinstance(method, ast.FunctionDef) and ast.get_docstring(method)
    }


def test_everything_public_has_a_sentence_that_says_more_than_its_name() -> None:
    by_protocol = of_a_protocol()
    dumb, counted = [], 0
    for file, tree in TREES.items():
        for name, node in public(tree.body):
            counted += 1
            told = ast.get_docstring(node) or ""
            if not told and "." in name and (room_of(module_of(file)), node.name) in by_protocol:
                continue
            if not says_more(name, told):
                dumb.append(f"{file.relative_to(REPOSITORY)}:{node.lineno} {name}: {told!r}")
    assert counted > 1000
    assert dumb == []


@pytest.mark.parametrize(
    ("name", "told", "more"),
    [
        ("SeveralScreens.show", "On all of them.", False),
        ("Worker.start", "Begin.", False),
        ("Lick.beat_s", "One beat in seconds.", False),
        ("Lick.beat_s", "How long a beat lasts at the lick's own tempo.", True),
        ("give", "", False),
    ],
)
def test_the_measure_itself_tells_a_name_said_again_from_a_sentence(name: str, told: str, more: bool) -> None:
    assert says_more(name, told) is more


def test_a_door_that_raises_says_so() -> None:
    silent = [
        door.label
        for door in DOORS
        if any(isinstance(node, ast.Raise) and node.exc is not None for node in ast.walk(door.node))
        and not re.search(r"\b[Rr]aises?\b|refuse", door.told)
    ]
    assert len(DOORS) > 400
    assert silent == []


def test_a_door_that_takes_or_gives_arrays_says_of_what_shape() -> None:
    def annotations(node: ast.FunctionDef) -> str:
        return " ".join(ast.unparse(one) for one in [*(p.annotation for p in parameters(node)), node.returns] if one)

    shapeless = [
        door.label
        for door in DOORS
        if "NDArray" in annotations(door.node)
        and not re.search(r"shape|array|as long as|\blength|samples|mono\b|\bone a\b|of each\b", door.told)
    ]
    assert shapeless == []


def test_a_door_of_many_parameters_tells_what_they_are() -> None:
    def self_evident(one: ast.arg) -> bool:
        kind = re.sub(r"(?<!^)(?=[A-Z])", "_", ast.unparse(one.annotation)).lower() if one.annotation else ""
        return one.arg in KNOWN_BY_NAME or one.arg in re.findall(r"\w+", kind)

    untold = {
        door.label: missing
        for door in DOORS
        if len(parameters(door.node)) > TOLD_PARAMETERS
        and (
            missing := [
                one.arg
                for one in parameters(door.node)
                if not self_evident(one) and not re.search(rf"\b{re.escape(one.arg)}\b", door.told)
            ]
        )
    }
    assert untold == {}
