"""A position sheet -> the player's page of text, and the object that programs read."""

from __future__ import annotations

from typing import Any

from pedal.screen.neck_picture import NeckMark, NeckSheet, PlainMark
from pedal.theory.effort import CAUTIONS
from pedal.theory.force import SEMITONES_MOST
from pedal.theory.neck import open_string_names
from pedal.theory.position_sheet import BendRow, CurlRow, PositionSheet
from pedal.theory.spelling import for_eyes

_MM_A_METRE = 1000.0
_CELL = 11


def position_object(sheet: PositionSheet) -> dict[str, Any]:
    """What `--json` prints: key, position, bends and curls; newtons and millimetres to two places."""
    return {
        "key": str(sheet.key),
        "position": sheet.place.number,
        "bends": [_bend_object(row) for row in sheet.bends],
        "curls": [_curl_object(row, sheet) for row in sheet.curls],
    }


def position_page(sheet: PositionSheet) -> str:
    """The page for a terminal: the neck, the bends, the curls, the cautions."""
    return "\n\n".join(
        [
            "\n".join(_heading(sheet)),
            "\n".join(_neck(sheet)),
            "\n".join(_bends(sheet)),
            "\n".join(_curls(sheet)),
            "\n".join(CAUTIONS),
        ]
    )


def heading(sheet: PositionSheet) -> str:
    """Key, position and frets in one line, for eyes."""
    place = sheet.place
    return (
        f"{key_for_eyes(sheet)} · position {place.number} from degree {for_eyes(place.degree)} · "
        f"frets {place.lowest_fret} to {place.highest_fret}"
    )


def rig_line(sheet: PositionSheet) -> str:
    """Tuning, capo, scale length, concert pitch and string set in one line."""
    rig = sheet.rig
    capo = f" · capo {rig.neck.capo}" if rig.neck.capo else ""
    gauges = " ".join(str(string) for string in rig.strings)
    tuning = " ".join(reversed(open_notes(sheet)))
    return f"{tuning}{capo} · A4 {rig.a4_hz:g} Hz · {_MM_A_METRE * rig.scale_m:g} mm · {gauges}"


def key_for_eyes(sheet: PositionSheet) -> str:
    """The key with its accidentals drawn."""
    key = sheet.key
    own = key.scale.startswith("[")
    return f"{for_eyes(str(key.tonic))} {key.scale.replace('b', '♭').replace('#', '♯') if own else key.scale}"


def open_notes(sheet: PositionSheet) -> tuple[str, ...]:
    """The open strings without capo, string 1 first, for eyes: as a player says them, whatever the key."""
    return tuple(map(for_eyes, open_string_names(sheet.rig.neck.tuning, capo=0)))


def neck_sheet(sheet: PositionSheet) -> NeckSheet:
    """What the drawing of the neck says."""
    curled = {(row.spot.string, row.spot.fret) for row in sheet.curls}
    # Common practice: the upper half of the strings is pushed away from string 1, the lower half pulled toward it.
    pushed = sheet.rig.neck.tuning.strings // 2
    marks = tuple(
        NeckMark(
            row.bend.string,
            row.bend.fret,
            for_eyes(row.from_degree),
            for_eyes(row.to_note),
            row.bend.semitones,
            _MM_A_METRE * row.effort.push.travel_m,
            row.effort.push.force_n,
            row.effort.grade,
            curl=(row.bend.string, row.bend.fret) in curled,
            pulled=row.bend.string > pushed,
        )
        for row in sheet.bends
    )
    bent = {(mark.string, mark.fret) for mark in marks}
    plain = tuple(
        PlainMark(string, fret, degree, curl=(string, fret) in curled)
        for (string, fret), degree in _degrees(sheet).items()
        if (string, fret) not in bent
    )
    gauges_in = tuple(string.gauge_in for string in sheet.rig.strings)
    return NeckSheet(heading(sheet), rig_line(sheet), open_notes(sheet), gauges_in, sheet.rig.neck.capo, marks, plain)


def _degrees(sheet: PositionSheet) -> dict[tuple[int, int], str]:
    """What each string and fret of the position is called, for eyes."""
    return {(spot.string, spot.fret): for_eyes(sheet.key.degree_of(spot.midi)) for spot in sheet.place.spots}


def _bend_object(row: BendRow) -> dict[str, Any]:
    push = row.effort.push
    return {
        "string": row.bend.string,
        "fret": row.bend.fret,
        "from": row.from_note,
        "to": row.to_note,
        "semitones": row.bend.semitones,
        "push_newtons": round(push.force_n, 2),
        "push_mm": round(_MM_A_METRE * push.travel_m, 2),
        "grade": row.effort.grade,
        "support": str(row.effort.support),
    }


def _curl_object(row: CurlRow, sheet: PositionSheet) -> dict[str, Any]:
    return {
        "string": row.spot.string,
        "fret": row.spot.fret,
        "note": row.note,
        "degree": row.degree,
        "zone_cents": [sheet.zone.low_cents, sheet.zone.high_cents],
        "zone_hz": [round(row.low_hz, 3), round(row.high_hz, 3)],
        "push_mm": [round(_MM_A_METRE * push.travel_m, 2) for push in (row.low_push, row.high_push)],
    }


def _heading(sheet: PositionSheet) -> list[str]:
    return [heading(sheet), rig_line(sheet)]


def _neck(sheet: PositionSheet) -> list[str]:
    """One row a string, string 1 on top: degree, rise, and a wave where it is curled."""
    place = sheet.place
    frets = range(place.lowest_fret, place.highest_fret + 1)
    curled = {(row.spot.string, row.spot.fret) for row in sheet.curls}
    cells = _degrees(sheet) | {
        (row.bend.string, row.bend.fret): f"{for_eyes(row.from_degree)} +{row.bend.semitones}" for row in sheet.bends
    }
    rows = [" " * 9 + "".join(f"{fret:^{_CELL + 1}}" for fret in frets).rstrip()]
    for string, note in enumerate(open_notes(sheet), 1):
        marks = [cells.get((string, fret), "") + (" ~" if (string, fret) in curled else "") for fret in frets]
        line = "".join(f"{mark:─^{_CELL}}│" if not mark else f"{f' {mark} ':─^{_CELL}}│" for mark in marks)
        rows.append(f"{string:>2} {note:<4} │{line}")
    rows.append(" " * 9 + "+2: bend it two semitones, to the note above it in the scale · ~: curl it")
    return rows


def _bends(sheet: PositionSheet) -> list[str]:
    if not sheet.bends:
        return [f"No bends: the notes of this scale lie more than {SEMITONES_MOST:g} semitones apart."]
    rows = [f"{'':>3} {'string':>6} {'fret':>4}  {'bend':<19}  {'travel':>7}  {'force':>6}  {'grade':<17}  support"]
    for number, row in enumerate(sheet.bends, 1):
        push = row.effort.push
        bend = (
            f"{for_eyes(row.from_note):<4} {f'({for_eyes(row.from_degree)})':<4} → "
            f"{for_eyes(row.to_note):<4} +{row.bend.semitones}"
        )
        rows.append(
            f"{number:>3} {row.bend.string:>6} {row.bend.fret:>4}  {bend:<19}  {_MM_A_METRE * push.travel_m:>4.1f} mm"
            f"  {push.force_n:>4.1f} N  {row.effort.grade.replace('_', ' '):<17}  {row.effort.support}"
        )
    locked_mm = _MM_A_METRE * max(row.effort.push.locked_travel_m for row in sheet.bends)
    share = max(row.effort.push.breaking_share for row in sheet.bends)
    rows.append(
        f"Travel and force with the string free over fret and nut; locked at the fret up to {locked_mm:.0f} mm. "
        f"At most {100 * share:.0f} % of a string's strength."
    )
    return rows


def _curls(sheet: PositionSheet) -> list[str]:
    zone = sheet.zone
    if not sheet.curls:
        return ["No curls: this scale has neither a minor third nor a flat seventh."]
    rows = [
        f"Curls: {zone.low_cents:g} to {zone.high_cents:g} cents above the note as it sounded, "
        "cut off while still sharp."
    ]
    for row in sheet.curls:
        low_mm, high_mm = _MM_A_METRE * row.low_push.travel_m, _MM_A_METRE * row.high_push.travel_m
        rows.append(
            f"    {row.spot.string:>6} {row.spot.fret:>4}  {for_eyes(row.note):<4} {f'({for_eyes(row.degree)})':<4}"
            f"  {row.low_hz:>7.2f} to {row.high_hz:.2f} Hz  {low_mm:.1f} to {high_mm:.1f} mm"
        )
    return rows
