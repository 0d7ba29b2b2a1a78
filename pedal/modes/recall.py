"""Recall: the session so far, target by target, read on the pedal itself."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from pedal.modes.assignments import progress_words
from pedal.modes.history import Streak
from pedal.modes.input_events import Action, Heard
from pedal.modes.log_entry import LogEntry
from pedal.modes.mode import Mode
from pedal.modes.names import ModeName
from pedal.modes.screen_model import CodeScreen, LookbackScreen, RecallRow, RecallScreen, Status
from pedal.modes.state import Density, PedalState
from pedal.practice.homework import Progress
from pedal.progress.lookback import Lookback, code_text, short_text
from pedal.progress.need import bias_of, spread_of
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.verdict import Verdict

MOST_ENTRIES = 4000
"""Ten hours at a bend every nine seconds; the log keeps all of it, the pedal's memory need not."""
ROWS: dict[Density, int] = {"glance": 2, "close": 4}
"""As many rows a page as the screen shows in letters that can be read."""


class _Try(NamedTuple):
    """The row of a try, a note (MIDI) and whether it was curled, and its figure: a bend's error, a curl's height."""

    midi: int | None
    curled: bool
    cents: float | None


class Recall(Mode):
    """Rows by target note in the spelling of now, the one that was tried most first; curls have rows of their own."""

    name: ModeName = "recall"

    def __init__(self, state: PedalState, homework: Progress | None, looks: Sequence[Lookback]) -> None:
        self._state, self._homework, self._looks = state, homework, tuple(looks)
        self._true = self._count = 0  # of all tries ever, where of `_tries` the oldest are let go
        self._tries: deque[_Try] = deque(maxlen=MOST_ENTRIES)
        self._rows: list[RecallRow] | None = None
        self._streak = Streak()
        self._page = 0

    def add(self, entries: Iterable[LogEntry]) -> None:
        """Count what was judged in any mode; the streak runs over bends and curls alike.

        Three words a note are kept and not the entry: its curve alone, thousands of times, would fill a small board.
        """
        for entry in entries:
            if entry.verdict is not None and entry.verdict.verdict != "unclear":
                self._tries.append(_try_of(entry.verdict, entry.target_note))
                self._rows = None
                self._count += 1
                self._true += entry.verdict.verdict == "true"
                self._streak = self._streak.after(entry.verdict.verdict)

    def move(self, state: PedalState) -> None:
        """Another density holds another number of rows, and who comes here anew begins at the first page."""
        if (state.density, state.mode) != (self._state.density, self._state.mode):
            self._page = 0
        if state.key != self._state.key:
            self._rows = None
        self._state = state

    def lamp_word(self, verdict: Verdict) -> str:
        """Nothing is asked for: a light would praise it."""
        del verdict
        return ""

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """What is played while looking back is not counted."""
        del heard
        return ()

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """Targets are walked a page at a time."""
        pages = self._pages
        match action:
            case "next_target":
                self._page = (self._page + 1) % pages
            case "previous_target":
                self._page = (self._page - 1) % pages
            case "again":
                self._page = 0
            case _:
                pass
        return ()

    @property
    def _homework_words(self) -> str:
        """What the last page tells, where there is homework."""
        return progress_words(self._homework, self._state.player)

    @property
    def _own_pages(self) -> int:
        """Pages of rows, one where there is none yet."""
        return max(1, -(-len(self._all_rows()) // ROWS[self._state.density]))

    @property
    def _pages(self) -> int:
        """All of them: rows, what the last session and the month say, the code, and homework where there is some."""
        return self._own_pages + len(self._looks) + 1 + bool(self._homework_words)

    def _all_rows(self) -> list[RecallRow]:
        """Made anew only after another note: the screen asks thirty times a second."""
        if self._rows is None:
            by_note: dict[tuple[int, bool], list[float]] = {}
            for midi, curled, cents in self._tries:
                if midi is not None and cents is not None:
                    by_note.setdefault((midi, curled), []).append(cents)
            key = self._state.key
            rows = [
                RecallRow(
                    key.spell(midi) + (" curl" if curled else ""),
                    len(cents),
                    bias_of(cents),
                    spread_of(cents),
                    is_height=curled,
                )
                for (midi, curled), cents in by_note.items()
            ]
            self._rows = sorted(rows, key=lambda row: (-row.tries, row.target))
        return self._rows

    def screen(self, status: Status) -> RecallScreen | LookbackScreen | CodeScreen:
        """One page: rows of this session; what the last one and the month say; all as a code; homework last."""
        rows, each = self._all_rows(), ROWS[self._state.density]
        words = self._homework_words
        own, pages = self._own_pages, self._pages
        page = min(self._page, pages - 1)
        if page == own + len(self._looks):
            return self._code(status, page, pages)
        if own <= page < own + len(self._looks):
            look = self._looks[page - own]
            return LookbackScreen(
                status, look.title, look.sessions, look.tries, look.true_percent, look.word, look.sentence, page, pages
            )
        return RecallScreen(
            status,
            rows=tuple(rows[page * each : (page + 1) * each]),
            best_streak=self._streak.best,
            tries=len(self._tries),
            page=page,
            pages=pages,
            homework=words if page == pages - 1 else "",
        )

    def _code(self, status: Status, page: int, pages: int) -> CodeScreen:
        tries = len(self._tries)
        today = Lookback("today", 1, tries, round(100 * self._true / self._count) if tries else None)
        return CodeScreen(status, code_text((today, *self._looks)), short_text(today), page, pages)


def _try_of(verdict: Verdict, target: str | None) -> _Try:
    name = verdict.rest_note if verdict.kind == "curl" else target
    midi = None if name is None else parse_pitch(name)
    if verdict.kind == "curl":
        return _Try(midi, True, verdict.bend_cents)
    return _Try(midi, False, verdict.error_cents)
