"""Verdict -> the card it shows: one big word, one figure, the ending, a few words; and whether it was a try at all."""

from __future__ import annotations

from pedal.modes.rungs import Rung
from pedal.modes.screen_model import VerdictCard
from pedal.notes.note import Ending
from pedal.verdicts.verdict import Verdict

ENDINGS: dict[Ending, str] = {"cut_sharp": "cut", "released": "released", "rang_out": "rang out", "cut": "cut"}
_NO_TRY = {"steady", "slide", "hammer_on", "unclear"}
_NO_BEND = {"slide": "SLIDE", "hammer_on": "HAMMER", "steady": "STEADY"}


def card_of(verdict: Verdict) -> VerdictCard:
    """The card of a judged note.

    The figure of a bend is its error in whole cents; that of a curl its height, since no height inside the zone is
    called the right one. Notes that are no bend, or cannot be judged, show no figure.
    """
    line, note = verdict.reason, verdict.rest_note or verdict.target_note or ""
    if verdict.kind in _NO_BEND:
        return VerdictCard(_NO_BEND[verdict.kind], None, "", line, note=note)
    if verdict.verdict == "unclear":
        return VerdictCard("UNCLEAR", None, "", line, note=note)
    cents = verdict.bend_cents if verdict.kind == "curl" else verdict.error_cents
    figure = None if cents is None else round(cents)
    ending = ENDINGS[verdict.ending]
    return VerdictCard(verdict.verdict.upper(), figure, ending, line, is_height=verdict.kind == "curl", note=note)


def is_try(verdict: Verdict, rung: Rung) -> bool:
    """True for a bend or pre-bend to the rung's target that was judged.

    A bend must have begun on the rung's note. A pre-bend need not have rested at all; the judge, who knows the target,
    has already looked at where its first pitch lay.
    """
    if verdict.kind in _NO_TRY or verdict.verdict == "unclear" or verdict.target_note != rung.target:
        return False
    return verdict.kind in ("prebend", "prebend_release") or verdict.rest_note in (None, rung.note)


def other_note_card(verdict: Verdict, rung: Rung) -> VerdictCard:
    """The card of a note that was no try: what it was, or that it was another note than asked for."""
    other_rest = verdict.rest_note not in (None, rung.note)
    other_target = verdict.target_note not in (None, rung.target)  # the foot moved on while the note sounded
    if verdict.kind in ("slide", "hammer_on") or not (other_rest or other_target):
        return card_of(verdict)
    played = f"{verdict.rest_note or '?'} to {verdict.target_note or '?'}"
    return VerdictCard("OTHER", None, "", f"that was {played}, asked is {rung.note} to {rung.target}")
