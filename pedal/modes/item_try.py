"""One thing that a Round asks for, but for a lick: a judged note held against it."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from pedal.modes.card import card_of, is_try, other_note_card
from pedal.modes.log_entry import LogEntry
from pedal.modes.rungs import Rung
from pedal.modes.screen_model import VerdictCard
from pedal.modes.state import PedalState
from pedal.practice.item import Item
from pedal.practice.score import Outcome
from pedal.verdicts.verdict import Verdict, Word

_OUTCOME: dict[Word, Outcome] = {"true": "true", "near": "near"}


class Held(NamedTuple):
    """What a note was for an item (`outcome` None for no try), what is shown, and what is logged of it."""

    outcome: Outcome | None = None
    card: VerdictCard | None = None
    entry: LogEntry | None = None


def hold_against(item: Item, verdict: Verdict, state: PedalState) -> Held:
    """A note held against an item: a bend must be the one asked for, a curl must stand on its note."""
    if item.part in ("plain", "between"):
        return _hold_plain(item, verdict)
    if verdict.kind == "steady":
        return Held()
    outcome = _OUTCOME.get(verdict.verdict, "missed")
    if item.part == "curl":
        if verdict.verdict == "unclear" or verdict.kind in ("slide", "hammer_on"):
            return Held(None, card_of(verdict))
        if verdict.kind != "curl":
            played = f"{verdict.rest_note or '?'} to {verdict.target_note or '?'}"
            return Held(None, _other(played, f"{item.note}, curled"))
        if verdict.rest_note != item.note:
            return Held(None, _other(verdict.rest_note, item.note))
        entry = state.entry("round", verdict)
        entry = replace(entry, position=state.position, string=item.string, fret=item.fret)
        return Held(outcome, card_of(verdict), entry)
    rung = rung_of(item)
    if not is_try(verdict, rung):
        return Held(None, other_note_card(verdict, rung))
    before, wanted = verdict.kind.startswith("prebend"), item.part == "prebend"
    if before != wanted:
        names = {True: "a pre-bend", False: "a bend"}
        return Held(None, _other(names[before], names[wanted]))
    return Held(outcome, card_of(verdict), state.entry("round", verdict, rung=rung))


def _hold_plain(item: Item, verdict: Verdict) -> Held:
    """A fretted note is right or another one; a nudge of it is none of our business here."""
    if verdict.kind not in ("steady", "curl") or verdict.rest_note is None:
        return Held()
    if verdict.rest_note == item.note:
        return Held("true")
    return Held("missed", _other(verdict.rest_note, item.note))


def _other(played: str | None, asked: str) -> VerdictCard:
    return VerdictCard("OTHER", None, "", f"that was {played}, asked is {asked}")


def rung_of(item: Item) -> Rung:
    """The bend of an item, as the judge and the log take it."""
    return Rung(item.string, item.fret, item.rest_midi, item.target_midi, item.note, item.target, item.support)
