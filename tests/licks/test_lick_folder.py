"""Kept licks on the disk: written whole or not at all, damaged ones named, the others there."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest
from passes_by_rule import D4, G3, Bb3, lick_of  # type: ignore[import-not-found]

from pedal.errors import StoreError
from pedal.licks.text import write_lick
from pedal.live.lick_folder import LickFileError, LickFolder, lick_of_file
from pedal.modes.lick_shelf import KeptLick

# Written out, and not taken from the code, so that a change of it is seen.
MOST_LICKS = 40

LICK = replace(lick_of(G3, Bb3, D4), name="old gate")


def test_what_is_kept_is_there_again(tmp_path: Path) -> None:
    folder = LickFolder(tmp_path / "licks")
    path = folder.keep(KeptLick(3, LICK))
    folder.keep(KeptLick(0, lick_of(D4, G3)))
    assert path.name == "03 old gate.lick"
    assert path.stat().st_mode & 0o777 == 0o600
    again = LickFolder(tmp_path / "licks")
    assert [(one.number, one.lick.name) for one in again.load()] == [(0, ""), (3, "old gate")]
    assert again.load()[1].lick.notes == LICK.notes


def test_another_name_under_the_number_takes_the_place_of_the_first(tmp_path: Path) -> None:
    folder = LickFolder(tmp_path)
    folder.keep(KeptLick(3, LICK))
    folder.keep(KeptLick(3, replace(LICK, name="high road/../x")))
    assert [path.name for path in tmp_path.iterdir()] == ["03 high road x.lick"]


def test_a_folder_that_is_not_there_holds_nothing(tmp_path: Path) -> None:
    assert LickFolder(tmp_path / "none").load() == ()


def test_a_damaged_file_is_named_with_its_line_and_the_others_are_there(tmp_path: Path) -> None:
    folder = LickFolder(tmp_path)
    folder.keep(KeptLick(1, LICK))
    (tmp_path / "02 torn.lick").write_text(write_lick(LICK).replace("Bb3", "Xb3"))
    (tmp_path / "03.lick").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "04.lick").write_bytes(b"x" * 30_000)
    (tmp_path / "05.lick").mkdir()
    assert [one.number for one in folder.load()] == [1]
    assert len(folder.faults) == 4
    assert folder.faults[0].startswith(f"{tmp_path / '02 torn.lick'}, line 9: 'Xb3' is neither a note nor a degree")
    assert "save it as UTF-8" in folder.faults[1]


@pytest.mark.parametrize(("more", "said"), [(0, "line"), (1, "is larger than 20 kB: no lick is")])
def test_a_file_that_no_lick_fills_is_refused_unread(tmp_path: Path, more: int, said: str) -> None:
    (tmp_path / "x.lick").write_bytes(b"x" * (20_000 + more))
    with pytest.raises(LickFileError, match=said):
        lick_of_file(tmp_path / "x.lick")


def test_files_of_a_teacher_get_the_free_numbers(tmp_path: Path) -> None:
    folder = LickFolder(tmp_path)
    folder.keep(KeptLick(1, LICK))
    for name in ("zebra.lick", "apple.lick", "99 ninety.lick"):
        (tmp_path / name).write_text(write_lick(replace(LICK, name=name)))
    assert [(one.number, one.lick.name) for one in folder.load()] == [
        (1, "old gate"), (2, "99 ninety.lick"), (3, "apple.lick"), (4, "zebra.lick"),
    ]  # fmt: skip


def test_two_files_of_one_number_are_two_licks_and_neither_takes_the_other_away(tmp_path: Path) -> None:
    folder = LickFolder(tmp_path)
    folder.keep(KeptLick(1, LICK))
    (tmp_path / "01 teacher.lick").write_text(write_lick(replace(LICK, name="of a teacher")))
    assert [(one.number, one.lick.name) for one in folder.load()] == [(1, "old gate"), (2, "of a teacher")]
    folder.keep(KeptLick(1, replace(LICK, beats_a_minute=120.0)))
    assert [(one.number, one.lick.name) for one in folder.load()] == [(1, "old gate"), (2, "of a teacher")]
    folder.forget(2)
    assert [path.name for path in tmp_path.iterdir()] == ["01 old gate.lick"]


def test_one_lick_too_many_is_told(tmp_path: Path) -> None:
    folder = LickFolder(tmp_path)
    for number in range(MOST_LICKS):
        folder.keep(KeptLick(number + 1, LICK))
    (tmp_path / "one more.lick").write_text(write_lick(LICK))
    assert len(folder.load()) == MOST_LICKS
    assert folder.faults == [
        f"{tmp_path / 'one more.lick'} is one lick more than the {MOST_LICKS} that the pedal keeps: take one away"
    ]


def test_a_power_cut_while_writing_leaves_the_old_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = LickFolder(tmp_path)
    folder.keep(KeptLick(0, LICK))

    def cut(*_: object) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", cut)
    with pytest.raises(StoreError, match="cannot be written"):
        folder.keep(KeptLick(0, lick_of(D4, G3)))
    monkeypatch.undo()
    assert LickFolder(tmp_path).load()[0].lick.notes == LICK.notes
    (tmp_path / ".new.lick.0123abcd.part").write_text("undertoe lick 1\nkey G")
    assert len(LickFolder(tmp_path).load()) == 1


def test_forgotten_it_is_gone(tmp_path: Path) -> None:
    folder = LickFolder(tmp_path)
    folder.keep(KeptLick(3, LICK))
    folder.forget(3)
    assert folder.load() == ()
    with pytest.raises(LickFileError, match="no lick 3 is kept"):
        folder.forget(3)


def test_a_lick_of_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(LickFileError, match="is no file"):
        lick_of_file(tmp_path / "x.lick")
