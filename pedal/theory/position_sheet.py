"""Key, position and rig -> everything a player may want to know of it before bending a string."""

from __future__ import annotations

from pedal.theory.cents import hz_of
from pedal.theory.effort import Effort, Rig
from pedal.theory.force import Push
from pedal.theory.neck import Bend, Position, Spot, bends, curls, position
from pedal.theory.scale import Key
from pedal.theory.zone import BLUE_ZONE, BlueZone
from pedal.values import frozen


@frozen
class BendRow:
    """One bend of the position with its names in the key's spelling ("Bb3", "b3") and its effort."""

    bend: Bend
    from_note: str
    from_degree: str
    to_note: str
    effort: Effort


@frozen
class CurlRow:
    """One curl of the position: where it is fretted, and pitch and push at both edges of the blue zone."""

    spot: Spot
    note: str
    degree: str
    low_hz: float
    high_hz: float
    low_push: Push
    high_push: Push


@frozen
class PositionSheet:
    """A position as it lies on a rig, from the lowest note up."""

    key: Key
    place: Position
    rig: Rig
    zone: BlueZone
    bends: tuple[BendRow, ...]
    curls: tuple[CurlRow, ...]


def position_sheet(key: Key, number: int, rig: Rig, *, zone: BlueZone = BLUE_ZONE) -> PositionSheet:
    """The bends and curls of a position, with what each asks of the hand.

    number : of the position, from 1; `zone` is where its curls should end.

    Raises
    ------
    PositionError
        If the scale has no such position, or the neck does not hold it.
    """
    place = position(key, number, rig.neck)
    return PositionSheet(
        key,
        place,
        rig,
        zone,
        tuple(_bend_row(key, bend, rig) for bend in bends(key, place)),
        tuple(_curl_row(key, spot, rig, zone) for spot in curls(key, place)),
    )


def _bend_row(key: Key, bend: Bend, rig: Rig) -> BendRow:
    return BendRow(
        bend,
        key.spell(bend.from_midi),
        key.degree_of(bend.from_midi),
        key.spell(bend.to_midi),
        rig.effort(bend),
    )


def _curl_row(key: Key, spot: Spot, rig: Rig, zone: BlueZone) -> CurlRow:
    low, high = zone.low_cents / 100, zone.high_cents / 100
    return CurlRow(
        spot,
        key.spell(spot.midi),
        key.degree_of(spot.midi),
        hz_of(spot.midi + low, a4_hz=rig.a4_hz),
        hz_of(spot.midi + high, a4_hz=rig.a4_hz),
        rig.push(spot, low),
        rig.push(spot, high),
    )
