"""What the pedal remembers over a power cut: whole or not at all, and never against newer settings."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedal.live.memory_file import MemoryFile

GIVEN = {"mode": "watch", "key": "G minor pentatonic"}
WORDS = {"mode": "ladder", "key": "A minor pentatonic", "rung": 4}
plain = st.text(max_size=8) | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False) | st.booleans()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "state" / "remembered.json"


@given(st.dictionaries(st.text(max_size=8), plain, max_size=8))
@settings(max_examples=30)
def test_what_is_saved_is_loaded(tmp_path_factory: pytest.TempPathFactory, words: dict[str, str | int | float]) -> None:
    file = tmp_path_factory.mktemp("state") / "remembered.json"
    MemoryFile(file, {}).save(words)
    assert MemoryFile(file, {}).load() == words


def test_nothing_remembered_is_no_fault(file: Path) -> None:
    remembered = MemoryFile(file, GIVEN)
    assert remembered.load() == {}
    assert remembered.note == ""


def test_it_is_for_the_players_eyes_only(file: Path) -> None:
    MemoryFile(file, GIVEN).save(WORDS)
    assert file.stat().st_mode & 0o777 == 0o600
    assert file.parent.stat().st_mode & 0o777 == 0o700


def test_a_setting_that_was_changed_since_wins(file: Path) -> None:
    MemoryFile(file, GIVEN).save(WORDS)
    changed = MemoryFile(file, GIVEN | {"key": "E blues"})
    assert changed.load() == {"mode": "ladder", "rung": 4}


DAMAGED = {
    "nothing": b"", "half": b'{"given": {}, "mem', "a list": b"[1, 2]", "other words": b'{"a": 1}',
    "not text": b"\xff\xfe\x00",
    "a tree": b'{"given": {}, "memory": {"mode": {"deep": 1}}}', "an abyss": b"[" * 60_000, "null": b"null",
    "a part that is text": b'{"given": "x", "memory": "y"}',
}  # fmt: skip


@pytest.mark.parametrize("how", DAMAGED)
def test_a_damaged_file_is_ignored_said_and_replaced(file: Path, how: str) -> None:
    file.parent.mkdir()
    file.write_bytes(DAMAGED[how])
    remembered = MemoryFile(file, GIVEN)
    assert remembered.load() == {}
    assert remembered.note.startswith(f"{file} cannot be read")
    assert remembered.note.endswith("starting as new")
    remembered.save(WORDS)
    assert MemoryFile(file, GIVEN).load() == WORDS


def test_a_folder_in_its_place_is_said(file: Path) -> None:
    file.mkdir(parents=True)
    remembered = MemoryFile(file, GIVEN)
    assert remembered.load() == {}
    assert "Is a directory" in remembered.note
    with pytest.raises(OSError, match="directory"):
        remembered.save(WORDS)


@pytest.mark.parametrize("call", ["open", "fsync", "replace"])
def test_a_power_cut_at_any_step_leaves_the_old_words_or_the_new(
    file: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    """The step does not happen and neither does anything after it."""
    old = {"mode": "watch"}
    MemoryFile(file, GIVEN).save(old)

    class PowerCutError(BaseException):
        pass

    def cut(*_: object, **__: object) -> None:
        raise PowerCutError

    with monkeypatch.context() as patch:
        patch.setattr(Path if call == "replace" else os, call, cut)
        with pytest.raises(PowerCutError):
            MemoryFile(file, GIVEN).save(WORDS)
    assert MemoryFile(file, GIVEN).load() in (old, WORDS)
    MemoryFile(file, GIVEN).save(WORDS)
    assert json.loads(file.read_text())["memory"] == WORDS


def test_unchanged_words_are_not_written_again(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    remembered = MemoryFile(file, GIVEN)
    remembered.save(WORDS)
    monkeypatch.setattr(os, "fsync", lambda _: pytest.fail("written again"))
    remembered.save(dict(WORDS))
    again = MemoryFile(file, GIVEN)
    again.load()
    again.save(WORDS)
