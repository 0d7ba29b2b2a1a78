"""A default that every call overrides says nothing, and a change of it goes unseen: there is none.

Notes and pitch are left out, as is what is handed on without being called by its name.
"""

from __future__ import annotations

import ast
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.source_trees import tree_of

REPOSITORY = Path(__file__).resolve().parent.parent
ROOMS = sorted(
    folder.name
    for folder in (REPOSITORY / "pedal").iterdir()
    if (folder / "__init__.py").exists() and folder.name not in ("notes", "pitch")
)
PRODUCT = ("pedal", "hw")
CALLERS = (*PRODUCT, "tests", "bench", "docs")


def trees(*folders: str) -> Iterator[tuple[str, ast.Module]]:
    for folder in folders:
        for file in sorted((REPOSITORY / folder).rglob("*.py")):
            yield str(file.relative_to(REPOSITORY)), tree_of(file)


def name_of(node: ast.expr) -> str:
    return node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""


class Use:
    """Every call by the name of what is called, and how often a name stands without a call."""

    def __init__(self) -> None:
        self.calls: defaultdict[str, list[ast.Call]] = defaultdict(list)
        self.bare: Counter[str] = Counter()
        for _, tree in trees(*CALLERS):
            for node in ast.walk(tree):
                if isinstance(node, ast.Call):
                    self.calls[name_of(node.func)].append(node)
                    self.bare[name_of(node.func)] -= 1
                elif isinstance(node, ast.Name | ast.Attribute):
                    self.bare[name_of(node)] += 1
                elif isinstance(node, ast.Constant) and isinstance(node.value, str) and ">>>" in node.value:
                    for name in node.value.replace("(", " ").split():
                        self.bare[name] += 1


def signature(node: ast.ClassDef | ast.FunctionDef) -> tuple[list[str], list[str]]:
    """The names that may be given by place, and those of all that have a default and may lose it alone."""
    init = next((m for m in node.body if isinstance(m, ast.FunctionDef) and m.name == "__init__"), None)
    maker = node if isinstance(node, ast.FunctionDef) else init
    if maker is not None:
        places = [each.arg for each in maker.args.args if each.arg not in ("self", "cls")]
        by_place = places[len(places) - len(maker.args.defaults) :] if maker.args.defaults else []
        by_name = [a.arg for a, d in zip(maker.args.kwonlyargs, maker.args.kw_defaults, strict=True) if d is not None]
        return places, [*by_place, *by_name]
    fields = [m for m in node.body if isinstance(m, ast.AnnAssign) and isinstance(m.target, ast.Name)]
    return [name_of(m.target) for m in fields], [name_of(m.target) for m in fields if _default_of(m.value)]


def _default_of(value: ast.expr | None) -> bool:
    if isinstance(value, ast.Call) and name_of(value.func) == "field":
        return any(word.arg in ("default", "default_factory") for word in value.keywords)
    return value is not None


def leaves_out(call: ast.Call, place: int | None, name: str) -> bool:
    if any(isinstance(each, ast.Starred) for each in call.args) or any(word.arg is None for word in call.keywords):
        return True
    return not (any(word.arg == name for word in call.keywords) or (place is not None and place < len(call.args)))


def dead_defaults(tree: ast.Module, use: Use, known: Counter[str]) -> list[str]:
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.ClassDef | ast.FunctionDef) or known[node.name] > 1 or not use.calls[node.name]:
            continue
        if isinstance(node, ast.FunctionDef) and (node.name == "__init__" or use.bare[node.name] > 0):
            continue
        places, defaults = signature(node)
        needed = False
        for name in defaults:
            place = places.index(name) if name in places else None
            if any(leaves_out(call, place, name) for call in use.calls[node.name]):
                needed = needed or place is not None  # what follows it by place needs a default too
            elif place is None or not needed:
                found.append(f"{node.name}({name})")
    return found


@pytest.fixture(scope="module")
def use() -> Use:
    return Use()


@pytest.fixture(scope="module")
def known() -> Counter[str]:
    """How many things of the product have a name: of two of one name it is not known which is called."""
    nodes = (node for _, tree in trees(*PRODUCT) for node in ast.walk(tree))
    return Counter(node.name for node in nodes if isinstance(node, ast.ClassDef | ast.FunctionDef))


@pytest.mark.parametrize("room", [*(f"pedal/{room}" for room in ROOMS), "hw"])
def test_some_call_leaves_out_each_default(room: str, use: Use, known: Counter[str]) -> None:
    dead = {file: found for file, tree in trees(room) if (found := dead_defaults(tree, use, known))}
    assert not dead, f"every call gives another value for these defaults: take them away: {dead}"


def test_the_check_itself_sees_a_default_that_nobody_uses() -> None:
    tree = ast.parse("def walk(to, *, fast=True, far=False): ...\nwalk(1, fast=False)\nwalk(2, fast=True, far=True)")
    use = Use.__new__(Use)
    use.calls = defaultdict(list, walk=[node for node in ast.walk(tree) if isinstance(node, ast.Call)])
    use.bare = Counter()
    assert dead_defaults(tree, use, Counter(walk=1)) == ["walk(fast)"]
