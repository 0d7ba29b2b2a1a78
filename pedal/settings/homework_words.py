"""Homework as lines for a terminal: what is to be done, and how far it has come."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from pedal.practice.homework import Homework, Progress, Task
from pedal.settings.guitar import neck_of, rig_of
from pedal.settings.parts import Settings
from pedal.theory.neck import Bend
from pedal.theory.spelling import for_eyes

_WORDS = {"bend": "bend", "prebend": "pre-bend", "curl": "curl"}


def task_words(task: Task, settings: Settings) -> str:
    """Such as "bend F4 to G4 (string 2, fret 6)"."""
    if task.part == "lick":
        return f"lick {task.lick}"
    midi = neck_of(settings).midi(task.string, task.fret)
    note = for_eyes(settings.key.spell(midi))
    goal = "" if task.part == "curl" else f" to {for_eyes(settings.key.spell(midi + task.semitones))}"
    return f"{_WORDS[task.part]} {note}{goal} (string {task.string}, fret {task.fret})"


def checked_lines(homework: Homework, settings: Settings, licks: Collection[str]) -> Iterator[str]:
    """A line a task: how often, and what to know of its force, or of a lick that is not among the kept ones."""
    kept = {name.casefold() for name in licks}
    for task in homework.tasks:
        more = _force_words(task, settings) + _missing_words(task, kept)
        yield f"{task_words(task, settings)}: {task.times} times{more}"


def _missing_words(task: Task, kept: Collection[str]) -> str:
    if task.part != "lick" or task.lick.casefold() in kept:
        return ""
    return ": not kept here, and Round does not ask for it before it is (undertoe lick FILE --save NAME)"


def _force_words(task: Task, settings: Settings) -> str:
    if task.part in ("curl", "lick"):
        return ""
    try:
        rig = rig_of(settings)
    except ValueError:
        return ""
    midi = rig.neck.midi(task.string, task.fret)
    effort = rig.effort(Bend(task.string, task.fret, midi, midi + task.semitones))
    force = f", {effort.push.force_n:.0f} N"
    if effort.grade == "not_with_this_set":
        return f"{force}: too heavy with this string set, and Round does not offer it"
    return f"{force}, heavy" if effort.grade == "heavy" else force


def progress_lines(progress: Progress, settings: Settings) -> Iterator[str]:
    """For the review: how far, as a whole and for each task."""
    homework = progress.homework
    whose = f" for {homework.player}" if homework.player else ""
    by = f", by {homework.by}" if homework.by else ""
    yield f"Homework{whose}: {progress.done} of {len(homework.tasks)} done{by}"
    for task in homework.tasks:
        yield f"  {task_words(task, settings)}: true {progress.true(task)} of {task.times}"
