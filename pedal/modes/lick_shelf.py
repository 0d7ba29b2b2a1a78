"""The licks that are kept, by number; the one chosen, as it lies in the key of now."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from pedal.licks.lick import Lick, LickError, transposed
from pedal.practice.item import MOST_LICKS
from pedal.theory.neck import Neck
from pedal.theory.scale import Key

NEW = 0
"""The number of the lick that was played last and is not kept under a number of its own."""
TITLE_NOTES = 4


@dataclass(frozen=True, slots=True)
class KeptLick:
    """A lick and its number, from 1; 0 for the one that was played last."""

    number: int
    lick: Lick


@dataclass(frozen=True, slots=True)
class Chosen:
    """The lick in the key of now. `lick` None where there is none, or where it does not fit; `why` then says so.

    said : what is not as it was kept: "from G", "kept in drop D".
    """

    lick: Lick | None
    said: str = ""
    why: str = ""


def title_of(lick: Lick) -> str:
    """Its name, else its first notes."""
    if lick.name:
        return lick.name
    notes = [lick.key.spell(note.midi) for note in lick.notes]
    return " ".join(notes[:TITLE_NOTES]) + (" …" if len(notes) > TITLE_NOTES else "")


def first_notes(lick: Lick) -> str:
    """Its first notes without octaves, for one line of the menu."""
    return " ".join(lick.key.spell(note.midi).rstrip("-0123456789") for note in lick.notes[:TITLE_NOTES])


def put(shelf: Iterable[KeptLick], kept: KeptLick) -> tuple[KeptLick, ...]:
    """The shelf with a lick in its place; one that stood there goes."""
    return tuple(sorted([*(one for one in shelf if one.number != kept.number), kept], key=lambda one: one.number))


def free_number(shelf: Iterable[KeptLick]) -> int | None:
    """The lowest number that is free; None where the shelf is full."""
    taken = {one.number for one in shelf}
    return next((number for number in range(1, MOST_LICKS + 1) if number not in taken), None)


def original(shelf: Iterable[KeptLick], number: int) -> Lick | None:
    """The lick of a number as it was kept."""
    return next((one.lick for one in shelf if one.number == number), None)


def chosen(shelf: Iterable[KeptLick], number: int, key: Key, neck: Neck) -> Chosen:
    """The lick of a number, transposed to the key of now; in another tuning its strings and frets are found anew."""
    lick = original(shelf, number)
    if lick is None:
        return Chosen(None)
    said = []
    if lick.key.tonic.semitone != key.tonic.semitone:
        said.append(f"from {lick.key.tonic}")
    try:
        moved = transposed(lick, key)
    except LickError:
        return Chosen(None, why=f"In {key.tonic} it leaves the neck.")
    if lick.tuning != neck.tuning:
        said.append("other tuning")
        notes = tuple(replace(note, string=None, fret=None) for note in moved.notes)
        moved = replace(moved, notes=notes, tuning=neck.tuning)
    if not moved.fits(neck):
        return Chosen(None, why=f"In {key.tonic} it does not fit this neck.")
    return Chosen(moved, ", ".join(said))
