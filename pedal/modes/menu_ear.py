"""A note played while the menu is up -> what it says to the row that is open: the guitar is the keyboard.

key      the note is the root
bend     the fretted note is where the bend begins, in this position or the nearest that has it
tuning   how far the nearest open string is off; nothing is changed
"""

from __future__ import annotations

from dataclasses import replace

from pedal.modes.menu_items import Choice, bend_words, in_key_of
from pedal.modes.state import PedalState
from pedal.theory.cents import cents_between, hz_of, midi_of
from pedal.theory.neck import open_string_names

EARS = ("key", "bend", "tuning")
"""Rows that a played note answers."""


def choice_of(row: str, hz: float, state: PedalState) -> Choice | None:
    """What a note at `hz` chooses in a row; None where it chooses nothing."""
    midi = round(midi_of(hz, a4_hz=state.a4_hz))
    if row == "key":
        key = in_key_of(state.key, midi % 12)
        return Choice(str(key.tonic), replace(state, key=key))
    return _bend_from(midi, state) if row == "bend" else None


def answer_of(row: str, hz: float, state: PedalState) -> str:
    """What is said where nothing is chosen."""
    if row == "tuning":
        return _string_words(hz, state)
    return f"no {state.key.spell(round(midi_of(hz, a4_hz=state.a4_hz)))} here" if row == "bend" else ""


def _bend_from(midi: int, state: PedalState) -> Choice | None:
    """The bend that begins on this note, where the hand is or has the shortest way to go."""
    for number in sorted(state.held_positions(), key=lambda number: (abs(number - state.position), number)):
        there = replace(state, position=number)
        for rung in there.rungs():
            if rung.rest_midi == midi and rung.crossing not in state.crossed_off:
                chosen = replace(there, bend=rung)
                return Choice(bend_words(chosen), chosen)
    return None


def _string_words(hz: float, state: PedalState) -> str:
    capo, tuning = state.neck.capo, state.neck.tuning
    names = open_string_names(tuning, capo=capo)
    errors = [cents_between(hz_of(midi + capo, a4_hz=state.a4_hz), hz) for midi in tuning.open_midi]
    cents, name = min(zip(errors, names, strict=True), key=lambda one: abs(one[0]))
    return f"{name} {round(cents):+d}" if abs(cents) < 50.0 else "no open string"
