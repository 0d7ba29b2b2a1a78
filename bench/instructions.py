"""The whole live pedal in one thread, without hardware, marked at each border: to count instructions by emulation.

Run under an emulator that counts from one `os.getppid` to the next, a call that does nothing (docs/realtime.md says
how). Printed: a label for each stretch between two marks, in order, as JSON, and two figures for a check. On its own it
counts nothing.

    python -m bench.instructions start            from nothing to the assembled pedal with its first picture
    python -m bench.instructions play SECONDS     then so many seconds of a slow blues
"""

from __future__ import annotations

import os

LABELS: list[str] = []


def mark(label: str) -> None:
    """What came since the last mark was this."""
    LABELS.append(label)
    os.getppid()


os.getppid()

# The program does not ask for what only the bench needs before it is counted, so imports follow the marks.
import gc  # noqa: E402
import itertools  # noqa: E402
import json  # noqa: E402
import queue  # noqa: E402
import sys  # noqa: E402
import types  # noqa: E402
from typing import Any  # noqa: E402

BLOCK = 128
TRANSFER_S = 0.005
"""What a bus takes for what changed: quick enough for 64 pictures a second while the string moves. By the machine's own
clock no count would repeat."""


class Wire:
    """A bus that takes everything at once."""

    def __init__(self, *_: object) -> None:
        pass

    def __getattr__(self, _: str) -> Any:
        return lambda *_, **__: None


class Clock:
    """The time of the sound."""

    now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


class Stop:
    """Set once all was heard."""

    def __init__(self) -> None:
        self.over = False

    def is_set(self) -> bool:
        return self.over


class Rendered:
    """In place of `Arrivals`: when the hearing rests, time passes and the blocks of that time have come."""

    def __init__(self, clock: Clock, stop: Stop) -> None:
        self._clock, self._stop = clock, stop
        self.blocks: list[Any] = []
        self._at = 0
        self._come: queue.SimpleQueue[Any] = queue.SimpleQueue()

    def begin(self, arrival: Any) -> None:
        self._come.put(arrival)

    def rest(self, timeout_s: float) -> None:
        mark("hearing")
        self._clock.now_s += max(0.0, timeout_s)
        until = int(self._clock.now_s * 48_000 / BLOCK)
        for block in self.blocks[self._at : until]:
            self._come.put(block)
        self._at = until
        self._stop.over = until >= len(self.blocks)
        mark("bench")

    def all_now(self) -> list[Any]:
        return [self._come.get() for _ in range(self._come.qsize())]

    def empty(self) -> bool:
        return self._come.empty()


def main() -> None:
    """Count what is asked for."""
    asked, seconds = sys.argv[1], float(sys.argv[2]) if len(sys.argv) > 2 else 0.0
    sys.modules["pyaudio"] = types.ModuleType("pyaudio")  # a C library that is not there under emulation
    mark("bench")
    from pedal.cli import entry

    arguments = entry._parser(["live"]).parse_args(["live", "--no-drone"])
    mark("start: command line")
    from pedal.cli.live import _printer, _wanted
    from pedal.live.remarks import Remarks
    from pedal.live.session import LiveSession

    mark("start: imports")
    printer = _printer(arguments)
    session = LiveSession(_wanted(arguments), printer, Remarks(held=True))
    settings = session._settings
    mark("start: settings")
    pedal, log_writer = session._pedal_and_log_writer(settings)
    mark("start: board")
    from pedal.live import capture as capturing
    from pedal.live.assembly import assemble

    clock, stop = Clock(), Stop()
    capture = capturing.Capture(lambda: None)  # type: ignore[arg-type, return-value]
    capture.arrivals = arrivals = Rendered(clock, stop)  # type: ignore[assignment]
    controls = session._controls(settings)
    mark("start: footswitches")
    panel = session._panel(settings)
    parts = assemble(
        pedal, capture, log_writer=log_writer, printer=printer, panel=panel, controls=controls, clock=clock
    )
    mark("start: parts")
    import smbus2

    smbus2.SMBus = Wire  # type: ignore[misc, assignment]
    panel_display, engine = parts.panel_display, parts.engine
    assert panel_display is not None
    from pedal.screen.care import WANDER_EVERY_S

    gc.disable()  # as the loop does
    shown: Any = panel_display
    shown._clock = clock
    shown._begun_s = -WANDER_EVERY_S  # the picture has wandered, as it has eight minutes of nine
    shown._screen_or_none(0.0)._clock = itertools.count(0.0, TRANSFER_S).__next__
    mark("first picture: the panel")
    drawn = _draw_when_posted(panel_display, engine)
    from pedal.ports import Block, StreamFacts

    arrivals.begin(capturing.Began(StreamFacts("bench", 48_000, BLOCK, 1)))
    import numpy as np

    arrivals.blocks = [Block(np.zeros(BLOCK, np.float32))] * 40
    mark("bench")
    engine.work(stop)  # type: ignore[arg-type]
    mark("hearing")
    LABELS[:] = [f"silence: {label}" if label in ("hearing", "drawing") else label for label in LABELS]
    if asked == "play":
        _play(seconds, engine, arrivals, stop)
        _chain_alone(seconds)
    else:
        os.getppid()
    print(json.dumps({"labels": LABELS, "frames": len(drawn), "verdicts": printer.summary()}))
    sys.stdout.flush()
    os._exit(0)


def _draw_when_posted(panel_display: Any, engine: Any) -> list[int]:
    drawn: list[int] = []

    class Drawn:
        """In place of the mailbox between two threads."""

        def post(self, frame: Any) -> None:
            mark("hearing")
            panel_display._show(frame)
            mark("first picture: drawn" if not drawn else "drawing")
            drawn.append(1)

    engine._frames = Drawn()
    return drawn


def _samples(seconds: float) -> Any:
    import numpy as np

    from pedal.synth.drills import SCENES

    samples = SCENES["watch"]().samples(sample_rate=48_000, rng=np.random.default_rng(3))
    return samples[: int(seconds * 48_000)]


def _play(seconds: float, engine: Any, arrivals: Rendered, stop: Stop) -> None:
    from pedal.ports import Block

    samples = _samples(seconds)
    played = [Block(samples[at : at + BLOCK]) for at in range(0, len(samples) - BLOCK, BLOCK)]
    arrivals.blocks = arrivals.blocks + played
    stop.over = False
    mark("bench")
    engine.work(stop)
    mark("hearing")


def _chain_alone(seconds: float) -> None:
    """The same blocks, joined as live joins them while a string moves or stands: what is left is the hearing's own."""
    from pedal.chain import Chain
    from pedal.theory.scale import parse_key
    from pedal.verdicts.aim import Aim

    samples = _samples(seconds)
    chain = Chain(48_000, Aim(parse_key("G minor pentatonic")))
    mark("bench")
    for at in range(0, len(samples), 8 * BLOCK):
        chain.push(samples[at : at + 8 * BLOCK])
    mark("chain alone")


main()
