"""A pass through a lick -> lines of the log, a note each; and lines of the log -> passes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from pedal.licks.heard import HeardNote
from pedal.licks.lick import Lick
from pedal.licks.marks import MarkedPass, NoteMark
from pedal.licks.offers import Offer
from pedal.modes.lick_shelf import title_of
from pedal.modes.log_entry import LogEntry
from pedal.modes.names import ModeName
from pedal.modes.state import PedalState
from pedal.progress.lick_figures import RIGHT_MARKS
from pedal.progress.naming import folded
from pedal.progress.need import CAP, RECENT, need_of
from pedal.progress.need import Try as At
from pedal.values import frozen
from pedal.verdicts.verdict import Verdict

NAME_LETTERS = 80
"""So much of a lick's name the log keeps."""
PassNumbers = dict[tuple[str, str], int]
"""Passes since the start by player and the lick's name in the log, in whichever mode it was played."""
PARTED_S = 60.0
"""No note of a pass comes so long after the one before."""
_EITHER = ("plain", "curl_cut", "bent")


def logged_name(lick: Lick) -> str:
    """What the log calls it."""
    return title_of(lick)[:NAME_LETTERS]


def changed_name(lick: Lick, offer: Offer) -> str:
    """What a lick is called once it has a change, by which its notes are others; one without a name stays so.

    Its own name goes on standing for its own notes: figures of two licks under one name would be of none.
    """
    change = f"{offer.inflection.replace('prebend', 'pre-bend')} {offer.first + 1}"
    return f"{lick.name}, {change}"[:NAME_LETTERS] if lick.name else ""


def pass_entries(
    marked: MarkedPass,
    verdicts: Mapping[HeardNote, Verdict],
    lick: Lick,
    state: PedalState,
    *,
    mode: ModeName,
    numbers: PassNumbers,
) -> tuple[LogEntry, ...]:
    """A line for each note asked for or added; counts the pass in `numbers`."""
    name = logged_name(lick)
    number = numbers[state.player, name] = numbers.get((state.player, name), 0) + 1
    entries, logged = [], set()
    at_s = next(mark.heard.onset_s for mark in marked.marks if mark.heard is not None)
    for mark in marked.marks:
        verdict = None if mark.heard is None else verdicts.get(mark.heard)
        if mark.heard is not None:
            at_s = mark.heard.onset_s
            if mark.heard in logged:
                continue
            logged.add(mark.heard)
        target = None if verdict is None else verdict.target_note
        entries.append(
            replace(
                state.line(mode, at_s, verdict, target=target),
                lick=name,
                lick_pass=number,
                lick_note=None if mark.number is None else mark.number + 1,
                lick_mark=_word_of(mark),
            )
        )
    return tuple(entries)


def _word_of(mark: NoteMark) -> str:
    """The mark for the log, which tells right from wrong by the word alone."""
    if mark.mark in _EITHER and not mark.right:
        return f"{mark.mark}, not asked"
    return f"{mark.mark}, asked" if mark.mark == "curl_released" and mark.right else mark.mark


@frozen
class LoggedPass:
    """One time through a lick, as the log has it: notes that were right, of so many asked for."""

    lick: str
    player: str
    time_s: float
    right: int
    of: int


def passes_in(entries: Iterable[LogEntry]) -> Iterator[LoggedPass]:
    """The passes among entries that lie in their order; notes that were added count for nothing."""
    for lines in _groups(entry for entry in entries if entry.lick):
        asked = [line for line in lines if line.lick_note is not None]
        if asked:
            right = sum(line.lick_mark in RIGHT_MARKS for line in asked)
            yield LoggedPass(asked[0].lick or "", asked[0].player or "", asked[0].time_s, right, len(asked))


def _groups(entries: Iterable[LogEntry]) -> Iterator[list[LogEntry]]:
    """Lines of one pass each. Numbers begin anew with a session, so a long pause parts them as well."""
    group: list[LogEntry] = []
    for entry in entries:
        if group and (_pass_of(entry) != _pass_of(group[-1]) or entry.time_s - group[-1].time_s > PARTED_S):
            yield group
            group = []
        group.append(entry)
    if group:
        yield group


def _pass_of(entry: LogEntry) -> tuple[str | None, int | None, str | None]:
    return entry.lick, entry.lick_pass, entry.player


class LickHistory:
    """`.add(entries)` keeps the last passes of each lick, each player's apart; `.need(...)` weighs them."""

    def __init__(self, past: Iterable[LogEntry] = ()) -> None:
        self._passes: dict[tuple[str, str], list[LoggedPass]] = defaultdict(list)
        self.add(past)

    def add(self, entries: Iterable[LogEntry]) -> None:
        """Count the passes; those of one call are whole."""
        for one in passes_in(entries):
            passes = self._passes[folded(one.player), one.lick]
            passes.append(one)
            del passes[:-RECENT]

    def passes(self, player: str, lick: str) -> Sequence[LoggedPass]:
        """The last passes of a player through a lick, oldest first."""
        return self._passes.get((folded(player), lick), ())

    def need(self, player: str, lick: str, now_s: float) -> float:
        """On the scale of bends: the share of wrong notes for bias and scatter, and how long ago it was."""
        passes = self.passes(player, lick)
        if not passes:
            return need_of((), now_s)
        wrong = 1.0 - sum(one.right for one in passes) / sum(one.of for one in passes)
        return 2 * CAP * wrong + need_of([At(passes[-1].time_s, 0.0)], now_s)
