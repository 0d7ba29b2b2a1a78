"""What only a person can judge: test pictures on the panel, and each switch pressed once."""

from __future__ import annotations

import contextlib
import queue
import time
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from pedal.doctor.finding import Finding
from pedal.errors import UsageError

if TYPE_CHECKING:
    from pedal.ports import Screen, Switches
    from pedal.screen.drawing import Density
    from pedal.settings.parts import Display

PICTURE_S = 2.0
FRAMES = 10
"""Full frames sent to time one: each differs from the last in every dot."""
PATIENCE_S = 20.0
"""How long to wait for the next edge of a foot."""
SETTLE_S = 0.3
"""After the last release: what comes now is bounce."""
BOUNCE_S = 0.05
"""Edges that follow each other within this are one contact's bounce."""
WORN_S = 0.015
"""Good contacts are still after about 6 ms (J. Ganssle, "A Guide to Debouncing", 2004; from memory)."""

Say = Callable[[str], None]
SwitchEdge = tuple[float, int, bool]


def try_panel(
    screen: Screen,
    display: Display,
    say: Say,
    *,
    wait: Callable[[float], None] = time.sleep,
    now_s: Callable[[], float] = time.perf_counter,
) -> Iterator[Finding]:
    """Show the test pictures one after another, and time full frames; raises DeviceError if the panel stops."""
    from PIL import Image

    from pedal.screen.care import dressed
    from pedal.screen.panel_pictures import panel_pictures

    pictures = panel_pictures(density=cast("Density", display.density), height=display.height)
    try:
        for caption, picture in pictures.items():
            say(f"On the panel: {caption}.")
            screen.show(dressed(picture, inverse=display.inverse, rotation=display.rotation))
            wait(PICTURE_S)
        began_s = now_s()
        for number in range(FRAMES):
            screen.show(Image.new("1", (display.width, display.height), number % 2))
        frame_s = (now_s() - began_s) / FRAMES
    finally:
        screen.close()
    yield Finding("panel pictures", "ok", f"{len(pictures)} shown; a full frame takes {frame_s * 1e3:.1f} ms, measured")


def try_switches(switches: Switches, pins: tuple[int, ...], say: Say) -> Iterator[Finding]:
    """Say every press as it comes, until each switch came or nothing comes for `PATIENCE_S`."""
    if not pins:
        raise UsageError("there are no switches to press: set switches.pins in the settings")
    edges: queue.Queue[SwitchEdge] = queue.Queue()
    seen: dict[int, list[float]] = {}
    down: set[int] = set()
    say(f"Press and release each of the {len(pins)} switches, one after another (Ctrl-C ends).")
    switches.open(lambda time_s, switch, pressed: edges.put((time_s, switch, pressed)))
    try:
        with contextlib.suppress(queue.Empty):
            while True:
                all_came = len(seen) == len(pins) and not down
                time_s, switch, pressed = edges.get(timeout=SETTLE_S if all_came else PATIENCE_S)
                (down.add if pressed else down.discard)(switch)
                if pressed and not any(abs(time_s - other) < BOUNCE_S for other in seen.get(switch, [])):
                    say(f"Switch {switch} (GPIO {pins[switch - 1]}) pressed.")
                seen.setdefault(switch, []).append(time_s)
    finally:
        switches.close()
    for number, pin in enumerate(pins, start=1):
        yield _of_switch(number, pin, seen.get(number, []), stuck=number in down)


def _of_switch(number: int, pin: int, edges: list[float], *, stuck: bool) -> Finding:
    part = f"switch {number}"
    if not edges:
        remedy = f"look at its two wires: GPIO {pin} and ground; docs/hardware.md shows the header"
        return Finding(part, "missing", f"no press came on GPIO {pin}", remedy)
    if stuck:
        return Finding(
            part, "missing", f"GPIO {pin} went down and did not come up", "the switch or its wire is shorted"
        )
    bounce_s = _longest_burst_s(edges)
    if bounce_s > WORN_S:
        remedy = "raise switches.debounce_s to twice this, or change the switch: it is worn"
        return Finding(part, "warn", f"{len(edges)} edges, bounces for {bounce_s * 1e3:.0f} ms", remedy)
    return Finding(part, "ok", f"{len(edges)} edges, bounces for {bounce_s * 1e3:.1f} ms at most")


def _longest_burst_s(edges: list[float]) -> float:
    longest_s, began_s = 0.0, edges[0]
    for before_s, now_s in pairwise(edges):
        if now_s - before_s >= BOUNCE_S:
            began_s = now_s
        longest_s = max(longest_s, now_s - began_s)
    return longest_s
