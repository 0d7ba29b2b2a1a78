"""A lick and a question -> the notes that are asked for, in order."""

from __future__ import annotations

from typing import Literal, get_args

from pedal.licks.lick import Lick, LickNote, plain_form
from pedal.values import frozen

Question = Literal["as_played", "plain", "sung"]
QUESTIONS: tuple[Question, ...] = get_args(Question)
ASKS: dict[Question, str] = {"as_played": "as played", "plain": "plain", "sung": "sung"}
"""The questions in words."""


@frozen
class AskedNote:
    """One note that is asked for.

    number : the note of the lick that it stands for, from 0; the first of them for a bend over two.
    onset_s, gap_s : from the first note on; to the next one, or to its own end. At the lick's own tempo.
    any_inflection : other inflections than the one asked for are as good.
    """

    note: LickNote
    number: int
    onset_s: float
    gap_s: float
    any_inflection: bool


def asked(
    lick: Lick, question: Question, sung: Lick | None = None, changed: Lick | None = None
) -> tuple[AskedNote, ...]:
    """What a pass is held against: the model itself, its notes fretted, or the form that sings (`sung`).

    changed : as played, the model with a change that is offered; its notes keep the numbers of the model's.
    """
    match question:
        case "as_played":
            return _timed(_numbered(lick, changed or lick), lick.beat_s)
        case "plain":
            return _timed(plain_form(lick), lick.beat_s)
        case "sung":
            return _timed(_numbered(lick, sung or lick), lick.beat_s, any_inflection=True)


def _numbered(lick: Lick, form: Lick) -> tuple[tuple[int, LickNote], ...]:
    """The notes of a form of the lick, each with the note of the lick that begins when it does."""
    onsets = lick.onsets_s
    return tuple(
        (min(range(len(onsets)), key=lambda n: abs(onsets[n] - at)), note)
        for at, note in zip(form.onsets_s, form.notes, strict=True)
    )


def _timed(
    notes: tuple[tuple[int, LickNote], ...], beat_s: float, *, any_inflection: bool = False
) -> tuple[AskedNote, ...]:
    timed, at = [], 0.0
    for place, (number, note) in enumerate(notes):
        last = place == len(notes) - 1
        gap = note.beats if last else note.beats + note.rest_beats
        free = any_inflection and note.inflection != "plain"
        timed.append(AskedNote(note, number, at * beat_s, gap * beat_s, free))
        at += note.beats + note.rest_beats
    return tuple(timed)
