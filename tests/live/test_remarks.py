"""Faults are kept in a file of bounded size for their owner alone; remarks wait until the terminal is free."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from pedal.live.remarks import FaultFile, Remarks

HALF = 100_000


@pytest.mark.parametrize(("size", "left"), [(2 * HALF, 2 * HALF), (2 * HALF + 1, HALF)])
def test_beyond_its_bound_the_older_half_of_the_faults_goes(tmp_path: Path, size: int, left: int) -> None:
    path = tmp_path / "kept" / "faults.txt"
    faults = FaultFile(path, wall=lambda: 0.0)
    faults.add("first")
    written = path.read_bytes()
    assert written == b"1970-01-01 00:00:00 UTC\nfirst\n"
    whole = written + b"x" * (size - len(written) - 1) + b"y"
    path.write_bytes(whole)
    faults.add("last")
    assert path.read_bytes() == whole[-left:] + b"1970-01-01 00:00:00 UTC\nlast\n"
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.parent.stat().st_mode & 0o777 == 0o700


def test_a_link_in_the_place_of_the_file_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "other").write_text("theirs")
    (tmp_path / "faults.txt").symlink_to(tmp_path / "other")
    with pytest.raises(OSError, match=os.strerror(errno.ELOOP)):
        FaultFile(tmp_path / "faults.txt").add("fault")
    assert (tmp_path / "other").read_text() == "theirs"


def test_what_is_said_while_it_is_held_comes_once_and_in_order(capsys: pytest.CaptureFixture[str]) -> None:
    remarks = Remarks(held=True)
    remarks.say("one")
    remarks.say("two")
    assert capsys.readouterr().err == ""
    remarks.release()
    remarks.release()
    remarks.say("three")
    assert capsys.readouterr().err == "undertoe: one\nundertoe: two\nundertoe: three\n"
