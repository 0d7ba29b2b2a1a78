"""A pitch trace in a few hundred bytes, and back: cents and time steps as 16-bit differences, deflated.

Layout, little-endian: one byte 1, then start time (float64, seconds), first pitch (float64, hertz), count (uint32),
then a zlib stream of five rows of `count` bytes: high and low bytes of the steps of time in 0.1 ms (uint16), high and
low bytes of the steps of pitch in 0.1 cent (int16, modulo 2^16; the first one is 0), level in whole dB (int8).
"""

from __future__ import annotations

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

from pedal.notes.note import Trace

SPACING_S = 0.010
"""Readings closer than this are left out: a vibrato of 8 Hz still keeps twelve points a cycle."""

MOST_POINTS = 36_000
"""Six minutes; the ear ends a note after one. What says that it unpacks to more is not unpacked."""

_HEAD = struct.Struct("<BddI")
_LAYOUT = 1
_TIME_UNIT_S, _CENT_UNITS = 1e-4, 10.0
_MOST_UNITS = 32767
_LEAST_HZ, _MOST_HZ, _MOST_S = 1.0, 100_000.0, 1e9


class TraceBlobError(ValueError):
    """Bytes that are no trace of ours."""


def encode_trace(trace: Trace, *, spacing_s: float = SPACING_S) -> bytes:
    """The trace as bytes: pitch to 0.05 cent within 3276 cents of its first reading, time to 0.05 ms, level to 0.5 dB.

    An empty trace gives b"".
    """
    keep = _spaced(trace.time_s, spacing_s)
    if not len(keep):
        return b""
    time_s, hz, level = trace.time_s[keep], trace.hz[keep], trace.level_db[keep]
    ticks = np.round((time_s - time_s[0]) / _TIME_UNIT_S).astype(np.int64)
    steps = np.diff(ticks, prepend=0).clip(0, 65535).astype("<u2")
    units = np.round(1200.0 * np.log2(hz / hz[0]) * _CENT_UNITS).clip(-_MOST_UNITS, _MOST_UNITS).astype("<i2")
    rises = np.diff(units, prepend=np.int16(0)).astype("<i2")
    planes = b"".join((*_planes(steps), *_planes(rises), np.round(level).clip(-128, 127).astype("i1").tobytes()))
    return _HEAD.pack(_LAYOUT, float(time_s[0]), float(hz[0]), len(keep)) + zlib.compress(planes, 9)


def decode_trace(blob: bytes) -> Trace | None:
    """The trace of `encode_trace`'s bytes, None for b""; raises `TraceBlobError` on anything else.

    Takes memory for the points that the head promises and no more, whatever the stream would unpack to.
    """
    if not blob:
        return None
    try:
        layout, start_s, first_hz, count = _HEAD.unpack_from(blob)
    except struct.error as fault:
        raise TraceBlobError(f"{len(blob)} bytes are no pitch trace: {fault}") from fault
    if layout != _LAYOUT or not 1 <= count <= MOST_POINTS:
        raise TraceBlobError(f"a pitch trace of layout {layout} with {count} points: 1 to {MOST_POINTS} are possible")
    if not (abs(start_s) <= _MOST_S and _LEAST_HZ <= first_hz <= _MOST_HZ):
        raise TraceBlobError(f"a pitch trace that begins at {start_s:g} s with {first_hz:g} Hz")
    planes = _unpacked(blob[_HEAD.size :], 5 * count)
    rows = planes.reshape(5, count)
    ticks = np.cumsum(_joined(rows[0], rows[1]).astype(np.int64))
    units = np.cumsum(_joined(rows[2], rows[3]).view(np.int16), dtype=np.int16)
    hz = first_hz * 2.0 ** (units / _CENT_UNITS / 1200.0)
    return Trace(start_s + ticks * _TIME_UNIT_S, hz, rows[4].view(np.int8).astype(np.float64))


def _unpacked(stream: bytes, size: int) -> NDArray[np.uint8]:
    """Exactly so many bytes of a zlib stream."""
    inflating = zlib.decompressobj()
    try:
        planes = inflating.decompress(stream, size + 1)
    except zlib.error as fault:
        raise TraceBlobError(f"{len(stream)} bytes are no pitch trace: {fault}") from fault
    if len(planes) != size or not inflating.eof or inflating.unused_data:
        raise TraceBlobError(f"a pitch trace that does not unpack to the {size} bytes it promises")
    return np.frombuffer(planes, np.uint8)


def _spaced(time_s: NDArray[np.float64], spacing_s: float) -> NDArray[np.intp]:
    """Indices of readings at least `spacing_s` apart (to a tenth of it), the first one always among them."""
    if not len(time_s):
        return np.zeros(0, np.intp)
    slots = np.floor((time_s - time_s[0]) / spacing_s + 0.1).astype(np.int64)
    return np.flatnonzero(np.diff(slots, prepend=-1) > 0)


def _planes(values: NDArray[np.generic]) -> tuple[bytes, bytes]:
    pairs = np.frombuffer(values.tobytes(), np.uint8).reshape(-1, 2)
    return pairs[:, 1].tobytes(), pairs[:, 0].tobytes()


def _joined(high: NDArray[np.uint8], low: NDArray[np.uint8]) -> NDArray[np.uint16]:
    return np.asarray((high.astype(np.uint16) << 8) | low, np.uint16)
