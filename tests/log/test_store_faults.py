"""A log that cannot be used: refused, waited for, or set aside, each with its sentence and status."""

from __future__ import annotations

import errno
import os
import resource
import signal
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from pedal.errors import StoreError
from pedal.log import StoreReader, open_store
from pedal.log.schema import VERSION
from pedal.modes.log_entry import LogEntry

Build = Callable[..., LogEntry]
NOBODY = 65534


def kept(path: Path) -> list[float]:
    with StoreReader(path) as log:
        return [entry.time_s for session in log.sessions() for entry in log.entries(session.id)]


@pytest.fixture
def log_path(tmp_path: Path, an_entry: Build) -> Path:
    """A log of fifty entries, closed."""
    path = tmp_path / "log.sqlite"
    store = open_store(path)
    store.append([an_entry(time_s=float(t)) for t in range(50)])
    store.close()
    return path


@pytest.fixture
def as_nobody(tmp_path: Path) -> Iterator[None]:
    """Permissions bind only those who are not root."""
    if os.geteuid() == 0:
        for folder in (tmp_path, *tmp_path.parents):
            if folder.stat().st_mode & 0o001 == 0 and folder.is_relative_to(Path(tmp_path.root) / "tmp"):
                folder.chmod(folder.stat().st_mode | 0o011)
        for file in tmp_path.iterdir():
            file.chmod(0o444)
        os.seteuid(NOBODY)
        yield
        os.seteuid(0)
    else:
        yield


def test_a_missing_folder_is_made(tmp_path: Path, an_entry: Build) -> None:
    path = tmp_path / "state" / "undertoe" / "log.sqlite"
    store = open_store(path)
    store.append([an_entry()])
    store.close()
    assert kept(path) == [3.0]


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(
        StoreError,
        match=r"The log's folder .*file/state cannot be made: Not a directory; name another file with --log\.",
    ) as refusal:
        open_store(tmp_path / "file" / "state" / "log.sqlite")
    assert refusal.value.exit_status == 1


def test_a_folder_that_may_not_be_written_is_named(tmp_path: Path, as_nobody: None) -> None:
    with pytest.raises(StoreError, match=r"cannot be (made|used): .*(Permission denied|permission)"):
        open_store(tmp_path / "closed" / "log.sqlite") if os.geteuid() == NOBODY else open_store(
            _closed(tmp_path) / "log.sqlite"
        )


def _closed(folder: Path) -> Path:
    closed = folder / "closed"
    closed.mkdir(mode=0o500)
    return closed


def test_a_file_that_may_not_be_written_is_still_read(log_path: Path, as_nobody: None) -> None:
    if os.geteuid() != NOBODY:
        log_path.chmod(0o400)
    with pytest.raises(StoreError, match="may not be written: give this user write permission"):
        open_store(log_path)
    assert len(kept(log_path)) == 50


def test_a_file_of_a_newer_version_is_refused_and_left_alone(log_path: Path) -> None:
    with sqlite3.connect(log_path) as file:
        file.execute(f"PRAGMA user_version = {VERSION + 1}")
    file.close()
    before = log_path.read_bytes()
    for opening in (open_store, StoreReader):
        with pytest.raises(StoreError, match=rf"newer Undertoe \(file version {VERSION + 1}\): update this one"):
            opening(log_path)
    assert log_path.read_bytes() == before


def test_another_programs_file_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "stamps.sqlite"
    with sqlite3.connect(path) as file:
        file.execute("CREATE TABLE stamps (name)")
    file.close()
    before = path.read_bytes()
    for opening in (open_store, StoreReader):
        with pytest.raises(StoreError, match="belongs to another program"):
            opening(path)
    assert path.read_bytes() == before


def test_a_file_that_is_no_log_by_name_is_not_moved(tmp_path: Path) -> None:
    path = tmp_path / "song.wav"
    path.write_bytes(b"RIFF" + bytes(2000))
    with pytest.raises(StoreError, match=r"song\.wav is no log of this pedal"):
        open_store(path)
    assert [p.name for p in tmp_path.iterdir()] == ["song.wav"]


def test_a_damaged_file_is_set_aside_and_a_fresh_one_begun(log_path: Path, an_entry: Build) -> None:
    log_path.write_bytes(b"not a database at all" * 200)
    store = open_store(log_path)
    store.append([an_entry(time_s=7.0)])
    store.close()
    assert "it is kept as log.damaged-1.sqlite, and a fresh one was begun" in store.remark
    assert (log_path.parent / "log.damaged-1.sqlite").read_bytes().startswith(b"not a database")
    assert kept(log_path) == [7.0]


def test_damage_found_while_writing_loses_no_new_entry(log_path: Path, an_entry: Build) -> None:
    with log_path.open("r+b") as file:  # every page but the first, which holds the schema's root
        file.seek(4096)
        file.write(b"\xff" * (log_path.stat().st_size - 4096))
    store = open_store(log_path)
    store.append([an_entry(time_s=8.0), an_entry(time_s=9.0)])
    store.close()
    assert kept(log_path) == [8.0, 9.0]
    assert (log_path.parent / "log.damaged-1.sqlite").exists()


def test_a_second_damaged_file_gets_another_name(log_path: Path) -> None:
    for _ in range(2):
        log_path.write_bytes(b"x" * 5000)
        open_store(log_path).close()
    assert {p.name for p in log_path.parent.glob("*damaged*")} == {"log.damaged-1.sqlite", "log.damaged-2.sqlite"}


def test_a_full_disk_pauses_and_recovers_with_the_same_batch(log_path: Path, an_entry: Build) -> None:
    store = open_store(log_path)
    store.append([an_entry(time_s=100.0)])
    batch = [an_entry(time_s=101.0 + t) for t in range(40)]
    store._connection.execute(f"PRAGMA max_page_count = {log_path.stat().st_size // 4096 + 1}")
    for _ in range(2):
        with pytest.raises(StoreError, match="the disk is full: make room; logging goes on by itself"):
            store.append(batch)
    store._connection.execute("PRAGMA max_page_count = 1000000")
    store.append(batch)
    store.close()
    assert kept(log_path)[50:] == [100.0 + t for t in range(41)]


def test_a_file_that_may_not_grow_pauses_and_recovers(log_path: Path, an_entry: Build) -> None:
    """The system's own refusal to write (a limit of file size stands for a full disk) rather than SQLite's."""
    store = open_store(log_path)
    store.append([an_entry(time_s=100.0)])
    batch = [an_entry(time_s=101.0 + t) for t in range(400)]
    _, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, hard))
    try:
        with pytest.raises(StoreError, match=r"the disk (is full|does not answer)"):
            store.append(batch)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
        signal.signal(signal.SIGXFSZ, ignored)
    store.append(batch)
    store.close()
    assert kept(log_path)[50:] == [100.0 + t for t in range(401)]


def test_a_locked_log_says_who_is_to_blame_and_keeps_the_batch(
    log_path: Path, an_entry: Build, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.log.opening.BUSY_S", 0.01)
    store = open_store(log_path)
    other = sqlite3.connect(log_path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(StoreError, match="another program holds it: close that one, or name another file with --log"):
        store.append([an_entry(time_s=100.0)])
    other.execute("ROLLBACK")
    store.append([an_entry(time_s=100.0)])
    store.close()
    other.close()
    assert kept(log_path)[50:] == [100.0]


def test_looking_at_a_log_that_is_not_there_says_how_to_get_one(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"There is no log at .*nothing\.sqlite yet: play with `undertoe live`"):
        StoreReader(tmp_path / "nothing.sqlite")
    assert list(tmp_path.iterdir()) == []


def test_thinning_that_fails_does_not_make_a_batch_come_twice(
    log_path: Path, an_entry: Build, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The batch is on the disk when thinning begins: a refusal then would make the caller give it again."""

    def fail(*_: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    store = open_store(log_path)
    monkeypatch.setattr("pedal.log.thinning.keep_below", fail)
    store.append([an_entry(time_s=100.0)])
    store.close()
    assert kept(log_path)[50:] == [100.0]


def test_a_damaged_log_that_cannot_be_set_aside_is_tried_again(
    log_path: Path, an_entry: Build, monkeypatch: pytest.MonkeyPatch
) -> None:
    with log_path.open("r+b") as file:
        file.seek(4096)
        file.write(b"\xff" * (log_path.stat().st_size - 4096))
    store = open_store(log_path)
    rename = Path.rename
    monkeypatch.setattr(Path, "rename", refuse_to_rename)
    for _ in range(2):
        with pytest.raises(StoreError, match="is damaged .* and cannot be renamed: Read-only file system"):
            store.append([an_entry(time_s=101.0)])
    monkeypatch.setattr(Path, "rename", rename)
    store.append([an_entry(time_s=101.0)])
    assert "is kept as log.damaged-1.sqlite" in store.remark
    store.close()
    assert kept(log_path) == [101.0]


def refuse_to_rename(*_: object) -> None:
    raise OSError(errno.EROFS, os.strerror(errno.EROFS))


def test_a_new_log_is_its_owners_alone_whatever_the_umask(tmp_path: Path) -> None:
    before = os.umask(0o000)
    try:
        open_store(tmp_path / "kept" / "log.sqlite").close()
    finally:
        os.umask(before)
    assert (tmp_path / "kept").stat().st_mode & 0o777 == 0o700
    assert (tmp_path / "kept" / "log.sqlite").stat().st_mode & 0o777 == 0o600


def test_a_batch_with_an_entry_that_cannot_be_kept_leaves_nothing_behind(log_path: Path, an_entry: Build) -> None:
    store = open_store(log_path)
    with pytest.raises(StoreError, match="cannot be used: NOT NULL constraint failed: entry.time_s"):
        store.append([an_entry(time_s=100.0), an_entry(time_s=float("nan"))])
    store.append([an_entry(time_s=101.0)])
    store.close()
    assert kept(log_path)[50:] == [101.0]
