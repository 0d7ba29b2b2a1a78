"""A position on a guitar -> everything that can be asked for in a Round, each with the force it takes."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Literal, NamedTuple

from pedal.theory.effort import HEAVY, UNKNOWN_N_A_SEMITONE, Grade, Rig, weigh
from pedal.theory.force import SEMITONES_MOST
from pedal.theory.neck import Bend, Neck, Position, Spot, bends, curls
from pedal.theory.scale import CURL_SEMITONES, Key
from pedal.theory.spelling import NoteNameError, parse_pitch
from pedal.values import frozen

Part = Literal["plain", "curl", "half", "bend", "prebend", "between", "lick"]
"""Plain notes; curls; half-step bends that are light; scale bends; pre-bends; a note fretted between heavy bends; a
whole lick."""

MOST_LICKS = 40
"""Licks on the pedal; a foot walks through them one by one."""
CURL_HEIGHT_SEMITONES = 0.6
"""A curl is weighed at the upper edge of the blue zone: it takes no more than that."""


class ItemName(NamedTuple):
    """What an item is remembered by over sessions and power cuts, whatever its force and spelling are then."""

    part: Part
    string: int
    fret: int
    target: str


@frozen
class Item:
    """One thing to play. `note` and `target` are scientific pitch in the key's spelling; alike where nothing is bent.

    force_n : sideways force at the end of it, newtons, computed; 0 for a fretted note.
    wanted : how often it must be true.
    heavy : counts against the ceiling.
    lick : the number of a kept lick, whose `note` is its name; 0 for what is none.
    heavy_bends : how many heavy bends one time through a lick takes.
    """

    part: Part
    string: int
    fret: int
    rest_midi: int
    target_midi: int
    note: str
    target: str
    force_n: float = 0.0
    support: str = ""
    wanted: int = 3
    heavy: bool = False
    lick: int = 0
    heavy_bends: int = 0

    @property
    def name(self) -> ItemName:
        """What it is remembered by; a lick by its number, in place of a fret."""
        if self.part == "lick":
            return ItemName("lick", 0, self.lick, "")
        return ItemName(self.part, self.string, self.fret, self.target)

    @property
    def semitones(self) -> int:
        """How far it rises; 0 for a fretted note and for a curl, whose height is its player's."""
        return self.target_midi - self.rest_midi


def items_of(key: Key, place: Position, rig: Rig | None) -> tuple[Item, ...]:
    """Every item of a position, in order of parts, the lightest first within each.

    A bend that is too heavy for the strings is left out: a practice that grows heavier has no place for it. Half steps
    are offered where they are light: the warm-up that the cautions ask for, since no scale bend of a pentatonic is.
    """
    plain = [_fretted("plain", key, spot.string, spot.fret, spot.midi) for spot in place.spots]
    half = [_bend("half", key, Bend(s.string, s.fret, s.midi, s.midi + 1), rig) for s in place.spots]
    scale = bends(key, place)
    parts = (
        plain,
        _rising(_curl(key, spot.string, spot.fret, spot.midi, rig) for spot in curls(key, place)),
        _rising(item for item, grade in half if grade == "light"),
        _rising(item for item, grade in (_bend("bend", key, b, rig) for b in scale) if grade != "not_with_this_set"),
        _rising(item for item, grade in (_bend("prebend", key, b, rig) for b in scale) if grade != "not_with_this_set"),
    )
    return tuple(item for part in parts for item in part)


def item_at(
    part: Part, string: int, fret: int, semitones: int, *, key: Key, neck: Neck, rig: Rig | None
) -> Item | None:
    """One item anywhere on the neck; None off it, for a curl that the key does not have, and for what is too heavy.

    string, fret : where it is fretted; string 1 is the highest, frets count from the nut.
    semitones : how far it is bent; 0 for a curl.
    """
    if string > neck.tuning.strings or not neck.capo < fret <= neck.frets:
        return None
    midi = neck.midi(string, fret)
    if part == "curl":
        return _curl(key, string, fret, midi, rig) if key.steps_above_tonic(midi) in CURL_SEMITONES else None
    item, grade = _bend(part, key, Bend(string, fret, midi, midi + semitones), rig)
    return None if grade == "not_with_this_set" else item


def item_named(name: ItemName, *, key: Key, neck: Neck, rig: Rig | None) -> Item | None:
    """What a remembered name meant in whatever key it was asked for; None for plain notes, licks, and off the neck.

    The target is spelled as it was then; of a bend the fretted note, which no name holds, as in this key.
    """
    string, fret = name.string, name.fret
    if not 1 <= string <= neck.tuning.strings or not neck.capo < fret <= neck.frets:
        return None
    midi = neck.midi(string, fret)
    try:
        target_midi = parse_pitch(name.target)
    except NoteNameError:
        return None
    if name.part == "curl" and target_midi == midi:
        return replace(_curl(key, string, fret, midi, rig), note=name.target, target=name.target)
    if name.part in ("half", "bend", "prebend") and 0 < target_midi - midi <= SEMITONES_MOST:
        return replace(_bend(name.part, key, Bend(string, fret, midi, target_midi), rig)[0], target=name.target)
    return None


def between(item: Item, key: Key, neck: Neck) -> tuple[Item, ...]:
    """What is fretted between two heavy bends: where it goes, where it comes from, and where it goes once more.

    So the hand lets go for some seconds, and the ear has the interval. The neck may end below the note that is bent to.
    """
    low = _fretted("between", key, item.string, item.fret, item.rest_midi)
    fret = item.fret + item.semitones
    if fret > neck.frets:
        return (low, low)
    high = _fretted("between", key, item.string, fret, item.target_midi)
    return (high, low, high)


def lick_item(number: int, title: str, first_midi: int, *, heavy_bends: int) -> Item:
    """A kept lick; its force is not one figure, so its heavy bends are counted.

    number, title : as it is kept, and as the player knows it.
    first_midi : its first note, as it is fretted.
    heavy_bends : in one time through it.
    """
    return Item("lick", 0, 0, first_midi, first_midi, title, title, lick=number, heavy_bends=heavy_bends)


def _rising(items: Iterable[Item]) -> list[Item]:
    return sorted(items, key=lambda item: item.force_n)


def _fretted(part: Part, key: Key, string: int, fret: int, midi: int) -> Item:
    note = key.spell(midi)
    return Item(part, string, fret, midi, midi, note, note, wanted=1)


def _curl(key: Key, string: int, fret: int, midi: int, rig: Rig | None) -> Item:
    note = key.spell(midi)
    force_n = CURL_HEIGHT_SEMITONES * UNKNOWN_N_A_SEMITONE
    if rig is not None:
        force_n = rig.push(Spot(string, fret, midi), CURL_HEIGHT_SEMITONES).force_n
    return Item("curl", string, fret, midi, midi, note, note, force_n, "index")


def _bend(part: Part, key: Key, bend: Bend, rig: Rig | None) -> tuple[Item, Grade]:
    weighed = weigh(rig, bend)
    names = key.spell(bend.from_midi), key.spell(bend.to_midi)
    return Item(
        part, bend.string, bend.fret, bend.from_midi, bend.to_midi, *names, weighed.force_n, weighed.support.short,
        heavy=weighed.grade in HEAVY,
    ), weighed.grade  # fmt: skip
