"""A note + the note that its pluck ended -> the note, with the rest it is still bent from if it was held bent."""

from __future__ import annotations

from dataclasses import replace

from pedal.notes.decoder import HALF_FRET_CENTS
from pedal.notes.note import Note
from pedal.notes.pluck import HEARD_SIGMA_CENTS, PLUCKED_CENTS, PLUCKED_S
from pedal.notes.polyphony import PLUCK_S
from pedal.notes.runs import LEAST_FALL_CENTS, LEAST_RISE_CENTS
from pedal.theory.cents import cents_between
from pedal.verdicts.aim import Aim
from pedal.verdicts.bend import aimed_midi
from pedal.verdicts.fret import GuitarOffset, find_fret, is_picks_noise


def struck_again(note: Note, before: Note | None, aim: Aim, guitar: GuitarOffset) -> Note:
    """The note, level and with the rest of the note before it, if its pluck struck the string while it was still bent.

    note, before : finished notes as they were heard; only one that this pluck ended says anything of it.
    aim, guitar : as for `judge`; they tell the fret of a bend whose rest was not heard.

    What was let go, or bent from a fret that nothing tells, comes back as it is. A rise of less than half a fret that
    ends where the string was, while the pluck sounds, is the pluck's.
    """
    if before is None or before.end_s != note.onset_s or note.begun_by != "pluck" or before.refusal or note.refusal:
        return note
    at, level = before.final_hz, note.shape == "level"
    held = note.first_hz if level else _risen_with_the_pluck(note)
    if at is None or held is None or abs(cents_between(at, held)) > (LEAST_FALL_CENTS if level else LEAST_RISE_CENTS):
        return note
    rest = _rest_of(before, at, aim, guitar)
    if rest is None or cents_between(rest[0], at) < HALF_FRET_CENTS:
        return note
    return replace(
        note, shape="level", rest_hz=rest[0], rest_sigma_cents=rest[1], first_hz=held, from_hz=None, rise_s=0.0,
        ending="cut" if note.ending == "cut_sharp" else note.ending,
    )  # fmt: skip


def _risen_with_the_pluck(note: Note) -> float | None:
    """The hold of a small rise that was over as soon as a pluck is; None for any other note."""
    if note.shape != "rise" or note.first_hz is None or note.hold_hz is None:
        return None
    small = cents_between(note.first_hz, note.hold_hz) < HALF_FRET_CENTS
    return note.hold_hz if small and (note.raised_s or 0.0) <= 3 * PLUCK_S else None


def _rest_of(before: Note, at_hz: float, aim: Aim, guitar: GuitarOffset) -> tuple[float, float] | None:
    """Hertz of the fret a note was bent from to `at_hz`, and its sigma in cents; None if nothing tells."""
    brief = before.raised_s is not None and before.raised_s < PLUCKED_S
    if before.rest_hz is not None and not (brief and before.rest_sigma_cents > HEARD_SIGMA_CENTS):
        return before.rest_hz, before.rest_sigma_cents
    fret = None if is_picks_noise(before, aim, guitar) else find_fret(before, aim, guitar)
    if fret is None:
        return None
    # A guess is built upon only where it is the bend that is looked for: to the first note above that is wanted.
    goal = aimed_midi(cents_between(fret.hz, at_hz), fret.midi, aim)
    return (fret.hz, PLUCKED_CENTS) if goal == aim.next_above(fret.midi) else None
