"""Log entries -> how far the homework has come; and the homework's items for a Round."""

from __future__ import annotations

from collections.abc import Iterable

from pedal.modes.lick_choice import lick_of
from pedal.modes.lick_log import logged_name, passes_in
from pedal.modes.log_entry import LogEntry
from pedal.modes.rungs import Crossing
from pedal.modes.state import PedalState
from pedal.practice.homework import Progress, Task, TaskSpot
from pedal.practice.item import Item, item_at
from pedal.progress.logged_note import SKILL_OF_KIND


def count_entries(progress: Progress, entries: Iterable[LogEntry]) -> None:
    """Count the true ones; `time_s` of entries and the homework's `since_s` are on one clock.

    A bend in a lick counts for the lick alone, once all its notes were right.
    """
    entries = list(entries)
    for one in passes_in(entries):
        if one.right == one.of:
            progress.count(("lick", 0, 0, 0, one.lick.casefold()), time_s=one.time_s, player=one.player)
    for entry in entries:
        verdict = entry.verdict
        if verdict is None or verdict.verdict != "true" or entry.string is None or entry.fret is None:
            continue
        part = SKILL_OF_KIND.get(verdict.kind)
        rise = 0 if part == "curl" else entry.asked_semitones
        if part is not None and rise is not None:
            spot: TaskSpot = (part, entry.string, entry.fret, rise, "")
            progress.count(spot, time_s=entry.time_s, player=entry.player or "")


def task_of(item: Item, progress: Progress | None, player: str) -> Task | None:
    """The task that an item is, while it is not done; None for what is no homework of this player."""
    if progress is None or not progress.is_for(player):
        return None
    name = item.note.casefold() if item.part == "lick" else ""
    spot = (item.part, item.string, item.fret, item.semitones, name)
    return next((task for task in progress.homework.tasks if task.spot == spot and _is_open(task, progress)), None)


def _is_open(task: Task, progress: Progress) -> bool:
    return progress.true(task) < task.times


def homework_items(state: PedalState, progress: Progress | None) -> list[Item]:
    """Items of the tasks that are not done, wherever on the neck they lie.

    Left out is what was crossed off, what the strings do not bear, and a curl that this key does not have.
    """
    if progress is None or not progress.is_for(state.player):
        return []
    found = []
    for task in progress.homework.tasks:
        if task.part == "lick":
            if _is_open(task, progress) and (lick := _kept(task, state)) is not None:
                found.append(lick)
            continue
        crossing = Crossing(task.string, task.fret, task.semitones)
        if not _is_open(task, progress) or crossing in state.crossed_off:
            continue
        item = item_at(
            task.part, task.string, task.fret, task.semitones, key=state.key, neck=state.neck, rig=state.strung()
        )
        if item is not None:
            found.append(item)
    return found


def _kept(task: Task, state: PedalState) -> Item | None:
    """The kept lick of that name, as it can be asked for; None where there is none."""
    named = (one for one in state.licks if logged_name(one.lick).casefold() == task.lick.casefold())
    return next((item for one in named if (item := lick_of(state, one.number)) is not None), None)


def progress_words(progress: Progress | None, player: str) -> str:
    """One line for the look back: "1/3 by 2026-12-04"; "" where there is no homework."""
    if progress is None or not progress.is_for(player):
        return ""
    by = f" by {progress.homework.by}" if progress.homework.by else ""
    return f"{progress.done}/{len(progress.homework.tasks)}{by}"
