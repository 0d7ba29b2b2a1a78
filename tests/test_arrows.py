"""A room imports only from its left, and the core touches no clock, thread, file or device."""

from __future__ import annotations

import ast
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

from tests.source_trees import tree_of

REPOSITORY = Path(__file__).resolve().parent.parent
PURE = {
    "theory",
    "leak",
    "pitch",
    "notes",
    "verdicts",
    "licks",
    "practice",
    "modes",
    "screen",
    "progress",
    "synth",
    "chain",
}
SAID = {"errors", "safe_text"}
"""What a room with the world says its faults by."""
CLOCKLESS = PURE | {"soundcheck", "setup"} | SAID
FILES = SAID | {"safe_files"}
ALLOWED = {
    "theory": {"theory"},
    "leak": {"leak", "theory"},
    "pitch": {"pitch"},
    "notes": {"notes", "pitch"},
    "verdicts": {"verdicts", "notes", "theory"},
    "licks": {"licks", "verdicts", "notes", "theory", "safe_text"},
    "modes": {"modes", "licks", "practice", "verdicts", "notes", "pitch", "theory", "progress"},
    "practice": {"practice", "progress", "theory"},
    "progress": {"progress", "verdicts", "theory"},
    "soundcheck": {"soundcheck", "pitch"},
    "setup": {"setup", "soundcheck", "modes", "notes", "pitch"},
    "screen": {"screen", "modes", "setup", "theory", "safe_text"},
    "synth": {"synth", "licks", "theory"},
    "chain": {"pitch", "notes", "verdicts"},
    "ports": {"modes"},
    "errors": set(),
    "safe_text": set(),
    "safe_files": {"errors"},
    "extras": {"errors"},
    "settings": FILES | {"settings", "modes", "practice", "verdicts", "theory"},
    "log": FILES | {"log", "progress", "modes", "verdicts", "notes", "theory"},
    "takes": {"takes", "safe_files", "chain", "verdicts"},
    "review": SAID | {"review", "log", "practice", "progress", "modes", "verdicts", "notes", "theory"},
    "live": FILES | PURE | {"live", "ports", "setup", "soundcheck", "settings", "log", "takes", "wiring"},
    "carry": {"carry", "errors", "safe_files", "licks", "settings", "log", "takes", "review", "live"},
    "doctor": SAID
    | {"extras", "doctor", "ports", "settings", "log", "live", "screen", "soundcheck", "theory", "wiring"},
    "wiring": {"ports", "practice", "settings", "log", "live", "soundcheck", "synth"},
    "cli": FILES
    | PURE - {"leak", "notes", "progress"}
    | {"cli", "extras", "ports", "setup", "live", "settings", "log", "review", "doctor", "carry", "wiring"},
    "values": set(),
}
"""Who may import whom, and everyone `values`. `wiring` only hands out adapters; `cli` is imported by nobody."""
IMPURE = {
    "threading",
    "queue",
    "time",
    "os",
    "pathlib",
    "sqlite3",
    "logging",
    "random",
    "subprocess",
    "socket",
    "asyncio",
    "datetime",
}
DEVICES = {"pyaudio", "gpiozero", "luma", "smbus2", "lgpio", "spidev"}


@cache
def imports(path: Path) -> list[str]:
    found = []
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            found += [name.name for name in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            whole = [f"{node.module}.{name.name}" for name in node.names]
            found += [name if is_module(name) else node.module for name in whole]
    return found


def is_module(name: str) -> bool:
    """Of ours: "from pedal import wiring" imports one, "from pedal.wiring import store" does not."""
    path = REPOSITORY.joinpath(*name.split("."))
    return path.is_dir() or path.with_suffix(".py").is_file()


def is_ours(name: str) -> bool:
    return name.startswith("pedal.")


def files(folder: str) -> list[Path]:
    return sorted((REPOSITORY / folder).rglob("*.py"))


def room(path: Path) -> str:
    return path.relative_to(REPOSITORY / "pedal").parts[0].removesuffix(".py")


@pytest.mark.parametrize("path", files("pedal"), ids=lambda p: str(p.relative_to(REPOSITORY)))
def test_a_room_imports_only_from_its_left(path: Path) -> None:
    here = room(path)
    if here == "__init__":
        assert imports(path) == []
        return
    for name in imports(path):
        top = name.split(".")[0]
        if is_ours(name):
            assert name.split(".")[1] in ALLOWED[here] | {"values"}, f"{path} imports {name}"
        if here in CLOCKLESS:
            assert top not in IMPURE, f"{path} imports {name}"
        if top == "threading":  # the running pedal, the thread that writes takes, and the end of the program
            assert here in {"live", "takes"} or path.name == "entry.py", f"{path} imports {name}"
        assert top not in DEVICES, f"{path} imports {name}"
        if top == "hw":
            assert path.name == "wiring.py", f"{path} imports {name}"
        if top == "PIL":
            assert here in {"screen", "live", "doctor", "cli", "ports"}, f"{path} imports {name}"


@pytest.mark.parametrize("here", sorted(ALLOWED))
def test_every_arrow_that_is_allowed_is_there(here: str) -> None:
    """An arrow that nobody draws any longer would let the next one in unasked."""
    drawn = {
        name.split(".")[1] for path in files("pedal") if room(path) == here for name in imports(path) if is_ours(name)
    }
    assert ALLOWED[here] - drawn <= {here}


@pytest.mark.parametrize(
    "path", [path for path in files("pedal") if room(path) in CLOCKLESS], ids=lambda p: str(p.relative_to(REPOSITORY))
)
def test_the_core_opens_no_file(path: Path) -> None:
    called = [node.func for node in ast.walk(tree_of(path)) if isinstance(node, ast.Call)]
    assert not any(isinstance(function, ast.Name) and function.id == "open" for function in called)


@pytest.mark.parametrize("path", files("hw"), ids=lambda p: str(p.relative_to(REPOSITORY)))
def test_adapters_know_ports_and_plain_data_only(path: Path) -> None:
    for name in imports(path):
        if is_ours(name):
            assert name.split(".")[1] in FILES | {"ports", "values"} or name == "pedal.modes.log_entry", (
                f"{path} imports {name}"
            )


def test_no_files_import_one_another_in_a_ring() -> None:
    """Imports within functions count too: they only hide a ring. CycleError names the files."""
    names = {path.relative_to(REPOSITORY).with_suffix("").as_posix().replace("/", "."): path for path in files("pedal")}
    order = TopologicalSorter({name: [met for met in imports(path) if met in names] for name, path in names.items()})
    assert len(list(order.static_order())) == len(names)


def test_there_are_rooms_to_look_at() -> None:
    assert {room(p) for p in files("pedal")} >= set(ALLOWED)
