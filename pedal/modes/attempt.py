"""Whether a judged note was a try of what was asked for."""

from __future__ import annotations

from pedal.modes.card import card_of
from pedal.modes.rungs import Rung
from pedal.modes.screen_model import VerdictCard
from pedal.verdicts.verdict import Verdict

_NO_TRY = {"steady", "slide", "hammer_on", "unclear"}


def is_try(verdict: Verdict, rung: Rung) -> bool:
    """True for a bend or pre-bend to the rung's target that was judged.

    A bend must have begun on the rung's note. A pre-bend need not have rested at all; the judge, who knows the target,
    has already looked at where its first pitch lay.
    """
    if verdict.kind in _NO_TRY or verdict.verdict == "unclear" or verdict.target_note != rung.target:
        return False
    return verdict.kind in ("prebend", "prebend_release") or verdict.rest_note in (None, rung.note)


def other_note_card(verdict: Verdict, rung: Rung) -> VerdictCard:
    """The face of a note that was no try: what it was, or that it was another note than asked for."""
    other_rest = verdict.rest_note not in (None, rung.note)
    other_target = verdict.target_note not in (None, rung.target)  # the foot moved on while the note sounded
    if verdict.kind in ("slide", "hammer_on") or not (other_rest or other_target):
        return card_of(verdict)
    played = f"{verdict.rest_note or '?'} to {verdict.target_note or '?'}"
    return VerdictCard("OTHER", None, "", f"that was {played}, asked is {rung.note} to {rung.target}")
