"""A room imports only from its left, and the core touches no clock, thread, file or device."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parent.parent
ORDER = ["theory", "pitch", "notes", "verdicts", "modes", "picture", "progress", "chain", "app"]
ALLOWED = {
    "theory": {"theory"},
    "pitch": {"pitch", "theory"},
    "notes": {"notes", "pitch", "theory"},
    "verdicts": {"verdicts", "notes", "theory"},
    "modes": {"modes", "verdicts", "notes", "pitch", "theory", "progress"},
    "progress": {"progress", "verdicts", "notes", "theory"},
    "picture": {"picture", "modes", "theory"},
    "performance": {"performance", "theory"},
    "chain": {"pitch", "notes", "verdicts", "theory"},
    "app": {"app", "chain", "theory", "pitch", "notes", "verdicts", "modes", "picture", "progress", "performance"},
}
IMPURE = {"threading", "time", "queue", "os", "pathlib", "sqlite3", "logging", "random", "subprocess", "socket"}
IMPURE |= {"asyncio", "datetime"}
PLAIN = ("pedal.ports", "pedal.errors", "pedal.safe_files", "pedal.modes.log_entry")
DEVICES = {"pyaudio", "gpiozero", "luma", "smbus2", "lgpio", "spidev"}


def imports(path: Path) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found += [name.name for name in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.append(node.module)
    return found


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
        if top == "pedal" and name != "pedal":
            assert name.split(".")[1] in ALLOWED[here], f"{path} imports {name}"
        if here != "app":
            assert top not in IMPURE, f"{path} imports {name}"
        assert top not in DEVICES, f"{path} imports {name}"
        if top == "hw":
            assert path.name == "wiring.py", f"{path} imports {name}"
        if top == "PIL":
            assert here in {"picture", "app"}, f"{path} imports {name}"


@pytest.mark.parametrize("path", files("hw"), ids=lambda p: str(p.relative_to(REPOSITORY)))
def test_adapters_know_ports_and_plain_data_only(path: Path) -> None:
    for name in imports(path):
        if name.startswith("pedal."):
            assert name.startswith(PLAIN), f"{path} imports {name}"


def test_there_are_rooms_to_look_at() -> None:
    assert {room(p) for p in files("pedal")} >= set(ALLOWED)
