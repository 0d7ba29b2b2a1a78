"""Writes docs/presses.md: how many presses twelve tasks take, with one to four switches, before and now.

Run from the repository: `python docs/make_presses.py`. Each way is walked on the real board through the real map of
presses, and counts only if it comes to where it should; the shortest of them is told. `--json` prints the figures
alone, which is how `docs/presses_before.json` was made at the commit that it names.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pedal.modes.action_map import DEFAULTS, ActionMap
from pedal.modes.input_events import Command, LivePitch
from pedal.modes.pedal import Pedal, PedalState
from pedal.modes.screen_model import MenuScreen
from pedal.notes.event import Onset, Rest
from pedal.theory.cents import hz_of
from pedal.theory.spelling import parse_pitch

HERE = Path(__file__).parent
MOST = 60
KINDS = ("short", "long", "double", "held")


class Lost(Exception):  # noqa: N818 - a way that cannot be walked
    """There is no such press, row or value."""


@dataclass
class Walk:
    """A foot on a pedal with so many switches: `.do(action)` takes the press that means it here."""

    switches: int
    settings: PedalState
    presses: int = 0
    notes: int = 0
    now_s: float = 0.0
    pedal: Pedal = field(init=False)

    def __post_init__(self) -> None:
        self.pedal = Pedal(self.settings)
        self.map = ActionMap(self.switches)

    @property
    def where(self) -> str:
        return "menu" if isinstance(self.pedal.screen(), MenuScreen) else self.pedal.settings.mode

    def can(self, action: str) -> bool:
        gestures = [(kind, (n,)) for n in range(1, self.switches + 1) for kind in KINDS]
        pairs = [("both", (a, b)) for a in range(1, self.switches + 1) for b in range(a + 1, self.switches + 1)]
        return any(self.map.meaning(kind, where, self.where) == action for kind, where in (*gestures, *pairs))

    def do(self, *actions: str) -> None:
        for action in actions:
            if not self.can(action):
                raise Lost(action)
            self.pedal.step(Command(self.now_s, action))
            self.presses += 1
            if self.presses > MOST:
                raise Lost("no end")

    def play(self, pitch: str) -> None:
        """A plain note, and a second to look."""
        self.notes += 1
        hz = hz_of(parse_pitch(pitch))
        self.pedal.step(LivePitch(self.now_s, hz, -20.0))
        self.pedal.step(Onset(self.now_s))
        self.pedal.step(Rest(self.now_s + 0.1, hz))
        for _ in range(10):
            self.now_s += 0.1
            self.pedal.step(LivePitch(self.now_s, hz, -20.0))

    def row(self, name: str) -> None:
        """The menu, open at a row."""
        if self.where != "menu":
            self.do("menu")
        items = self.pedal.screen().items
        if name not in items:
            raise Lost(name)
        self.go((items.index(name) - self.pedal.screen().index) % len(items), len(items))

    def value(self, word: str) -> None:
        """The open row's value, chosen and taken."""
        self.do("again")
        words = [self.pedal.screen().value]
        while len(words) <= MOST:
            self.pedal.step(Command(0.0, "next_target"))
            if self.pedal.screen().value == words[0]:
                break
            words.append(self.pedal.screen().value)
        if word not in words:
            raise Lost(word)
        self.go(words.index(word), len(words))
        self.do("again")

    def go(self, ahead: int, length: int) -> None:
        """The shorter way round a ring, where it can be walked both ways."""
        back = length - ahead
        shorter = back < ahead and self.can("previous_target")
        self.do(*(["previous_target"] * back if shorter else ["next_target"] * ahead))

    def leave(self) -> None:
        if self.where == "menu":
            self.do("menu")

    def mode(self, name: str, how: str) -> None:
        """To a mode by the switch ahead, by the one back, or by the menu."""
        if how == "menu":
            self.row("mode")
            self.value(name)
            return
        while self.where != name:
            self.do(how)


@dataclass(frozen=True)
class Task:
    """What the player wants, the ways to it, and how it is known to be reached."""

    words: str
    ways: tuple[Callable[[Walk], None], ...]
    done: Callable[[Pedal], bool]
    settings: dict[str, Any] = field(default_factory=dict)


def _to(mode: str) -> tuple[Callable[[Walk], None], ...]:
    return tuple(lambda walk, how=how: walk.mode(mode, how) for how in ("next_mode", "previous_mode", "menu"))


def _setting(row: str, value: str) -> Callable[[Walk], None]:
    def way(walk: Walk) -> None:
        walk.row(row)
        walk.value(value)
        walk.leave()

    return way


def _played(row: str, pitch: str) -> Callable[[Walk], None]:
    def way(walk: Walk) -> None:
        walk.row(row)
        walk.play(pitch)
        walk.leave()

    return way


def _repeat(action: str, times: int) -> Callable[[Walk], None]:
    return lambda walk: walk.do(*[action] * times)


def _begin_round(how: str) -> Callable[[Walk], None]:
    def way(walk: Walk) -> None:
        walk.mode("round", how)
        walk.do("next_target")

    return way


def _rung(walk: Walk) -> None:
    walk.mode("ladder", "next_mode")
    walk.do(*["next_target"] * 9)


def tasks() -> tuple[Task, ...]:
    """Twelve, from a rehearsal: everything begins in Watch, in G minor pentatonic, unless it says otherwise."""
    from pedal.modes.rungs import Crossing

    two_off = frozenset({Crossing(1, 3, 3), Crossing(6, 3, 3)})
    ladder = {"mode": "ladder"}
    return (
        Task(
            "from G to C♯ minor", (_played("key", "C#3"), _repeat("next_key", 6), _repeat("previous_key", 6),
             _setting("key", "C#"), _setting("key", "Db")), lambda b: b.settings.key.tonic.semitone == 1,
        ),
        Task(
            "from G to A", (_played("key", "A2"), _repeat("next_key", 2), _setting("key", "A")),
            lambda b: b.settings.key.tonic.semitone == 9,
        ),
        Task("to the mode before (Tune)", _to("tune"), lambda b: b.settings.mode == "tune"),
        Task("to Ladder", _to("ladder"), lambda b: b.settings.mode == "ladder"),
        Task("to Recall", (_repeat("recall", 1), *_to("recall")), lambda b: b.settings.mode == "recall"),
        Task("begin a Round", tuple(_begin_round(how) for how in ("next_mode", "previous_mode", "menu")),
             lambda b: getattr(b, "asked", None) is not None),
        Task("the drone on", (_repeat("drone", 1), _setting("drone", "root")), lambda b: b.settings.drone_on),
        Task("the next position", (_repeat("next_position", 1), _setting("position", "2")),
             lambda b: b.settings.position == 2),
        Task("Ladder, at the bend on string 2, fret 6", (_played("bend", "F4"), _rung),
             lambda b: b.settings.mode == "ladder" and (b.screen().string, b.screen().fret) == (2, 6)),
        Task("in Ladder, cross this bend off", (_repeat("cross_off", 1), _setting("cross off", "never again")),
             lambda b: len(b.settings.crossed_off) == 1, ladder),
        Task("of two crossed off, bring one back", (_setting("crossed", "back (1)3 +3"),),
             lambda b: len(b.settings.crossed_off) == 1, {"crossed_off": two_off}),
        Task("a tolerance of ±5", (_setting("tolerance", "±5"),), lambda b: b.settings.bands.true_cents == 5.0),
    )  # fmt: skip


def fewest(task: Task, switches: int) -> int | None:
    """Presses of the shortest way; None where it cannot be done."""
    return min(_counts(task, switches), default=None)


def _counts(task: Task, switches: int) -> Iterator[int]:
    for way in task.ways:
        walk = Walk(switches, PedalState(**task.settings))
        try:
            way(walk)
        except Lost:
            continue
        if task.done(walk.pedal) and not isinstance(walk.pedal.screen(), MenuScreen):
            yield walk.presses


def figures() -> dict[str, list[int | None]]:
    """For each task, presses with one to four switches."""
    return {task.words: [fewest(task, switches) for switches in DEFAULTS if switches] for task in tasks()}


def page() -> str:
    """docs/presses.md."""
    kept = json.loads((HERE / "presses_before.json").read_text())
    lines = [
        "# Presses",
        "",
        "How many presses a task takes with the default maps, from playing to playing again; a long press is one,",
        "a played note none. Before → now; a dash where it could not be done with the feet at all. This page is",
        "written by `python docs/make_presses.py`, which walks every way on the real pedal; a test keeps it current.",
        f"*Before* is commit `{kept['commit']}`, walked by the same script with the names of then. All begin in Watch,",
        "in G minor pentatonic, in position 1, but for those that say otherwise.",
        "",
        "| task | 1 switch | 2 switches | 3 switches | 4 switches |",
        "|---|---|---|---|---|",
    ]
    for words, now in figures().items():
        cells = (f"{_shown(b)} → {_shown(n)}" for b, n in zip(kept["presses"][words], now, strict=True))
        lines.append(f"| {words} | " + " | ".join(cells) + " |")
    lines += [
        "",
        "In the menu a played note answers: in the row *key* it is the root, in *bend* the fretted note of the bend",
        "to practise, in *tuning* a string to be checked, which changes nothing. It is shown for half a second, then",
        "taken. The press that changes a row sends it away before, and takes it back after. The menu opens at the key.",
    ]
    return "\n".join(lines) + "\n"


def _shown(count: int | None) -> str:
    return "–" if count is None else str(count)


def main() -> None:
    """Write the page, or print the figures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--json", action="store_true")
    if parser.parse_args().json:
        sys.stdout.write(json.dumps(figures(), ensure_ascii=False, indent=1) + "\n")
    else:
        (HERE / "presses.md").write_text(page())


if __name__ == "__main__":
    main()
