"""The session so far: tries by target, from which the next choice by need is made, and how many were true in a row.

A bend is one skill wherever it was practised: what was bent in Round counts in Ladder, its pre-bends in Blind. A curl
has a zone and no error, so its word stands for one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from pedal.modes.log_entry import LogEntry
from pedal.modes.rungs import Rung
from pedal.progress.logged_note import SKILL_OF_KIND
from pedal.progress.naming import folded
from pedal.progress.need import RECENT, Try, neediest
from pedal.theory.spelling import NoteNameError, parse_pitch
from pedal.values import frozen
from pedal.verdicts.verdict import Verdict, Word

Spot = tuple[int, int, int]
"""String, fret and MIDI number of the target: one bend, however practised and spelled. A curl's is its own note."""
CURL_MISS_CENTS: dict[Word, float] = {"true": 0.0, "near": 15.0, "flat": -40.0, "sharp": 40.0, "released": -40.0}
"""What the word of a curl counts as: near the width of a "near" band, all else a plain miss. Choices."""


def spot_of(rung: Rung) -> Spot:
    """The name under which tries of a rung are counted."""
    return rung.string, rung.fret, rung.target_midi


class History:
    """`.add(entries)` keeps the last tries of each spot, each skill apart: a pre-bend is another one than a bend.

    Players are kept apart as well: `tries` are those of `player`.
    """

    def __init__(self, past: Iterable[LogEntry], player: str = "") -> None:
        self.player = player
        self._by_player: dict[str, dict[str, dict[Spot, list[Try]]]] = defaultdict(
            lambda: defaultdict(lambda: defaultdict(list))
        )
        self.add(past)

    def add(self, entries: Iterable[LogEntry]) -> None:
        """Count what was judged with an error at a known spot; skips and refusals teach nothing of the hand."""
        for entry in entries:
            if entry.string is None or entry.fret is None or entry.verdict is None:
                continue
            asked, cents = _asked(entry, entry.verdict), _miss(entry.verdict)
            if asked is None or cents is None:
                continue
            by_skill = self._by_player[folded(entry.player or "")]
            tries = by_skill[_skill(entry.mode, entry.verdict)][entry.string, entry.fret, asked]
            tries.append(Try(entry.time_s, cents))
            del tries[:-RECENT]

    def tries(self, skill: str) -> Mapping[Spot, Sequence[Try]]:
        """The tries of "ladder" (bends), "blind" (pre-bends) or "curl", oldest first."""
        return self._by_player[folded(self.player)][skill]

    def neediest_of(
        self, rungs: Sequence[Rung], among: Sequence[int], skill: str, *, now_s: float, just_played: int | None = None
    ) -> int:
        """Which of these rungs, by their numbers in `among`, needs practice most; at least one must be there.

        skill : as in `tries`; `just_played` is passed over while there is another.
        """
        by_spot = {spot_of(rungs[number]): number for number in among}
        last = None if just_played is None else spot_of(rungs[just_played])
        return by_spot[neediest(list(by_spot), self.tries(skill), now_s=now_s, just_played=last)]


def _skill(mode: str, verdict: Verdict) -> str:
    if verdict.kind == "curl":
        return "curl"
    if mode != "round":
        return mode
    return "blind" if SKILL_OF_KIND.get(verdict.kind) == "prebend" else "ladder"


def _asked(entry: LogEntry, verdict: Verdict) -> int | None:
    name = verdict.rest_note if verdict.kind == "curl" else entry.target_note
    try:
        return None if name is None else parse_pitch(name)
    except NoteNameError:  # a line of the log that was written by hand
        return None


def _miss(verdict: Verdict) -> float | None:
    if verdict.verdict == "unclear":
        return None
    return CURL_MISS_CENTS[verdict.verdict] if verdict.kind == "curl" else verdict.error_cents


@frozen
class Streak:
    """`now` in a row, `best` so far."""

    now: int = 0
    best: int = 0

    def after(self, word: Word) -> Streak:
        """True adds one, near keeps the count, flat, sharp and released lose it; unclear proves nothing."""
        match word:
            case "true":
                return Streak(self.now + 1, max(self.best, self.now + 1))
            case "near" | "unclear":
                return self
            case "flat" | "sharp" | "released":
                return Streak(0, self.best)
