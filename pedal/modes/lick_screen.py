"""A pass and what was asked -> the strip: one shape a note, a caret, and one line."""

from __future__ import annotations

from collections.abc import Sequence

from pedal.licks.forms import ASKS, AskedNote, Question
from pedal.licks.lick import Inflection
from pedal.licks.marks import MarkedPass, NoteMark
from pedal.licks.offers import Offer
from pedal.modes.screen_model import LickScreen, Status, StripMark
from pedal.theory.scale import Key

_WANTED: dict[Inflection, StripMark] = {
    "plain": "to_play", "curl": "to_curl", "bend": "to_bend", "prebend": "to_prebend",
}  # fmt: skip
_DOING: dict[Inflection, str] = {"plain": "play", "curl": "curl", "bend": "bend", "prebend": "pre-bend"}


def screen_of(
    status: Status,
    asked: Sequence[AskedNote],
    *,
    marked: MarkedPass | None,
    question: Question,
    offer: Offer | None,
    reached: int | None,
    title: str,
    told: str,
    key: Key,
) -> LickScreen:
    """The screen of a lick that is not being recorded."""
    name = ASKS[question] if offer is None else _DOING[offer.inflection]
    if marked is not None and told == "":
        strip: tuple[StripMark, ...] = tuple(mark.mark for mark in marked.marks)
        if offer is None:
            count, line, caret = f"{marked.right}/{marked.of}", marked.line, marked.caret
        else:
            count = "keep?" if was_there(offer, marked) else "drop?"
            line, caret = _verdict_on(offer, marked), _place_of(offer, marked)
        under = marked.marks[caret] if caret is not None else None
        return LickScreen(
            status, "marked", name, line, strip, caret, None, count.upper(), _note_under(under, key), title,
            _details(under, marked),
        )  # fmt: skip
    strip = tuple(_WANTED[one.note.inflection] for one in asked)
    if reached is not None:
        at = min(reached, len(asked) - 1)
        return LickScreen(
            status,
            "playing",
            name,
            title,
            strip,
            None,
            at,
            f"{at + 1}",
            key.spell(asked[at].note.midi),
            title,
        )
    if offer is not None:
        first = next((n for n, one in enumerate(asked) if one.number == offer.first), 0)
        where = f"string {offer.spot.string} fret {offer.spot.fret}"
        note = key.spell(offer.note.midi)
        heavy = ", heavy" if offer.heavy else ""
        return LickScreen(
            status, "offer", name, told or offer.why + heavy, strip, first, None, "", note, title, f"{where}{heavy}"
        )
    return LickScreen(status, "ready", name, told or title, strip, None, None, "", "", title)


def _note_under(mark: NoteMark | None, key: Key) -> str:
    if mark is None:
        return ""
    if mark.asked is not None:
        return key.spell(mark.asked.note.midi)
    heard = mark.heard
    return key.spell(heard.sounds[0]) if heard is not None and heard.sounds else ""


def _place_of(offer: Offer, marked: MarkedPass) -> int | None:
    return next((p for p, m in enumerate(marked.marks) if m.asked is not None and m.number == offer.first), None)


def was_there(offer: Offer, marked: MarkedPass) -> bool:
    """Whether an offered change was in a pass: it is judged for its own note alone."""
    place = _place_of(offer, marked)
    return place is not None and marked.marks[place].right


def _verdict_on(offer: Offer, marked: MarkedPass) -> str:
    if was_there(offer, marked):
        return "there: press to keep it"
    place = _place_of(offer, marked)
    words = marked.marks[place].words if place is not None else ""
    return f"{words or 'was not there'}: press to drop"


def _details(mark: NoteMark | None, marked: MarkedPass) -> str:
    """For sitting: the note under the caret beside the model's, and the tempo."""
    words = [] if marked.tempo_percent is None else [f"tempo {marked.tempo_percent:.0f} %"]
    if mark is not None and mark.height_cents is not None:
        words.append(f"height {mark.height_cents:+.0f}")
    if mark is not None and mark.length_percent is not None:
        words.append(f"length {round(mark.length_percent):+d} %")
    if mark is not None and mark.gap_percent is not None:
        words.append(f"came {round(mark.gap_percent):+d} %")
    return "  ".join(words[:3])
