"""A Round of ten minutes through the real loop, sound included, by a fast clock: what it promises, measured.

    python -m bench.round_by_ear [--minutes 10] [--position 1]

A made-up player reads what is asked and plays it; capture, ear, verdicts, pedal and log are those of `undertoe live`.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterator
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any

from pedal import wiring
from pedal.live.assembly import assemble
from pedal.live.capture import Capture
from pedal.live.log_writer import LogWriter
from pedal.live.loop import Loop
from pedal.live.performing import Performance, blocks_by_asking
from pedal.live.printer import Printer
from pedal.log import StoreReader
from pedal.modes.input_events import Command
from pedal.modes.pedal import Pedal, PedalState
from pedal.practice.item import Item
from pedal.synth.player import MadeUpPlayer


class NoSignals:
    """Nobody stops it."""

    def wait(self, timeout_s: float) -> int | None:
        import threading

        threading.Event().wait(min(timeout_s, 0.02))
        return None


def play(minutes: int, position: int) -> tuple[list[tuple[float, Item | str]], list[Any], Pedal]:
    """What was on the screen and since when, the log, and the pedal as it was left."""
    seen: list[tuple[float, Item | str]] = []
    pedal = Pedal(PedalState(mode="round", round_minutes=minutes, position=position))
    performance = Performance(lambda: iter(()), paced=False)

    def asked() -> Item | str | None:
        what = pedal.asked
        if what is not None and (not seen or seen[-1][1] != what):
            seen.append((performance.now_s(), what))
        elif isinstance(what, Item):
            seen.append((performance.now_s(), what))  # the same again: another try
        return what

    performance = Performance(blocks_by_asking(MadeUpPlayer(pedal.settings.key), asked), paced=False)
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "log.sqlite"
        parts = assemble(
            pedal,
            Capture(lambda: performance, live=False),
            log_writer=LogWriter(lambda: wiring.store(log, most_mb=100), None),
            printer=Printer(None),
            script=(Command(0.5, "next_target"),),
            clock=performance.now_s,
        )
        Loop(parts, signals=NoSignals(), remark=lambda _: None).run()
        with StoreReader(log) as reader:
            entries = list(reader.entries(reader.sessions()[0].id))
    return seen, entries, pedal


def findings(seen: list[tuple[float, Item | str]], entries: list[Any], pedal: Pedal) -> Iterator[str]:
    """The promises, each with its figure."""
    minutes = pedal.settings.round_minutes
    end_s = next(at for at, what in seen if what == "end") - 0.5
    yield f"ended at {end_s:.1f} s of {60 * minutes}: off by {end_s - 60 * minutes:+.1f} s (15 allowed)"
    tries = [what for _, what in seen if isinstance(what, Item)]
    firsts = [item for item, _ in groupby(item for item in tries if item.part != "between")]
    falls = sum(a.part == b.part and a.force_n > b.force_n for a, b in pairwise(firsts))
    laps = sum(a.part == b.part == "bend" and a.force_n > b.force_n for a, b in pairwise(firsts))
    yield f"{len(tries)} notes asked for, {len(firsts)} items; force fell within a part {falls} times ({laps} in bends)"
    together = sum(a.heavy and b.heavy for a, b in pairwise(tries))
    heavy = sum(item.heavy for item in tries)
    yield f"{heavy} heavy bends of at most {pedal.settings.heavy_most}; two in a row: {together}"
    rests = [at - 0.5 for at, what in seen if what == "rest"]
    yield f"rests at {', '.join(f'{at:.0f} s' for at in rests)}"
    words = [entry.verdict.verdict for entry in entries if entry.verdict]
    share = 100 * words.count("true") / max(1, len(words))
    yield f"{len(entries)} lines in the log, {share:.0f} % true"
    yield from (f"{title}: {whole}" for title, _, whole in getattr(pedal.screen(), "lines", ()))


def main() -> None:
    """Print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--minutes", type=int, default=10, choices=(5, 10, 20))
    parser.add_argument("--position", type=int, default=1)
    arguments = parser.parse_args()
    print("\n".join(findings(*play(arguments.minutes, arguments.position))))


if __name__ == "__main__":
    main()
