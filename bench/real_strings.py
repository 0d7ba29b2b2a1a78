"""The ear over recordings of single notes: crashes, gross slips, when each is first heard, how it starts.

`python -m bench.real_strings FOLDER [--every N] [--worst N] [--only ROW]`: FOLDER/manifest.csv names `file`, `cls` and
`midi`; of the classes, singles and staccato are one plucked note a file, every other sound must only be survived.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from pedal.pitch import make_tracker

RATE, HOP = 48_000, 128
LEAD_S, TAIL_S = 0.4, 0.5
HISS_DB = -85.0
GROSS_CENTS, OFF_CENTS = 600.0, 60.0
START_S = 0.08
FLAT_CENTS = 25.0

Samples = NDArray[np.float64]
Change = Callable[[Samples], Samples]


@dataclass
class Row:
    """What was counted over all notes of one kind; times in ms, each with the file it came from."""

    notes: int = 0
    voiced: int = 0
    gross: int = 0
    off: int = 0
    outside: int = 0
    crashes: list[str] = field(default_factory=list)
    slips: list[tuple[int, str]] = field(default_factory=list)
    first_ms: list[tuple[float, str]] = field(default_factory=list)
    flat: list[tuple[float, str]] = field(default_factory=list)


def load(path: Path) -> Samples:
    """The first channel at `RATE`."""
    x, rate = soundfile.read(path, always_2d=True)
    x = x[:, 0]
    return x if rate == RATE else np.interp(np.arange(0, len(x) - 1, rate / RATE), np.arange(len(x)), x)


def onset_of(x: Samples) -> int:
    """The first sample that reaches a twentieth of the peak."""
    return int(np.argmax(np.abs(x) > 0.05 * np.abs(x).max()))


def loud(x: Samples) -> Samples:
    """A peak of -12 dBFS."""
    return 0.25 * x / max(1e-9, float(np.abs(x).max()))


def stopped(seconds: float) -> Change:
    """Faded out over 25 ms, so long after the pluck."""

    def change(x: Samples) -> Samples:
        x = x[: onset_of(x) + int(seconds * RATE)].copy()
        n = int(0.025 * RATE)
        x[-n:] *= 0.5 * (1 + np.cos(np.pi * np.arange(n) / n))
        return loud(x)

    return change


def hum(count: int, mains_hz: float, level_db: float) -> Samples:
    """Mains with its harmonics, as coils pick it up."""
    strengths = {1: 1.0, 2: 0.7, 3: 0.6, 4: 0.3, 5: 0.3, 6: 0.2, 7: 0.15, 9: 0.1, 11: 0.1}
    t = np.arange(count) / RATE
    x = sum(a * np.sin(2 * np.pi * mains_hz * k * t + k) for k, a in strengths.items())
    return np.asarray(x * 10 ** (level_db / 20) / np.sqrt(np.mean(np.square(x))))


def driven(x: Samples) -> Samples:
    """Through a soft clipper, 30 dB in."""
    y = np.tanh(stopped(1.2)(x) * 4 * 10 ** (30 / 20) + 0.05)
    return np.asarray(0.4 * np.convolve(y - y.mean(), np.hanning(14) / 6.5, "same"))


def room(x: Samples) -> Samples:
    """A made-up room, 30 % wet: its answer is noise that is 60 dB down after 1.5 s (Moorer 1979, from memory)."""
    n = int(1.5 * RATE)
    answer = np.random.default_rng(3).normal(size=n) * 10 ** (-3 * np.arange(n) / n)
    size = 1 << int(np.ceil(np.log2(len(x) + n)))
    wet = np.fft.irfft(np.fft.rfft(x, size) * np.fft.rfft(answer, size), size)[: len(x) + n]
    wet *= np.sqrt(np.mean(x**2)) / np.sqrt(np.mean(wet[: len(x)] ** 2) + 1e-12)
    return np.asarray(0.7 * np.concatenate([x, np.zeros(n)]) + 0.3 * wet)


def readings_of(x: Samples, lead_s: float) -> NDArray[np.float64]:
    """Rows of (time_s, hz, heard_s, level_db, floor_db), times from the end of the lead."""
    tracker, y = make_tracker(RATE, HOP), x.astype(np.float32)
    rows = []
    for start in range(0, len(y) - HOP + 1, HOP):
        (r,) = tracker.push(y[start : start + HOP])
        rows.append((r.time_s - lead_s, r.hz, r.heard_s - lead_s, r.level_db, r.floor_db))
    return np.array(rows)


def between_silences(x: Samples, mains_hz: float) -> Samples:
    """The sound with a lead, a tail, a converter's hiss and perhaps hum."""
    y = np.concatenate([np.zeros(int(LEAD_S * RATE)), x, np.zeros(int(TAIL_S * RATE))])
    y += np.random.default_rng(1).normal(size=len(y)) * 10 ** (HISS_DB / 20)
    return y + hum(len(y), mains_hz, -50.0) if mains_hz else y


def judge_note(row: Row, name: str, midi: int, x: Samples, mains_hz: float) -> None:
    """Counts one note into the row."""
    row.notes += 1
    try:
        got = readings_of(between_silences(x, mains_hz), LEAD_S)
    except Exception as error:  # the row reports it
        row.crashes.append(f"{name}: {error!r}")
        return
    time_s, hz = got[:, 0], got[:, 1]
    voiced, begin_s = hz > 0, onset_of(x) / RATE
    cents = 1200 * np.log2(np.where(voiced, hz, 1.0) / (440 * 2 ** ((midi - 69) / 12)))
    inside = voiced & (time_s > begin_s - 0.03) & (time_s < len(x) / RATE)
    row.outside += int((voiced & ~inside).sum())
    row.voiced += int(inside.sum())
    gross = inside & (np.abs(cents) > GROSS_CENTS)
    row.gross += int(gross.sum())
    row.off += int((inside & (np.abs(cents) > OFF_CENTS)).sum()) - int(gross.sum())
    if gross.any():
        at = np.flatnonzero(gross)
        row.slips.append((len(at), f"{name} {time_s[at[0]] - begin_s:.2f}..{time_s[at[-1]] - begin_s:.2f} s, "
                          f"{np.median(cents[at]):+.0f} cents, {np.median(got[at, 3]):.0f} dBFS"))  # fmt: skip
    right = np.flatnonzero(inside & (np.abs(cents) < 50))
    if not len(right):
        row.first_ms.append((np.inf, name))
        return
    row.first_ms.append((1000 * (got[right[0], 2] - begin_s), name))
    first = time_s[right[0]]
    start = cents[right][time_s[right] < first + START_S]
    later = cents[right][(time_s[right] > first + 0.15) & (time_s[right] < first + 0.6)]
    if len(later) > 20:
        row.flat.append((float(np.median(start[:12]) - np.median(later)), name))


def told(what: str, row: Row, worst: int) -> Iterator[str]:
    """The row as text."""
    first = np.array([ms for ms, _ in row.first_ms])
    flat = np.array([cents for cents, _ in row.flat])
    share = 100 / max(1, row.voiced)
    yield (
        f"{what:12s} notes {row.notes:4d}  crashes {len(row.crashes):3d}  gross {share * row.gross:.4f} %"
        f" ({row.gross} of {row.voiced})  off {share * row.off:.3f} %  outside {row.outside}"
    )
    if len(first):
        late = float(np.percentile(first, 95, method="lower"))
        yield (
            f"{'':12s} first heard, ms: median {np.median(first):.1f}, p95 {late:.1f},"
            f" over 40: {(first > 40).sum()}, never {np.isinf(first).sum()}"
            f"; starts > {FLAT_CENTS:.0f} cents flat: {(flat < -FLAT_CENTS).sum()}, sharp: {(flat > FLAT_CENTS).sum()}"
        )
    for title, found in (("late", row.first_ms), ("slip", row.slips), ("sharp", row.flat)):
        for value, name in sorted(found, reverse=True)[:worst]:
            yield f"    {title} {value:.1f} {name}"
    for value, name in sorted(row.flat)[:worst]:
        yield f"    flat {value:.1f} {name}"
    yield from (f"    crash {why}" for why in row.crashes[:worst])


def main() -> None:
    """Prints a block of lines a row."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--worst", type=int, default=0)
    parser.add_argument("--only", action="append", default=[])
    asked = parser.parse_args()
    with (asked.folder / "manifest.csv").open(encoding="utf-8") as file:
        listed = list(csv.DictReader(file))
    kinds: dict[str, tuple[set[str], Change, float]] = {
        "level": ({"singles"}, lambda x: x, 0.0),
        **{f"cut{s:g}": ({"singles"}, stopped(s), 0.0) for s in (0.25, 0.5, 1.0, 2.0)},
        "damped": ({"staccato"}, lambda x: x, 0.0),
        "hum50": ({"singles"}, stopped(1.0), 50.0),
        "hum60": ({"singles"}, stopped(1.0), 60.0),
        "driven": ({"singles"}, driven, 0.0),
        "room": ({"singles"}, lambda x: room(stopped(1.2)(x)), 0.0),
    }
    total = Row()
    for what, (classes, change, mains_hz) in kinds.items():
        if asked.only and what not in asked.only:
            continue
        row = Row()
        for listing in [r for r in listed if r["cls"] in classes][:: asked.every]:
            judge_note(
                row, listing["file"], int(listing["midi"]), change(load(asked.folder / listing["file"])), mains_hz
            )
        print("\n".join(told(what, row, asked.worst)), flush=True)
        if what not in ("driven", "room"):
            total.notes += row.notes
            total.gross += row.gross
            total.voiced += row.voiced
    print(f"all clean rows and hum: gross {100 * total.gross / max(1, total.voiced):.4f} %")
    if not asked.only or "other" in asked.only:
        crashed = []
        others = [r for r in listed if r["cls"] not in ("singles", "staccato")]
        for listing in others:
            try:
                got = readings_of(between_silences(load(asked.folder / listing["file"]), 0.0), LEAD_S)
            except Exception as error:
                crashed.append(f"{listing['file']}: {error!r}")
                continue
            if listing["cls"] == "chords" and asked.worst:
                print(f"    {listing['file']}: floor at the end {got[-1, 4]:.0f}, at most {got[:, 4].max():.0f} dBFS")
        print(f"other sounds: {len(others)}, crashes {len(crashed)}")
        print("\n".join(f"    {why}" for why in crashed[: asked.worst]))


if __name__ == "__main__":
    main()
