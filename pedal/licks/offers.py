"""Where a lick can sing: from its notes, the key, the neck and the hand, which note invites what.

The rule is written down in docs/licks.md; its parts have the same names here and there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from pedal.licks.lick import CURL_CENTS, Inflection, Lick, LickError, LickNote, spots_of
from pedal.theory.effort import HEAVY, Grade, Rig, weigh
from pedal.theory.neck import Bend, Neck, Spot, positions
from pedal.theory.scale import CURL_SEMITONES, Key
from pedal.values import frozen

Place = Literal["inside", "before_rest", "begin", "end"]

REST_BEATS, REST_LEAST_S = 0.25, 0.15
"""A silence that the ear takes for one: a quarter of a beat, and no less than this."""
TIED_BEATS = 0.1
"""Two notes follow each other where less than this is silent between them."""
CURL_LEAST_S, BEND_LEAST_S, RETURN_LEAST_S = 0.2, 0.3, 0.45
"""What a hand needs: to raise a curl and cut it off; to bend to a note; to bend and come back (choices; the quickest
curls that the pedal tells take 0.13 s)."""
REACH_SEMITONES = 4
"""What a finger reaches on one string, and the furthest bend that is ever offered."""


@frozen
class Offer:
    """One change: `notes` of the lick (first, one past the last) become `note`.

    grade : of the bend's force; "light" for a curl.
    why : a few words for the player.
    """

    first: int
    after: int
    note: LickNote
    spot: Spot
    place: Place
    grade: Grade
    force_n: float
    why: str

    @property
    def inflection(self) -> Inflection:
        """What the hand would do with the note: a curl, a bend or a pre-bend."""
        return self.note.inflection

    @property
    def heavy(self) -> bool:
        """Whether it is offered last, and never beside another heavy one."""
        return self.grade in HEAVY


def offers(
    lick: Lick,
    *,
    neck: Neck,
    rig: Rig | None = None,
    crossed_off: frozenset[tuple[int, int, int]] = frozenset(),
    position_number: int = 1,
) -> tuple[Offer, ...]:
    """Every change that the lick invites, the lightest first; nothing out of reach, nothing off the key.

    rig : the strung guitar; None where the string set does not fit the tuning.
    crossed_off : string, fret and semitones of bends that are never asked for.
    position_number : where the hand is: of places for the lick that are as good, this comes first.
    """
    spots = place_notes(lick, neck, position_number)
    found = [
        *_curls(lick, neck, spots),
        *_bends(lick, neck, spots),
        *_prebend_to_begin(lick, neck, spots),
        *_release_to_end(lick, neck, spots),
    ]
    weighed = [_weighed(offer, rig) for offer in found]
    held = [
        offer
        for offer in weighed
        if offer.grade != "not_with_this_set"
        and _crossing(offer) not in crossed_off
        and not _beside_heavy(offer, lick, spots, rig)
    ]
    light = sorted((offer for offer in held if not offer.heavy), key=_rank)
    heavy = sorted((offer for offer in held if offer.heavy), key=lambda offer: (offer.force_n, *_rank(offer)))
    return (*light, *heavy[:1])


def applied(lick: Lick, offer: Offer) -> Lick:
    """The lick with one change made. Raises `LickError` where too few notes would be left."""
    return replace(lick, notes=(*lick.notes[: offer.first], offer.note, *lick.notes[offer.after :]))


def sung_form(lick: Lick, found: Sequence[Offer]) -> Lick:
    """The lick with every curl and scale bend that goes together, the better first; none that is heavy."""
    taken: list[Offer] = []
    for offer in found:
        overlaps = any(offer.first < other.after and other.first < offer.after for other in taken)
        if not overlaps and not offer.heavy and offer.place in ("inside", "before_rest"):
            taken.append(offer)
    sung = lick
    for offer in sorted(taken, key=lambda offer: -offer.first):  # from the end, so that the numbers stay
        try:
            sung = applied(sung, offer)
        except LickError:
            continue
    return sung


def place_notes(lick: Lick, neck: Neck, position_number: int = 1) -> tuple[Spot | None, ...]:
    """Where each note is fretted: as written down, else in the position that holds most of the lick, else near it.

    Among positions that hold as many the player's own (`position_number`) comes first. None for what is off the neck.
    """
    places = list(positions(lick.key, neck))
    places.sort(key=lambda place: (place.number != position_number, place.number))
    found = [{spot.midi: spot for spot in place.spots} for place in places]
    best = max(range(len(found)), key=lambda n: sum(note.midi in found[n] for note in lick.notes), default=None)
    held = {} if best is None else found[best]
    centre = _centre(held)
    return tuple(_spot(note, held, centre, neck) for note in lick.notes)


def _centre(held: dict[int, Spot]) -> float:
    frets = [spot.fret for spot in held.values()]
    return sum(frets) / len(frets) if frets else 5.0


def _spot(note: LickNote, held: dict[int, Spot], centre: float, neck: Neck) -> Spot | None:
    if note.string is not None and note.fret is not None and (note.string, note.fret) in spots_of(note.midi, neck):
        return Spot(note.string, note.fret, note.midi)
    if note.midi in held:
        return held[note.midi]
    every = spots_of(note.midi, neck)
    return Spot(*min(every, key=lambda spot: abs(spot[1] - centre)), note.midi) if every else None


def _curls(lick: Lick, neck: Neck, spots: Sequence[Spot | None]) -> list[Offer]:
    """On each minor third and flat seventh that is long enough; best where a rest follows, since it must be cut off."""
    found = []
    for number, (note, spot) in enumerate(zip(lick.notes, spots, strict=True)):
        if note.inflection != "plain" or spot is None or spot.fret <= neck.capo or not lick.key.contains(note.midi):
            continue
        if lick.key.steps_above_tonic(note.midi) not in CURL_SEMITONES or note.beats * lick.beat_s < CURL_LEAST_S:
            continue
        following = lick.notes[number + 1] if number + 1 < len(lick.notes) else None
        if following is not None and following.begun_by != "pluck":
            continue  # the next note comes out of this one: there is nothing to cut off
        stops = following is None or (note.rest_beats >= REST_BEATS and note.rest_beats * lick.beat_s >= REST_LEAST_S)
        curled = replace(note, inflection="curl", cents=CURL_CENTS, ending="cut")
        why = "a rest follows: cut it sharp" if stops else "a blue note"
        found.append(Offer(number, number + 1, curled, spot, "before_rest" if stops else "inside", "light", 0.0, why))
    return found


def _bends(lick: Lick, neck: Neck, spots: Sequence[Spot | None]) -> list[Offer]:
    """Where two notes are neighbours of the scale upward, one after the other: the second is bent to, not fretted."""
    found = []
    for number, (note, later) in enumerate(zip(lick.notes, lick.notes[1:], strict=False)):
        spot = spots[number]
        plain = note.inflection == "plain" and later.inflection == "plain"
        tied = note.rest_beats < TIED_BEATS
        if not plain or not tied or spot is None or not _in_reach(lick.key, note.midi, later.midi, spot, neck):
            continue
        beats = note.beats + note.rest_beats + later.beats
        if beats * lick.beat_s < BEND_LEAST_S:
            continue
        bent = LickNote(
            note.midi, beats, later.rest_beats, "bend", later.midi, 0.0,
            "ring" if later.ending == "ring" else "cut", begun_by=note.begun_by, string=spot.string, fret=spot.fret,
        )  # fmt: skip
        why = f"bend to {lick.key.spell(later.midi)} in place of fret {spot.fret + later.midi - note.midi}"
        found.append(Offer(number, number + 2, bent, spot, "inside", "light", 0.0, why))
    return found


def _in_reach(key: Key, midi: int, target: int, spot: Spot, neck: Neck) -> bool:
    """A fretted note of the key, its next neighbour above, and a hand's reach on one string between them."""
    if not key.contains(midi) or spot.fret <= neck.capo or target != key.next_above(midi):
        return False
    return target - midi <= REACH_SEMITONES


def _prebend_to_begin(lick: Lick, neck: Neck, spots: Sequence[Spot | None]) -> list[Offer]:
    """The first note from the scale note below it, bent before it is plucked; on its own string, else the next."""
    note, spot = lick.notes[0], spots[0]
    if note.inflection != "plain" or spot is None or not lick.key.contains(note.midi):
        return []
    below = next(midi for midi in range(note.midi - 1, note.midi - 13, -1) if lick.key.contains(midi))
    steps = note.midi - below
    if steps > REACH_SEMITONES or note.beats * lick.beat_s < BEND_LEAST_S:
        return []
    for string in (spot.string, spot.string + 1):
        if string > neck.tuning.strings:
            continue
        fret = below - neck.tuning.open_midi[string - 1]
        if neck.capo < fret <= neck.frets and abs(fret - spot.fret) <= REACH_SEMITONES:
            bent = replace(note, midi=below, inflection="prebend", target_midi=note.midi, string=string, fret=fret)
            why = f"begin it bent, from {lick.key.spell(below)}"
            return [Offer(0, 1, bent, Spot(string, fret, below), "begin", "light", 0.0, why)]
    return []


def _release_to_end(lick: Lick, neck: Neck, spots: Sequence[Spot | None]) -> list[Offer]:
    """The last note bent to the next of the scale and back."""
    last = len(lick.notes) - 1
    note, spot = lick.notes[last], spots[last]
    if note.inflection != "plain" or spot is None or not lick.key.contains(note.midi):
        return []
    target = lick.key.next_above(note.midi)
    if not _in_reach(lick.key, note.midi, target, spot, neck) or note.beats * lick.beat_s < RETURN_LEAST_S:
        return []
    bent = replace(note, inflection="bend", target_midi=target, ending="release", string=spot.string, fret=spot.fret)
    why = f"end it with a bend to {lick.key.spell(target)} and back"
    return [Offer(last, last + 1, bent, spot, "end", "light", 0.0, why)]


def _weighed(offer: Offer, rig: Rig | None) -> Offer:
    note = offer.note
    if note.target_midi is None:
        return offer
    grade, force = _effort(offer.spot, note.midi, note.target_midi, rig)
    return replace(offer, grade=grade, force_n=force)


def _effort(spot: Spot, midi: int, target: int, rig: Rig | None) -> tuple[Grade, float]:
    """Grade and newtons; no figure is made up where none can be computed."""
    weighed = weigh(rig, Bend(spot.string, spot.fret, midi, target))
    return weighed.grade, weighed.force_n if rig is not None else 0.0


def _crossing(offer: Offer) -> tuple[int, int, int]:
    note = offer.note
    steps = 0 if note.target_midi is None else note.target_midi - note.midi
    return offer.spot.string, offer.spot.fret, steps


def _beside_heavy(offer: Offer, lick: Lick, spots: Sequence[Spot | None], rig: Rig | None) -> bool:
    """Whether a heavy one would follow, or be followed by, a heavy bend that is in the lick already."""
    if not offer.heavy:
        return False
    before = [n for n in range(offer.first) if lick.notes[n].target_midi is not None][-1:]
    after = [n for n in range(offer.after, len(lick.notes)) if lick.notes[n].target_midi is not None][:1]
    for number in (*before, *after):
        note, spot = lick.notes[number], spots[number]
        if spot is not None and note.target_midi is not None:
            grade, _ = _effort(spot, note.midi, note.target_midi, rig)
            if grade in HEAVY:
                return True
    return False


_ORDER: dict[tuple[Inflection, Place], int] = {
    ("curl", "before_rest"): 0, ("bend", "inside"): 1, ("curl", "inside"): 2, ("prebend", "begin"): 3,
    ("bend", "end"): 4,
}  # fmt: skip


def _rank(offer: Offer) -> tuple[float, ...]:
    """Curls that a rest follows, bends from the lightest to the firmest, the other curls, the beginning, the end."""
    return _ORDER[offer.inflection, offer.place], offer.force_n, offer.first
