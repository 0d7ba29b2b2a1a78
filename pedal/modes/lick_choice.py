"""Which lick a Round asks for: the one that needs it most by its passes, else the one used last."""

from __future__ import annotations

from pedal.licks.lick import Lick
from pedal.licks.offers import place_notes
from pedal.modes.lick_log import LickHistory, logged_name
from pedal.modes.lick_shelf import NEW, chosen, title_of
from pedal.modes.rungs import Crossing
from pedal.modes.state import PedalState
from pedal.practice.item import Item, lick_item
from pedal.theory.neck import Bend


def round_lick(state: PedalState, history: LickHistory, now_s: float) -> Item | None:
    """The item of one kept lick; None where none is kept, fits key and neck, and is borne by the hand.

    Of those with passes in the log the neediest; without any the one chosen in the menu, else the first.
    """
    found = {one.number: item for one in state.licks if (item := lick_of(state, one.number)) is not None}
    names = {number: log_name_of(state, number) for number in found}
    played = [number for number in found if history.passes(state.player, names[number])]
    if played:
        return found[max(played, key=lambda number: history.need(state.player, names[number], now_s))]
    return found.get(state.lick) or next(iter(found.values()), None)


def lick_of(state: PedalState, number: int) -> Item | None:
    """The item of a kept lick; None for one that is not kept, off this neck, too heavy or with a crossed-off bend."""
    lick = model_of(state, number) if number != NEW else None
    heavy = None if lick is None else heavy_bends(lick, state)
    if lick is None or heavy is None:
        return None
    return lick_item(number, title_of(lick), lick.notes[0].midi, heavy_bends=heavy)


def model_of(state: PedalState, number: int) -> Lick | None:
    """The lick as it lies in the key of now."""
    return chosen(state.licks, number, state.key, state.neck).lick


def heavy_bends(lick: Lick, state: PedalState) -> int | None:
    """How many heavy bends one pass takes; None where one is crossed off or more than the strings bear."""
    rig = state.strung()
    for bend in _bends_in(lick, state).values():
        if bend is None or bend.fret <= state.neck.capo:
            return None
        if Crossing(bend.string, bend.fret, bend.semitones) in state.crossed_off:
            return None
        if rig is not None and rig.effort(bend).grade == "not_with_this_set":
            return None
    return len(heavy_notes(lick, state))


def heavy_notes(lick: Lick, state: PedalState) -> frozenset[int]:
    """Numbers, from 0, of the notes whose bends are heavy where they are played from this position."""
    return frozenset(
        number
        for number, bend in _bends_in(lick, state).items()
        if bend is not None and state.is_heavy(bend.string, bend.fret, bend.semitones)
    )


def _bends_in(lick: Lick, state: PedalState) -> dict[int, Bend | None]:
    """The bends and pre-bends by the number of their note; None for one that is off the neck."""
    spots = place_notes(lick, state.neck, state.position)
    return {
        number: None if spot is None else Bend(spot.string, spot.fret, note.midi, note.target_midi)
        for number, (note, spot) in enumerate(zip(lick.notes, spots, strict=True))
        if note.target_midi is not None
    }


def log_name_of(state: PedalState, number: int) -> str:
    """What the log calls a kept lick in the key of now; "" for one that is not kept."""
    lick = model_of(state, number)
    return "" if lick is None else logged_name(lick)
