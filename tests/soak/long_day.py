"""A day of a pedal as fast as it can be judged: the real loop on a tape that never ends, and its own clock."""

from __future__ import annotations

import gc
import itertools
import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from pedal.live.assembly import Panel, assemble
from pedal.live.capture import Capture
from pedal.live.log_writer import LogWriter
from pedal.live.loop import Loop
from pedal.live.memory_file import MemoryFile
from pedal.live.printer import Printer
from pedal.log import open_store
from pedal.modes.input_events import Action, Command
from pedal.modes.log_entry import LogEntry
from pedal.modes.pedal import Pedal, PedalState
from pedal.ports import Block, StreamFacts
from pedal.settings.load import load
from pedal.synth.drills import SCENES
from tests.live.doubles import MemoryScreen

RATE, BLOCK = 48_000, 128
MOST_BLOCKS_AT_ONCE = 8
"""What `hw.portaudio_input` hands over at once: as many whole blocks as the driver holds."""
LOOK_EACH_S = 600.0
LOOKS_A_WORD = 18
"""`make soak` says every three hours of sound how it goes."""
Samples = NDArray[np.float32]


def hours(usual: float) -> float:
    """How long a day lasts; UNDERTOE_SOAK_HOURS shortens or lengthens it."""
    return float(os.environ.get("UNDERTOE_SOAK_HOURS", usual))


@dataclass(frozen=True)
class Look:
    """The process at one moment of the day."""

    heard_s: float
    resident_kb: int
    python_blocks: int


def resident_kb() -> int:
    words = Path("/proc/self/status").read_text().split()
    return int(words[words.index("VmRSS:") + 1])


class Tape:
    """An audio source of pieces (seconds of sound each) for `length_s`; its clock is what was played."""

    def __init__(self, pieces: Iterator[Samples], length_s: float) -> None:
        self._pieces, self._length_s = pieces, length_s
        self._piece: Samples = np.zeros(0, np.float32)
        self._given = 0
        self._rng = np.random.default_rng(7)
        self.looks: list[Look] = []

    def now_s(self) -> float:
        return self._given / RATE

    def open(self) -> StreamFacts:
        return StreamFacts("a tape", RATE, BLOCK, 1)

    def read(self) -> Block | None:
        if self.now_s() >= self._length_s:
            return None
        if len(self._piece) < BLOCK:
            self._piece = next(self._pieces)
        there = len(self._piece) // BLOCK
        samples = BLOCK * min(there, int(self._rng.integers(1, MOST_BLOCKS_AT_ONCE + 1)))
        block, self._piece = self._piece[:samples], self._piece[samples:]
        self._given += samples
        if self.now_s() >= LOOK_EACH_S * len(self.looks):
            look = Look(self.now_s(), resident_kb(), sys.getallocatedblocks())
            self.looks.append(look)
            if len(self.looks) % LOOKS_A_WORD == 0:
                print(f"{look.heard_s / 3600:.0f} h heard, {look.resident_kb / 1000:.1f} MB resident", flush=True)
        return Block(block)

    def close(self) -> None:
        pass


class Blackboard(MemoryScreen):
    """Counts pictures in place of keeping them."""

    def __init__(self) -> None:
        super().__init__()
        self.shown = 0

    def show(self, bitmap: object) -> None:
        self.shown += 1


class CountedKeeping(LogWriter):
    """Counts what the pedal wants kept."""

    handed_over = 0

    def keep(self, entries: tuple[LogEntry, ...]) -> None:
        self.handed_over += len(entries)
        super().keep(entries)


class NoSignals:
    """Nobody stops this day."""

    def wait(self, timeout_s: float) -> int | None:
        import time

        time.sleep(timeout_s)
        return None


@dataclass
class Day:
    """What was seen of a day."""

    looks: list[Look]
    verdicts: int
    entries: int
    pictures: int
    remarks: list[str]
    folder: Path

    def growth_kb(self, since: float = 0.25) -> float:
        """The median resident memory of the last quarter over that of the one after `since`."""
        kb = [look.resident_kb for look in self.looks]
        begin, quarter = int(since * len(kb)), max(1, len(kb) // 4)
        return float(np.median(kb[-quarter:]) - np.median(kb[begin : begin + quarter]))

    def told(self) -> str:
        first, last = self.looks[min(len(self.looks) - 1, len(self.looks) // 4)], self.looks[-1]
        begin, end = f"{first.resident_kb / 1000:.1f} MB", f"{last.resident_kb / 1000:.1f} MB"
        return (
            f"{last.heard_s / 3600:.1f} h heard, {self.verdicts} verdicts, {self.entries} entries, "
            f"{self.pictures} pictures; resident {begin} after {first.heard_s / 3600:.1f} h, {end} at the end "
            f"({self.growth_kb():+.0f} kB); Python blocks {first.python_blocks} and {last.python_blocks}"
        )


def live_through(pieces: Iterator[Samples], length_s: float, folder: Path, *, feet: bool = True) -> Day:
    """The whole pedal, every part but the devices: a log, a memory, a screen and restless feet."""
    tape, screen, settings = Tape(pieces, length_s), Blackboard(), load(None, environment={"HOME": str(folder)})
    counted: list[int] = [0]

    def count(_: object) -> str:
        counted[0] += 1
        return ""

    remarks: list[str] = []
    log_writer = CountedKeeping(lambda: open_store(folder / "log.sqlite"), MemoryFile(folder / "remembered.json", {}))
    parts = assemble(
        Pedal(PedalState()),
        Capture(lambda: tape, live=False),
        log_writer=log_writer,
        printer=Printer(None),
        panel=Panel(lambda: screen, settings.display, ages=True),
        script=tuple(restless_feet(length_s)) if feet else (),
        clock=tape.now_s,
    )
    told: Callable[[object], None] = parts.engine._tell
    parts.engine._tell = lambda verdict: (count(verdict), told(verdict))[1]
    outcome = Loop(parts, signals=NoSignals(), remark=remarks.append).run()
    assert outcome == "over"
    gc.collect()
    return Day(tape.looks, counted[0], log_writer.handed_over, screen.shown, remarks, folder)


def restless_feet(length_s: float) -> Iterator[Command]:
    """Any action each half a minute."""
    rng, actions = np.random.default_rng(4), get_args(Action)
    for at_s in np.arange(10.0, length_s, 30.0):
        yield Command(float(at_s), actions[int(rng.integers(len(actions)))])


def varied() -> Iterator[Samples]:
    """All scenes of the demo again and again, ever at another loudness and hiss; hum, noise and quiet between them."""
    rng = np.random.default_rng(11)
    scenes = [make().samples(sample_rate=RATE, rng=rng) for make in SCENES.values()]
    t = np.arange(20 * RATE) / RATE
    hum = (0.05 * np.sin(2 * np.pi * 50 * t) + 0.03 * np.sin(2 * np.pi * 150 * t)).astype(np.float32)
    for turn in itertools.count():
        scene = scenes[turn % len(scenes)]
        gain, hiss = 10 ** (rng.uniform(-20, 9) / 20), 10 ** (rng.uniform(-90, -50) / 20)
        for piece in np.array_split(scene, max(1, len(scene) // RATE)):
            noisy = gain * piece + hiss * rng.standard_normal(len(piece), np.float32)
            yield np.clip(noisy, -1, 1).astype(np.float32)
        match turn % 5:
            case 0:
                yield hum
            case 1:
                yield rng.uniform(-1, 1, 5 * RATE).astype(np.float32)
            case 2:
                yield np.zeros(30 * RATE, np.float32)
            case _:
                pass
