"""Verdict -> the face it shows: one big word, one figure, the ending, and a few words for the close density."""

from __future__ import annotations

from pedal.modes.screen_model import VerdictCard
from pedal.notes.note import Ending
from pedal.verdicts.verdict import Verdict

ENDINGS: dict[Ending, str] = {"cut_sharp": "cut", "released": "released", "rang_out": "rang out", "cut": "cut"}
_NO_BEND = {"slide": "SLIDE", "hammer_on": "HAMMER", "steady": "STEADY"}


def card_of(verdict: Verdict) -> VerdictCard:
    """The face of a judged note.

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
