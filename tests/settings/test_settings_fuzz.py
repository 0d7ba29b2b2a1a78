"""Any bytes at all give settings or sentences: no other exception, no hang, one line a fault."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pedal.errors import SettingsError
from pedal.settings.export import default_yaml
from pedal.settings.load import load, loads
from pedal.settings.parts import Settings
from pedal.settings.table import ROWS, SECTIONS

SOON_S = 30
"""Far more than any of this takes, also on an emulated machine: it only says that something hangs."""
FAULT = re.compile(r"fuzz\.yaml:[1-9][0-9]*: \S.*")
WORDS = [row.key for row in ROWS] + [path.rpartition(".")[2] for path in SECTIONS]
SCALARS = st.one_of(
    st.sampled_from(["", "on", "none", "default", "~", "0x3C", "1e9", ".5", "-1", "[]", "{}", "[1, 2]"]),
    st.sampled_from(["'", '"', "|", ">", "F#"]),
    st.sampled_from(["&a 1", "*a", "!!int 1", "!x", "? a", "- - 1", "%", "@", "`", "#", ": :", "\t"]),
    st.integers().map(str),
    st.floats().map(str),
    st.text(max_size=12),
)
LINES = st.builds(
    lambda indent, key, value: f"{indent}{key}: {value}",
    st.sampled_from(["", "  ", "    ", "\t", " "]),
    st.one_of(st.sampled_from(WORDS), st.text(max_size=6)),
    SCALARS,
)


REMARK = "\n# a remark after all changes nothing\n"


def outcome(text: str) -> Settings | None:
    """Settings, or None after checking that every fault is one printable line with its place."""
    try:
        return loads(text, name="fuzz.yaml")
    except SettingsError as refused:
        is_well_told(refused)
        return None


def is_well_told(refused: SettingsError) -> None:
    assert refused.faults
    assert refused.exit_status == 2
    for fault in refused.faults:
        assert FAULT.fullmatch(fault), fault
        assert len(fault) < 700, fault
    assert str(refused).count("\n") == len(refused.faults) - 1


@given(st.lists(LINES, max_size=12).map("\n".join))
@settings(max_examples=150)
def test_lines_that_look_like_settings(text: str) -> None:
    assert outcome(text + REMARK) == outcome(text)


@given(st.text(max_size=200))
@settings(max_examples=150)
def test_any_text(text: str) -> None:
    assert outcome(text + REMARK) == outcome(text)


WHOLE = default_yaml()


@given(st.data())
@settings(max_examples=40)
def test_the_default_file_with_a_wound(data: st.DataObject) -> None:
    """Each reading of the whole file takes 25 ms; every run draws other wounds."""
    start = data.draw(st.integers(0, len(WHOLE)))
    cut = data.draw(st.integers(0, 12))
    patch = data.draw(st.text(":[]{}\n\t &*!0x9-#'\"ab", max_size=6))
    text = WHOLE[:start] + patch + WHOLE[start + cut :]
    assert outcome(text + REMARK) == outcome(text)


@given(st.binary(max_size=300))
@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_in_a_file(tmp_path: Path, raw: bytes) -> None:
    file = tmp_path / "fuzz.yaml"
    file.write_bytes(raw)
    try:
        assert isinstance(load(file), Settings)
    except SettingsError as refused:
        assert all(fault.startswith(f"{file}:") and "\n" not in fault for fault in refused.faults)


TOO_DEEP = "nested deeper than 5 levels"
OPENERS = {
    "[": TOO_DEEP,
    "{": TOO_DEEP,
    "- ": TOO_DEEP,
    "? ": TOO_DEEP,
    "{a: ": TOO_DEEP,
    "[{": TOO_DEEP,
    "'": "expected keys with values",
    '"': "in quotes",
    "&a ": "anchors and aliases",
    "!": "tags",
    "a: \n ": "a known key",
    "|\n": "in quotes",
    "-\n": "expected keys with values",
}


@pytest.mark.parametrize(("opener", "words"), OPENERS.items())
@pytest.mark.timeout(SOON_S)
def test_an_opener_repeated_to_the_size_limit_neither_hangs_nor_overflows(opener: str, words: str) -> None:
    text = opener * (65_000 // len(opener))
    with pytest.raises(SettingsError, match=words) as refused:
        loads(text, name="fuzz.yaml")
    is_well_told(refused.value)


@pytest.mark.timeout(SOON_S)
def test_a_remark_as_long_as_a_file_may_be_is_a_remark() -> None:
    assert outcome("# " * 32_500) == loads("")
