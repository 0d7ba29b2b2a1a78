"""A lick in words: its notes, where it can sing, and how its passes went; for the terminal and for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pedal.licks.lick import Lick, LickNote
from pedal.licks.marks import MarkedPass, NoteMark
from pedal.licks.offers import Offer, place_notes, sung_form
from pedal.modes.lick_shelf import KeptLick, title_of
from pedal.safe_text import clean
from pedal.theory.effort import CAUTIONS
from pedal.theory.neck import Neck
from pedal.theory.scale import Key
from pedal.theory.spelling import for_eyes


def heading_of(lick: Lick) -> str:
    """Name, key, tempo, count and length in one line."""
    name = f"{clean(lick.name)} · " if lick.name else ""
    return (
        f"{name}{for_eyes(str(lick.key))} · {lick.beats_a_minute:.0f} beats a minute · "
        f"{len(lick.notes)} notes in {lick.seconds:.1f} s"
    )


def hand_of(note: LickNote, key: Key) -> str:
    """What the hand does: "curl +35, cut", "bend to D4 and back", "" for a plain note that is cut off."""
    words = []
    begun = {"hammer_on": "hammered", "pull_off": "pulled off", "slide": "slid"}.get(note.begun_by)
    if begun:
        words.append(begun)
    if note.inflection == "curl":
        words.append(f"curl +{note.cents:.0f}, " + ("released" if note.ending == "release" else "cut off sharp"))
    elif note.target_midi is not None:
        kind = "bend" if note.inflection == "bend" else "pre-bend"
        words.append(f"{kind} to {key.spell(note.target_midi)}" + (" and back" if note.ending == "release" else ""))
    elif note.ending == "ring":
        words.append("left to ring")
    if note.vibrato_hz:
        words.append("vibrato")
    return for_eyes(", ".join(words))


def lick_page(lick: Lick, found: Sequence[Offer], neck: Neck, position_number: int) -> str:
    """The page for a terminal: the notes, the offers in their order, the lick sung."""
    rows = [heading_of(lick), "", "  #  note  degree  string  fret  beats  what the hand does"]
    spots = place_notes(lick, neck, position_number)
    for number, (note, spot) in enumerate(zip(lick.notes, spots, strict=True), 1):
        string, fret = ("–", "–") if spot is None else (str(spot.string), str(spot.fret))
        name, degree = for_eyes(lick.key.spell(note.midi)), for_eyes(lick.key.degree_of(note.midi))
        hand = hand_of(note, lick.key)
        rows.append(f"{number:3}  {name:<5} {degree:<7} {string:>6} {fret:>5} {note.beats:6.2f}  {hand}".rstrip())
        if note.rest_beats:
            rows.append(f"{'':3}  rest{'':22} {note.rest_beats:6.2f}")
    rows += ["", "Where it can sing, the lightest first" if found else "It invites no change."]
    for number, offer in enumerate(found, 1):
        rows.append(f"{number:3}  {offer_words(offer, lick.key)}")
    sung = sung_form(lick, found)
    if sung != lick:
        rows += ["", "Sung   " + in_a_row(sung)]
    rows.append("Plain  " + in_a_row(lick) if sung == lick else "As is  " + in_a_row(lick))
    if any(offer.heavy for offer in found):
        rows += ["", CAUTIONS[3]]
    return "\n".join(rows)


def offer_words(offer: Offer, key: Key) -> str:
    """One change in one line, with string, fret and force."""
    note = offer.note
    name = for_eyes(f"{key.spell(note.midi)} ({key.degree_of(note.midi)})")
    where = f"string {offer.spot.string} fret {offer.spot.fret}"
    if note.target_midi is None:
        return f"note {offer.first + 1}: curl {name}, {where}: {offer.why}"
    force = f"{offer.force_n:.1f} N, " if offer.force_n else ""
    kind = "pre-bend" if note.inflection == "prebend" else "bend"
    return (
        f"note {offer.first + 1}: {kind} {name} to {for_eyes(key.spell(note.target_midi))}, {where}, "
        f"{force}{offer.grade.replace('_', ' ')}: {for_eyes(offer.why)}"
    )


def in_a_row(lick: Lick) -> str:
    """The lick in one line: "G3 B♭3~ C4▸D4 rest D4▸F4▸D4"; a pre-bend is "(C4)D4"."""
    words = []
    for note in lick.notes:
        name = lick.key.spell(note.midi)
        if note.target_midi is not None:
            target = lick.key.spell(note.target_midi)
            word = f"{name}▸{target}" if note.inflection == "bend" else f"({name}){target}"
            words.append(word + (f"▸{name}" if note.ending == "release" else ""))
        else:
            words.append(name + ("~" if note.inflection == "curl" else ""))
        if note.rest_beats >= 0.25:
            words.append("·")
    return for_eyes(" ".join(words))


def lick_object(lick: Lick, found: Sequence[Offer], neck: Neck, position_number: int) -> dict[str, Any]:
    """What `--json` prints."""
    spots = place_notes(lick, neck, position_number)
    return {
        "name": lick.name,
        "key": str(lick.key),
        "beats_a_minute": round(lick.beats_a_minute, 2),
        "notes": [
            {
                "note": lick.key.spell(note.midi),
                "degree": lick.key.degree_of(note.midi),
                "string": None if spot is None else spot.string,
                "fret": None if spot is None else spot.fret,
                "beats": round(note.beats, 3),
                "rest_beats": round(note.rest_beats, 3),
                "inflection": note.inflection,
                "target_note": None if note.target_midi is None else lick.key.spell(note.target_midi),
                "cents": note.cents,
                "ending": note.ending,
            }
            for note, spot in zip(lick.notes, spots, strict=True)
        ],
        "offers": [
            {
                "note": offer.first + 1,
                "notes": offer.after - offer.first,
                "inflection": offer.inflection,
                "from_note": lick.key.spell(offer.note.midi),
                "target_note": None if offer.note.target_midi is None else lick.key.spell(offer.note.target_midi),
                "place": offer.place,
                "string": offer.spot.string,
                "fret": offer.spot.fret,
                "push_newtons": round(offer.force_n, 2),
                "grade": offer.grade,
                "why": offer.why,
            }
            for offer in found
        ],
    }


def shelf_page(shelf: Sequence[KeptLick]) -> str:
    """The licks that are kept, a line each."""
    rows = []
    for one in shelf:
        number = "new" if one.number == 0 else f"{one.number:3}"
        rows.append(f"{number}  {for_eyes(clean(title_of(one.lick))):<28} {heading_of(one.lick)}")
    return "\n".join(rows)


def pass_rows(number: int, marked: MarkedPass, key: Key, begin_s: float) -> list[str]:
    """A pass for the terminal: its line, then a row a note."""
    tempo = "" if marked.tempo_percent is None else f", tempo {marked.tempo_percent:.0f} %"
    line = for_eyes(marked.line) if marked.known else "another phrase"
    rows = [f"pass {number} at {begin_s:.2f} s{tempo}: {line}"]
    for place, mark in enumerate(marked.marks):
        caret = "▴" if place == marked.caret else " "
        rows.append(
            f"  {caret} {_name(mark, key):<14} {mark.mark.replace('_', ' '):<14}{_figures(mark)}{mark.words}".rstrip()
        )
    return rows


def _name(mark: NoteMark, key: Key) -> str:
    if mark.asked is None:
        sounds = mark.heard.sounds if mark.heard is not None else ()
        return for_eyes(key.spell(sounds[0])) if sounds else "?"
    return for_eyes("▸".join(key.spell(midi) for midi in mark.asked.note.sounds))


def _figures(mark: NoteMark) -> str:
    height = "" if mark.height_cents is None else f"{round(mark.height_cents):+d} c"
    length = "" if mark.length_percent is None else f"{round(mark.length_percent):+d} %"
    gap = "" if mark.gap_percent is None else f"{round(mark.gap_percent):+d} %"
    return f"{height:>7} {length:>8} {gap:>8}  "


def pass_object(number: int, marked: MarkedPass, key: Key, begin_s: float, name: str) -> dict[str, Any]:
    """What `--json` prints: one object a pass, with its notes."""
    return {
        "lick": name,
        "pass": number,
        "onset_s": round(begin_s, 4),
        "question": marked.question,
        "known": marked.known,
        "right": marked.right,
        "of": marked.of,
        "tempo_percent": _rounded(marked.tempo_percent),
        "line": marked.line,
        "caret": marked.caret,
        "notes": [_note_object(mark, key) for mark in marked.marks],
    }


def _note_object(mark: NoteMark, key: Key) -> dict[str, Any]:
    asked, heard = mark.asked, mark.heard
    return {
        "note": None if mark.number is None else mark.number + 1,
        "asked": None if asked is None else [key.spell(midi) for midi in asked.note.sounds],
        "heard": None if heard is None else [key.spell(midi) for midi in heard.sounds],
        "mark": mark.mark,
        "right": mark.right,
        "words": mark.words,
        "onset_s": None if heard is None else round(heard.onset_s, 4),
        "kind": None if heard is None else heard.kind,
        "height_cents": _rounded(mark.height_cents),
        "length_percent": _rounded(mark.length_percent),
        "gap_percent": _rounded(mark.gap_percent),
        "vibrato_cents": _rounded(mark.vibrato_cents),
        "ending_same": mark.ending_same,
    }


def _rounded(figure: float | None) -> float | None:
    return None if figure is None else round(figure, 1)
