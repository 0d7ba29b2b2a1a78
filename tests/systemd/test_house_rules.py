"""What the security page and the hardware page say, held against the code."""

from __future__ import annotations

import ast
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from pedal.settings.load import load
from tests.source_trees import tree_of

REPOSITORY = Path(__file__).resolve().parents[2]
SOURCES = sorted([*(REPOSITORY / "pedal").rglob("*.py"), *(REPOSITORY / "hw").rglob("*.py")])
NETWORK_AND_SHELL = {"subprocess", "pickle", "marshal", "shelve", "http", "urllib", "ftplib", "smtplib", "xmlrpc"}
SOCKET_ALLOWED = {"service_manager.py"}

HEADER = {
    1: "3.3 V", 3: "GPIO2", 5: "GPIO3", 6: "ground", 9: "ground", 11: "GPIO17", 13: "GPIO27", 14: "ground",
    15: "GPIO22", 18: "GPIO24", 19: "GPIO10", 20: "ground", 22: "GPIO25", 23: "GPIO11", 24: "GPIO8",
}  # fmt: skip
"""The pins that the page uses, of the 40-pin header (the platform's own documentation; from memory)."""


def names_used(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            found |= {name.name.split(".")[0] for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.split(".")[0])
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in {"eval", "exec"}:
            found.add(node.func.id)
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "os":
            found.add(f"os.{node.attr}")
    return found


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(REPOSITORY)))
def test_no_network_no_shell_no_pickle(path: Path) -> None:
    used = names_used(path)
    if (
        path == REPOSITORY / "pedal/values.py"
    ):  # writes functions of field names, as data classes do: no input comes near
        used -= {"exec"}
    assert not used & (NETWORK_AND_SHELL | {"eval", "exec", "os.system", "os.popen"})
    assert "socket" not in used or path.name in SOCKET_ALLOWED


def test_yaml_is_composed_and_never_constructed() -> None:
    for path in SOURCES:
        assert not re.search(r"\byaml\.(load|load_all|full_load|unsafe_load)\(", path.read_text()), path


def wiring_rows() -> list[list[str]]:
    text = (REPOSITORY / "docs/hardware.md").read_text().split("## Wiring")[1].split("## ")[0]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("|")]
    return rows[2:]


def test_the_wiring_table_is_the_header_s() -> None:
    rows = wiring_rows()
    assert len(rows) >= 15
    for _part, line, pin, gpio, _setting in rows:
        assert HEADER[int(pin)] == (gpio or ("3.3 V" if "3.3 V" in line else "ground"))


def test_the_wiring_table_is_that_of_the_default_settings() -> None:
    settings = load(None)
    by_part = {(part, line): gpio for part, line, _pin, gpio, _setting in wiring_rows()}
    assert tuple(int(by_part[f"switch {n}", "one side"].removeprefix("GPIO")) for n in (1, 2)) == settings.switches.pins
    assert by_part["panel, SPI", "data or command (D/C)"] == f"GPIO{settings.display.data_pin}"
    assert by_part["panel, SPI", "reset"] == f"GPIO{settings.display.reset_pin}"


@pytest.mark.parametrize("name", sorted(path.name for path in (REPOSITORY / "docs").glob("hardware-*.svg")))
def test_the_drawings_are_well_formed_and_described(name: str) -> None:
    root = ET.parse(REPOSITORY / "docs" / name).getroot()
    described = [child.text for child in root if child.tag.endswith(("title", "desc"))]
    assert all(described)
    assert len(described) == 2


@pytest.mark.parametrize("page", sorted((REPOSITORY / "docs").glob("*.md")), ids=lambda path: path.name)
def test_links_between_the_pages_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#:]+)[^)]*\)", page.read_text()):
        assert (page.parent / target).exists(), f"{page.name} links to {target}"


def test_settings_that_the_pages_name_exist() -> None:
    from pedal.settings.table import ROWS, SECTIONS

    known = {row.path for row in ROWS} | set(SECTIONS)
    sections = "|".join(section for section in SECTIONS if section and "." not in section)
    for page in ("hardware.md", "troubleshooting.md", "realtime.md", "security.md"):
        for path in re.findall(rf"`((?:{sections})\.[a-z_0-9]+)", (REPOSITORY / "docs" / page).read_text()):
            assert path in known, f"{page} names {path}"
