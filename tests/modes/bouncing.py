"""A foot and a contact that bounces: clean presses in, raw edges out, as mechanical switches give them.

Bounce times after Ganssle, "A Guide to Debouncing" (2004, 2008), cited from memory: 1.6 ms on average, most under
6.2 ms, one freak for 157 ms.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pedal.modes.gesture import Felt, GestureRecogniser

MEAN_BOUNCE_S, FREAK_BOUNCE_S = 0.0016, 0.157
MEAN_GAP_S = 0.0004
SwitchEdge = tuple[float, int, bool]


@dataclass(frozen=True)
class Press:
    switch: int
    down_s: float
    up_s: float


def bounce(time_s: float, level: bool, lasting_s: float, rng: np.random.Generator) -> list[tuple[float, bool]]:
    """One change of level with its bounces: an odd number of edges, ending at the level."""
    edges, now_s, now = [(time_s, level)], time_s, level
    while True:
        now_s += rng.exponential(MEAN_GAP_S if lasting_s < 0.02 else MEAN_GAP_S * lasting_s / 0.02)
        if now_s > time_s + lasting_s:
            break
        now = not now
        edges.append((now_s, now))
    return edges if now == level else [*edges, (min(now_s, time_s + lasting_s + 1e-4), level)]


def edges_of(presses: list[Press], rng: np.random.Generator, *, freaks: float = 0.0) -> list[SwitchEdge]:
    """Raw edges of presses, in order of time; `freaks`: the share of changes that bounce as long as the worst known."""
    edges: list[SwitchEdge] = []
    for press in presses:
        for time_s, level in ((press.down_s, True), (press.up_s, False)):
            lasting_s = FREAK_BOUNCE_S if rng.random() < freaks else min(rng.exponential(MEAN_BOUNCE_S), 0.015)
            edges += [(t, press.switch, now) for t, now in bounce(time_s, level, lasting_s, rng)]
    return sorted(edges)


def feel(recogniser: GestureRecogniser, edges: list[SwitchEdge], *, until_s: float, tick_s: float = 0.01) -> list[Felt]:
    """Everything felt when the edges come in and time is told every `tick_s`."""
    felt: list[Felt] = []
    now_s = edges[0][0] if edges else 0.0
    for time_s, switch, pressed in edges:
        while now_s + tick_s < time_s:
            now_s += tick_s
            felt += recogniser.tick(now_s)
        felt += recogniser.edge(time_s, switch, pressed)
    while now_s < until_s:
        now_s += tick_s
        felt += recogniser.tick(now_s)
    return felt


def words(felt: list[Felt]) -> list[tuple[object, ...]]:
    """Kind and switches, without times."""
    return [(one.kind, *one.switches) if hasattr(one, "kind") else (one.trouble, one.switch) for one in felt]
