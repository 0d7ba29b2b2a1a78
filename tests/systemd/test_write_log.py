"""The reader of a log of writes, on logs made by hand as the kernel's description of the format says."""

from __future__ import annotations

import io
import random
import shutil
import struct
import subprocess
from pathlib import Path

import pytest

from tests.systemd.write_log import (
    DISCARD,
    FLUSH,
    FUA,
    MAGIC,
    MARK,
    carry_out,
    in_pieces,
    kept_by_a_cache,
    last_flush,
    read,
    requests,
)

SECTOR = 512


def filled(letter: str, sectors: int = 1) -> bytes:
    return letter.encode() * (SECTOR * sectors)


def a_log(*entries: tuple[int, int, int, bytes], sector: int = SECTOR) -> io.BytesIO:
    """Entries of (first sector, sectors, flags, data) below a head that says that there are none."""
    pieces = [struct.pack("<QQQI", MAGIC, 1, 0, sector).ljust(sector, b"\0")]
    for first, count, flags, data in entries:
        head = struct.pack("<QQQQ", first, count, flags, len(data) if flags & MARK else 0)
        pieces += [head.ljust(sector, b"\0"), data + bytes(-len(data) % sector)]
    return io.BytesIO(b"".join(pieces))


def disk_after(log: io.BytesIO, *, sectors: int = 16) -> bytes:
    disk = io.BytesIO(bytes(sectors * SECTOR))
    carry_out(requests(log), log, disk)
    return disk.getvalue()


def test_writes_marks_discards_and_flushes_are_carried_out_in_their_order() -> None:
    log = a_log(
        (2, 2, 0, filled("a", 2)), (0, 0, FLUSH, b""), (3, 1, FUA, filled("b")), (0, 0, MARK, b"here"),
        (2, 1, DISCARD, b""), (5, 1, 0, filled("c")),
    )  # fmt: skip
    found = list(requests(log))
    assert [(request.at // SECTOR, request.length // SECTOR, request.flags) for request in found] == [
        (2, 2, 0), (0, 0, FLUSH), (3, 1, FUA), (0, 0, MARK), (2, 1, DISCARD), (5, 1, 0),
    ]  # fmt: skip
    assert disk_after(log)[2 * SECTOR : 6 * SECTOR] == bytes(SECTOR) + filled("b") + bytes(SECTOR) + filled("c")
    assert found[-1].log_end == len(log.getvalue())


def test_sectors_of_another_size_count_in_their_own() -> None:
    log = a_log((1, 1, 0, b"a" * 4096), (0, 1, 0, b"b" * 4096), sector=4096)
    assert disk_after(log) == b"b" * 4096 + b"a" * 4096


def test_a_request_that_is_not_whole_is_not_there() -> None:
    """Wherever the log ends, head or data: what was done before it counts, and nothing else."""
    whole = a_log((0, 1, 0, filled("a")), (1, 1, 0, filled("b"))).getvalue()
    for cut in range(1, 2 * SECTOR):
        assert [request.at for request in requests(io.BytesIO(whole[:-cut]))] == [0]


def test_room_that_was_taken_and_not_written_ends_the_log() -> None:
    whole = a_log((0, 1, 0, filled("a"))).getvalue()
    assert len(list(requests(io.BytesIO(whole + bytes(3 * SECTOR))))) == 1


@pytest.mark.parametrize(
    "data", [b"", b"\0" * 4096, struct.pack("<QQQI", MAGIC, 2, 0, 512), struct.pack("<QQQI", MAGIC, 1, 0, 500)]
)
def test_what_is_no_log_is_refused(data: bytes) -> None:
    with pytest.raises(ValueError, match="no log of writes"):
        list(requests(io.BytesIO(data)))


def test_a_flag_that_nobody_knows_is_refused() -> None:
    with pytest.raises(ValueError, match="unknown flags 0x20 at byte 512"):
        list(requests(a_log((0, 1, 32, filled("a")))))


def test_a_write_falls_into_the_pages_of_the_disk() -> None:
    (request,) = requests(a_log((6, 12, 0, filled("a", 12))))
    assert [(piece.at // SECTOR, piece.length // SECTOR) for piece in in_pieces(request)] == [(6, 2), (8, 8), (16, 2)]
    assert [piece.data_at - request.data_at for piece in in_pieces(request)] == [0, 2 * SECTOR, 10 * SECTOR]


def test_a_cache_loses_only_what_no_flush_vouched_for_and_loses_it_in_any_order() -> None:
    log = a_log(
        (0, 1, 0, filled("a")), (0, 0, FLUSH, b""), (8, 1, 0, filled("b")), (16, 1, FUA, filled("c")),
        (24, 1, 0, filled("d")),
    )  # fmt: skip
    asked = list(requests(log))
    assert last_flush(asked) == 2
    seen = set()
    for seed in range(200):
        disk = io.BytesIO(bytes(32 * SECTOR))
        carry_out(kept_by_a_cache(asked, random.Random(seed)), log, disk)
        at = {sector: disk.getvalue()[sector * SECTOR : (sector + 1) * SECTOR] for sector in (0, 8, 16, 24)}
        assert at[0] == filled("a"), "what was flushed stays"
        assert at[16] == filled("c"), "and so does what was asked to be there at once"
        seen.add((at[8] == filled("b"), at[24] == filled("d")))
    assert seen == {(True, True), (True, False), (False, True), (False, False)}


def test_without_a_flush_nothing_is_sure() -> None:
    asked = list(requests(a_log((0, 1, 0, filled("a")))))
    assert last_flush(asked) == 0
    assert {len(kept_by_a_cache(asked, random.Random(seed))) for seed in range(50)} == {0, 1}


@pytest.mark.skipif(shutil.which("qemu-io") is None, reason="no qemu-utils on this machine")
def test_what_the_emulator_logs_is_what_the_disk_holds(tmp_path: Path) -> None:
    """The outside truth: QEMU's own writer of the format."""
    disk, log = tmp_path / "disk", tmp_path / "log"
    disk.write_bytes(bytes(1 << 20))
    log.touch()
    image = f"driver=blklogwrites,file.driver=file,file.filename={disk},log.driver=file,log.filename={log}"
    orders = ("write -P 1 0 8k", "flush", "write -P 2 4k 12k", "write -P 3 64k 512", "discard 0 4k", "write -z 5k 1k")
    done = subprocess.run(
        ["qemu-io", *(word for order in (*orders, "flush") for word in ("-c", order)), "--image-opts", image],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    asked = read(log)
    assert sum(bool(request.flags & FLUSH) for request in asked) >= 2
    again = tmp_path / "again"
    again.write_bytes(bytes(1 << 20))
    with log.open("rb") as source, again.open("r+b") as target:
        carry_out(asked, source, target)
    assert again.read_bytes() == disk.read_bytes()
    assert any(again.read_bytes())
