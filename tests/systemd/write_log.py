"""A log of all that was written to a disk -> the disk as it was at any moment, also one whose cache was lost.

The format is that of the kernel's dm-log-writes (Documentation/admin-guide/device-mapper/log-writes.rst,
drivers/md/dm-log-writes.c) as QEMU's `blklogwrites` writes it (block/blklogwrites.c): little-endian, first a sector
with magic, version, count and sector size, then for each request a sector with its head (first sector, count of
sectors, flags, length of a mark), and after it the data; a discard has none. A request is logged when it is done, so a
flush stands after all that it vouches for. (A write that was under way when a flush began may stand before it, too:
a cache could still lose that one, and here it does not.)
"""

from __future__ import annotations

import random
import struct
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

MAGIC, VERSION = 0x6A736677736872, 1
FLUSH, FUA, DISCARD, MARK = 1, 2, 4, 8
SUPER, HEAD = struct.Struct("<QQQI"), struct.Struct("<QQQQ")
PIECE_BYTES = 4096
"""What a cache keeps or loses as a whole: a page."""


@dataclass(frozen=True, slots=True)
class Request:
    """Where it goes on the disk, where its data begin in the log, and where it ends there; all in bytes."""

    at: int
    length: int
    flags: int
    data_at: int
    log_end: int


def requests(log: BinaryIO) -> Iterator[Request]:
    """All requests of a log, in the order in which they were done; ValueError if it is none.

    The count in the first sector is not asked: it is brought up to date at flushes alone.
    """
    size = log.seek(0, 2)
    log.seek(0)
    magic, version, _, sector = SUPER.unpack(log.read(SUPER.size).ljust(SUPER.size, b"\0"))
    if magic != MAGIC or version != VERSION or sector < SUPER.size + 4 or sector & (sector - 1):
        raise ValueError("no log of writes, version 1")
    place = sector
    while place + sector <= size:
        log.seek(place)
        first, count, flags, mark_length = HEAD.unpack(log.read(HEAD.size))
        if flags & ~(FLUSH | FUA | DISCARD | MARK):
            raise ValueError(f"unknown flags {flags:#x} at byte {place}")
        if not (flags or count):
            return  # room that was taken and not written yet
        length = 0 if flags & MARK else count * sector
        logged = -(-mark_length // sector) * sector if flags & MARK else 0 if flags & DISCARD else length
        end = place + sector + logged
        if end > size:
            return
        yield Request(first * sector, length, flags, place + sector, end)
        place = end


def carry_out(asked: Iterable[Request], log: BinaryIO, disk: BinaryIO) -> None:
    """Do to the disk what was asked; a discard leaves zeros, as a sparse file does."""
    for request in asked:
        disk.seek(request.at)
        if request.flags & DISCARD:
            disk.write(bytes(request.length))
        elif request.length:
            log.seek(request.data_at)
            disk.write(log.read(request.length))


def last_flush(asked: list[Request]) -> int:
    """How many of them the last flush vouches for, itself included; 0 if there was none."""
    return max((number for number, request in enumerate(asked, 1) if request.flags & FLUSH), default=0)


def in_pieces(request: Request) -> Iterator[Request]:
    """A write as the pages that it covers, a page of the disk each."""
    if request.flags & (DISCARD | FUA | FLUSH) or not request.length:
        yield request
        return
    done = 0
    while done < request.length:
        length = min(PIECE_BYTES - (request.at + done) % PIECE_BYTES, request.length - done)
        data_at = request.data_at + done
        yield Request(request.at + done, length, request.flags, data_at, data_at + length)
        done += length


def kept_by_a_cache(asked: list[Request], draw: random.Random) -> list[Request]:
    """What is on a card with a cache of its own that honours flushes, when the power goes after these.

    All up to the last flush; of later writes each page is kept or lost by chance, and so is each discard. The share
    that is kept is drawn anew each time, so that almost nothing and almost all come up as well. What was asked to be
    on the card at once (FUA) is.
    """
    sure = last_flush(asked)
    share = draw.random()
    pieces = (piece for request in asked[sure:] for piece in in_pieces(request))
    return asked[:sure] + [piece for piece in pieces if piece.flags & FUA or draw.random() < share]


def read(log: Path) -> list[Request]:
    """All requests of a log's file."""
    with log.open("rb") as file:
        return list(requests(file))
