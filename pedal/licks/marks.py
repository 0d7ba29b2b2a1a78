"""A pass held against what was asked: one mark a note, the note worth the most work, and one line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from statistics import median
from typing import Literal

from pedal.licks.forms import AskedNote, Question
from pedal.licks.heard import HeardNote, to_its_semitone
from pedal.licks.lick import LickNote
from pedal.licks.match import OCTAVE, VAGUE, Match, Pairing, match
from pedal.theory.scale import Key
from pedal.values import frozen
from pedal.verdicts.aim import Bands
from pedal.verdicts.curl import reaches_semitone
from pedal.verdicts.verdict import Word

Mark = Literal["plain", "curl_cut", "curl_released", "bent", "near", "missed", "left_out", "added"]

NUDGED_CENTS = 20.0
"""A note that was raised so far without being a bend or a curl was no plain one."""
LATE_PERCENT = 25.0
"""Time between two notes that differs by more is worth a word."""
KNOWN_SHARE = 0.5
"""A pass of which fewer notes agree was not this lick."""
_SEVERITY: dict[Mark, float] = {
    "left_out": 5.0, "missed": 4.0, "curl_released": 3.0, "added": 2.5, "near": 1.0,
    "bent": 2.0, "curl_cut": 2.0, "plain": 2.0,
}  # fmt: skip
"""What is worth the most work first; the last three only count where they are wrong."""
_PLAIN_KINDS = ("steady", "slide", "hammer_on", "unclear")


@frozen
class NoteMark:
    """One note of a pass.

    number : the note of the lick, from 0; None for an added one.
    asked, heard : what belongs together; one of both may be missing.
    right : whether it was what was asked for.
    words : what was wrong, to follow a name: "came down", "was 30 flat"; empty where nothing was.
    height_cents, length_percent, vibrato_cents, ending_same : pass less model, where both have it.
    gap_percent : how much longer the time since the note before was, in per cent of the model's.
    """

    mark: Mark
    right: bool
    number: int | None
    asked: AskedNote | None
    heard: HeardNote | None
    words: str
    height_cents: float | None = None
    length_percent: float | None = None
    vibrato_cents: float | None = None
    ending_same: bool | None = None
    gap_percent: float | None = None


@frozen
class MarkedPass:
    """A whole pass. `caret` is the place in `marks` of the note worth the most work; None where all was right.

    right, of : asked notes that were right, and how many were asked for.
    tempo_percent : against the model's tempo; 100 is the same, 50 half as fast. None where it cannot be told.
    known : whether it was this lick at all.
    """

    question: Question
    marks: tuple[NoteMark, ...]
    right: int
    of: int
    caret: int | None
    line: str
    tempo_percent: float | None
    known: bool


def mark_pass(
    asked: Sequence[AskedNote],
    heard: Sequence[HeardNote],
    *,
    question: Question,
    key: Key,
    bands: Bands,
) -> MarkedPass:
    """What became of each note.

    asked, heard : both in order of time; seconds of each count from where they like.
    question : which of the lick's forms `asked` is.
    """
    found = match(asked, heard)
    guitar = _guitar_cents(heard)
    marks: list[NoteMark] = []
    for pairing in found.pairings:
        marks += _marks_of(pairing, asked, heard, bands, guitar)
    marks = _with_gaps(marks, found)
    wanted = [mark for mark in marks if mark.asked is not None]
    right = sum(mark.right for mark in wanted)
    agreed = sum(len(p.asked) for p in found.pairings if p.asked and p.heard and p.price < VAGUE)
    known = bool(wanted) and agreed >= KNOWN_SHARE * len(wanted)
    caret = _caret(marks)
    tempo = None if found.tempo is None else 100.0 / found.tempo.ratio
    line = _line(marks, caret, right, len(wanted), key)
    return MarkedPass(question, tuple(marks), right, len(wanted), caret, line, tempo, known)


def _guitar_cents(heard: Sequence[HeardNote]) -> float:
    """How far this guitar lies off, by its plain notes; 0 where fewer than three tell."""
    rests = [note.rest_cents for note in heard if note.kind == "steady" and note.rest_cents is not None]
    return median(rests) if len(rests) > 2 else 0.0


def _marks_of(
    pairing: Pairing, asked: Sequence[AskedNote], heard: Sequence[HeardNote], bands: Bands, guitar: float
) -> list[NoteMark]:
    wanted, got = [asked[i] for i in pairing.asked], [heard[j] for j in pairing.heard]
    if not got:
        return [NoteMark("left_out", False, one.number, one, None, "was left out") for one in wanted]
    if not wanted:
        return [NoteMark("added", False, None, None, one, "was added") for one in got]
    if len(got) > 1:
        return [NoteMark("missed", False, wanted[0].number, wanted[0], got[0], "was fretted, not bent")]
    if len(wanted) > 1:
        return _joined(wanted, got[0])
    one, note = wanted[0], got[0]
    mark, right, words = _judge(one, note, pairing.price, bands, guitar)
    marked = NoteMark(mark, right, one.number, one, note, words)
    return [marked if words == "was another note" else _compared(marked, one, note)]


def _joined(wanted: Sequence[AskedNote], got: HeardNote) -> list[NoteMark]:
    """Several notes in one bend: as good as what was asked for only where any inflection is."""
    mark = _bend_mark(got.word)
    right = mark == "bent" and any(one.any_inflection for one in wanted)
    words = "" if right else "was bent, not fretted" if mark == "bent" else _off_words(got)
    return [NoteMark(mark, right, one.number, one, got, words) for one in wanted]


def _judge(asked: AskedNote, heard: HeardNote, price: float, bands: Bands, guitar: float) -> tuple[Mark, bool, str]:
    note = asked.note
    if not heard.sounds:
        return "missed", False, "was not heard clearly"
    if price >= OCTAVE:
        return "missed", False, "was another note"
    if _is_half_step(note, heard, bands):
        heard = to_its_semitone(replace(heard, kind="bend"), bands)
    if asked.any_inflection and heard.inflected and heard.kind != "curl" and note.inflection == "curl":
        return _bend(note, heard)
    match note.inflection:
        case "curl":
            return _curl(note, heard)
        case "bend":
            if asked.any_inflection and heard.kind == "curl":
                return _curl(note, heard)
            return _bend(note, heard)
        case "prebend":
            return _prebend(note, heard, bands, guitar)
        case "plain":
            return _plain(note, heard)


def _is_half_step(note: LickNote, heard: HeardNote, bands: Bands) -> bool:
    """Whether a bend by a semitone was asked for and heard: a curl overdone to the judge, who knows only the key."""
    asked = note.inflection == "bend" and note.midi == heard.midi and note.target_midi == note.midi + 1
    return asked and heard.kind == "curl" and reaches_semitone(heard.bend_cents or 0.0, bands)


def _plain(note: LickNote, heard: HeardNote) -> tuple[Mark, bool, str]:
    """Nothing was to be bent: what crept in is told by the mark that it would have had."""
    if heard.kind == "prebend" and heard.sounds == note.sounds:
        return "plain", True, ""  # a bent string struck again, or the fretted note: nobody can hear which
    if heard.kind in _PLAIN_KINDS:
        nudged = heard.kind == "unclear" and (heard.bend_cents or 0.0) >= NUDGED_CENTS
        return ("missed", False, f"crept up {round(heard.bend_cents or 0.0)}") if nudged else ("plain", True, "")
    if heard.kind == "curl":
        mark: Mark = "curl_released" if heard.word == "released" else "curl_cut"
        return mark, False, f"crept up {round(heard.bend_cents or 0.0)}"
    return _bend_mark(heard.word), False, "was bent"


def _curl(note: LickNote, heard: HeardNote) -> tuple[Mark, bool, str]:
    if heard.kind != "curl":
        bent = heard.inflected or (heard.bend_cents or 0.0) >= NUDGED_CENTS
        return "missed", False, "was bent too far" if bent else "stayed plain"
    if heard.word == "released":
        return "curl_released", note.inflection == "curl" and note.ending == "release", "came down"
    height = round(heard.bend_cents or 0.0)
    if heard.word == "true":
        return "curl_cut", True, ""
    if heard.word == "near":
        if heard.ending == "rang_out" and note.ending == "ring":
            return "curl_cut", True, ""
        return "near", False, "rang on" if heard.ending == "rang_out" else f"was at {height}"
    return "missed", False, f"was at {height}"


def _bend(note: LickNote, heard: HeardNote) -> tuple[Mark, bool, str]:
    if heard.kind in ("prebend", "prebend_release"):
        return "missed", False, "was bent before the pluck"
    if heard.kind not in ("bend", "bend_release"):
        return "missed", False, "stayed plain" if heard.kind != "curl" else "was only curled"
    if note.target_midi is not None and heard.target_midi != note.target_midi:
        return "missed", False, "went to another note"
    mark = _bend_mark(heard.word)
    return mark, mark == "bent", "" if mark == "bent" else _off_words(heard)


def _prebend(note: LickNote, heard: HeardNote, bands: Bands, guitar: float) -> tuple[Mark, bool, str]:
    """A string that was bent before and held sounds like a fretted one: only its tuning can be judged."""
    if heard.kind in ("prebend", "prebend_release") and heard.target_midi == note.target_midi:
        mark = _bend_mark(heard.word)
        return mark, mark == "bent", "" if mark == "bent" else _off_words(heard)
    if heard.kind in ("bend", "bend_release"):
        return "missed", False, "was bent after the pluck"
    if heard.midi != note.target_midi:
        return "missed", False, "stayed plain"
    off = (heard.rest_cents or 0.0) - guitar
    if abs(off) <= bands.true_cents:
        return "bent", True, ""
    words = f"was {abs(round(off))} {'sharp' if off > 0 else 'flat'}"
    return ("near" if abs(off) <= bands.near_cents else "missed"), False, words


def _bend_mark(word: Word) -> Mark:
    return "bent" if word == "true" else "near" if word == "near" else "missed"


def _off_words(heard: HeardNote) -> str:
    off = round(heard.error_cents or 0.0)
    return f"was {abs(off)} {'sharp' if off > 0 else 'flat'}"


def _compared(mark: NoteMark, asked: AskedNote, heard: HeardNote) -> NoteMark:
    """With heights, length, vibrato and ending beside the model's."""
    note = asked.note
    height = None
    if note.inflection != "plain" and heard.bend_cents is not None:
        height = heard.bend_cents - note.height_cents
    sounding = asked.gap_s * note.beats / (note.beats + note.rest_beats)
    length = 100.0 * ((heard.end_s - heard.onset_s) / sounding - 1.0) if sounding > 0.0 else None
    ends = {"cut": ("cut", "cut_sharp"), "ring": ("rang_out",), "release": ("released",)}[note.ending]
    return replace(
        mark,
        height_cents=height,
        length_percent=length,
        vibrato_cents=heard.vibrato_cents - note.vibrato_cents,
        ending_same=heard.ending in ends,
    )


def _with_gaps(marks: list[NoteMark], found: Match) -> list[NoteMark]:
    """With the time since the note before, at the tempo of the pass."""
    if found.tempo is None:
        return marks
    timed = []
    before: NoteMark | None = None
    for mark in marks:
        gap = None
        if before is not None and before.asked and before.heard and mark.asked and mark.heard:
            model_s = found.tempo.ratio * (mark.asked.onset_s - before.asked.onset_s)
            if model_s > 0.0 and mark.heard is not before.heard:
                gap = 100.0 * ((mark.heard.onset_s - before.heard.onset_s) / model_s - 1.0)
        timed.append(replace(mark, gap_percent=gap))
        before = mark
    return timed


def _caret(marks: Sequence[NoteMark]) -> int | None:
    wrong = [place for place, mark in enumerate(marks) if not mark.right]
    return max(wrong, key=lambda place: _SEVERITY[marks[place].mark], default=None)  # of equals the first


def _line(marks: Sequence[NoteMark], caret: int | None, right: int, of: int, key: Key) -> str:
    """The count and the worst: "5 of 7, the last curl came down"; where all was right, perhaps a word on time."""
    count = f"{right} of {of}"
    if caret is not None:
        return f"{count}, {_name(marks, caret, key)} {marks[caret].words}"
    gaps = [(mark.gap_percent, mark.asked.note) for mark in marks if mark.asked and mark.gap_percent is not None]
    gap, note = max(gaps, key=lambda one: abs(one[0]), default=(0.0, None))
    if note is None or abs(gap) <= LATE_PERCENT:
        return count
    return f"{count}, {key.spell(note.midi)} came {'late' if gap > 0.0 else 'early'}"


def _name(marks: Sequence[NoteMark], place: int, key: Key) -> str:
    """A note in the words of a player: "the last curl", "the first bend", "the Bb3 curl", "D4"."""
    mark = marks[place]
    if mark.asked is None:
        heard = mark.heard
        return key.spell(heard.sounds[0]) if heard is not None and heard.sounds else "a sound"
    note = mark.asked.note
    if note.inflection == "plain" or mark.mark == "left_out":
        return key.spell(note.midi)
    noun = "pre-bend" if note.inflection == "prebend" else note.inflection
    alike = [p for p, m in enumerate(marks) if m.asked is not None and m.asked.note.inflection == note.inflection]
    if len(alike) == 1:
        return f"the {noun}"
    if place == alike[-1]:
        return f"the last {noun}"
    return f"the first {noun}" if place == alike[0] else f"the {key.spell(note.midi)} {noun}"
