"""A lick as plain text, one line a note, for hands as much as for programs; docs/licks.md describes it.

undertoe lick 1
name    old gate
key     G minor pentatonic
tempo   90

# note  beats  what the hand does
G3      1
b3      1/2    curl 35
rest    1/2
C4      1      bend D4 release
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from fractions import Fraction

from pedal.licks.lick import CURL_CENTS, Lick, LickEnding, LickError, LickNote
from pedal.notes.note import BegunBy
from pedal.safe_text import clean, is_clean
from pedal.theory.degree import semitones_of
from pedal.theory.neck import STANDARD, STRINGS_MOST, Tuning, TuningError, parse_tuning, tuning_words
from pedal.theory.scale import Key, KeyNameError, parse_key
from pedal.theory.spelling import NoteNameError, parse_pitch

FIRST_LINE = "undertoe lick 1"
MOST_LINES = 200
MOST_COLUMNS = 200
_HEADERS = ("name", "key", "tuning", "tempo", "from")
_BEGUN: dict[str, BegunBy] = {"hammer": "hammer_on", "pull": "pull_off", "slide": "slide"}
_ENDING_WORDS: dict[str, LickEnding] = {"cut": "cut", "ring": "ring", "release": "release"}
_WORDS = ("curl", "bend", "prebend", *_ENDING_WORDS, *_BEGUN, "vibrato", "at")
_DEGREE = re.compile(r"^(b{0,2}|#{0,2})([1-7])('*|,*)$")
_NUMBER = re.compile(r"^[+-]?[0-9]+(\.[0-9]+)?$")
_SPOT = re.compile(r"^([0-9])/([0-9]{1,2})$")
_SHARE = re.compile(r"^([0-9]{1,3})/([1-9][0-9]?)$")


class LickTextError(ValueError):
    """A text that is no lick. `faults` are sentences, each with its line and what to do."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("; ".join(faults))
        self.faults = tuple(faults)


class _LineError(ValueError):
    """What is wrong with one line."""


@dataclass(slots=True)
class _Reading:
    """What was read so far."""

    name: str = ""
    key: Key | None = None
    tuning: Tuning = STANDARD
    tempo: float = 90.0
    tonic_midi: int | None = None
    notes: list[LickNote] = field(default_factory=list)
    seen: dict[str, int] = field(default_factory=dict)


def read_lick(text: str) -> Lick:
    """A lick out of its plain text, every line checked, all faults told at once.

    Raises
    ------
    LickTextError
        With a sentence for every line that is wrong.
    """
    lines = text.removeprefix("\ufeff").splitlines()
    if len(lines) > MOST_LINES:
        raise LickTextError([f"line {MOST_LINES + 1}: a lick has at most {MOST_LINES} lines: take the rest out"])
    first = next((number for number, line in enumerate(lines) if _bare(line)), None)
    if first is None or _bare(lines[first]).lower() != FIRST_LINE:
        at = 1 if first is None else first + 1
        raise LickTextError([f'line {at}: this is no lick: its first line must be "{FIRST_LINE}"'])
    reading, faults = _Reading(), []
    for number, line in enumerate(lines[first + 1 :], first + 2):
        try:
            _read_line(line, number, reading)
        except (_LineError, LickError, KeyNameError, TuningError, NoteNameError) as fault:
            faults.append(f"line {number}: {fault}")
    if reading.key is None and not any("key" in fault for fault in faults):
        faults.append(f"line {first + 1}: no key is given: add a line such as: key G minor pentatonic")
    if faults or reading.key is None:
        raise LickTextError(faults)
    try:
        return Lick(tuple(reading.notes), reading.key, reading.tempo, reading.tuning, reading.name)
    except LickError as fault:
        raise LickTextError([f"line {len(lines)}: {fault}"]) from fault


def _bare(line: str) -> str:
    """Without a remark, which begins with # at the start of a word that is no degree ("#4")."""
    return " ".join(re.sub(r"(^|\s)#(?![1-7#]).*$", "", line).split())


def _read_line(line: str, number: int, reading: _Reading) -> None:
    if len(line) > MOST_COLUMNS:
        raise _LineError(f"it is longer than {MOST_COLUMNS} letters: break it up, a line a note")
    words = _bare(line).split()
    if not words:
        return
    head, rest = words[0].rstrip(":").lower(), words[1:]
    if head in _HEADERS:
        _read_header(head, " ".join(rest), number, reading)
    elif head == "rest":
        _read_rest(rest, reading)
    else:
        reading.notes.append(_read_note(words, reading))


def _read_header(head: str, value: str, number: int, reading: _Reading) -> None:
    if head in reading.seen:
        raise _LineError(f"{head} stands on line {reading.seen[head]} already: keep one of the two")
    reading.seen[head] = number
    if reading.notes:
        raise _LineError(f"{head} comes after the first note: put it above the notes")
    if not value:
        raise _LineError(f"{head} says nothing: give a value, or take the line out")
    match head:
        case "name":
            if not is_clean(value):  # it is printed, and it becomes a word of the log
                raise _LineError(f"the name holds what is not there to be read ({clean(value)}): write it anew")
            reading.name = value
        case "key":
            reading.key = parse_key(value)
        case "tuning":
            reading.tuning = parse_tuning(value)
        case "tempo":
            reading.tempo = _number(value, "tempo")
        case _:
            reading.tonic_midi = parse_pitch(value)


def _read_rest(words: list[str], reading: _Reading) -> None:
    if len(words) != 1:
        raise _LineError("a rest has a length and nothing else, such as: rest 1/2")
    if not reading.notes:
        raise _LineError("a lick begins with a note, not with a rest: take the line out")
    last = reading.notes[-1]
    reading.notes[-1] = replace(last, rest_beats=last.rest_beats + _beats(words[0]))


def _read_note(words: list[str], reading: _Reading) -> LickNote:
    midi = _pitch(words[0], reading)
    if len(words) < 2:
        raise _LineError(f"{words[0]} has no length: give its beats, such as: {words[0]} 1/2")
    note = LickNote(midi, _beats(words[1]))
    place = 2
    while place < len(words):
        note, place = _read_word(words, place, note, reading)
    return note


def _read_word(words: list[str], place: int, note: LickNote, reading: _Reading) -> tuple[LickNote, int]:
    """The note with one more word of its line, and the place of the word after."""
    word = words[place].lower()
    following = words[place + 1 : place + 3]
    if word in ("curl", "bend", "prebend") and note.inflection != "plain":
        raise _LineError(f"a note has one inflection, this one has {note.inflection} and {word}: take one out")
    if word == "curl":
        given = bool(following) and _is_number(following[0])
        cents = _number(following[0], "curl") if given else CURL_CENTS
        return replace(note, inflection="curl", cents=cents), place + 1 + given
    if word in ("bend", "prebend"):
        if not following:
            raise _LineError(f"{word} does not say where it goes: give the note, such as: {word} D4")
        target = _pitch(following[0], reading, above=note.midi)
        off = len(following) > 1 and _is_number(following[1])
        cents = _number(following[1], word) if off else 0.0
        return replace(
            note, inflection="bend" if word == "bend" else "prebend", target_midi=target, cents=cents
        ), place + 2 + off
    if word in _ENDING_WORDS:
        return replace(note, ending=_ENDING_WORDS[word]), place + 1
    if word in _BEGUN:
        return replace(note, begun_by=_BEGUN[word]), place + 1
    if word == "vibrato":
        if len(following) < 2 or not (_is_number(following[0]) and _is_number(following[1])):
            raise _LineError("vibrato needs its rate and width, such as: vibrato 5.2 20")
        rate, width = _number(following[0], "vibrato"), _number(following[1], "vibrato")
        if not (0.0 < rate <= 20.0 and 0.0 < width <= 200.0):
            raise _LineError("vibrato is 0 to 20 times a second and 0 to 200 cents wide, such as: vibrato 5.2 20")
        return replace(note, vibrato_hz=rate, vibrato_cents=width), place + 3
    if word == "at":
        return _placed(note, following[0] if following else "", reading), place + 2
    near = get_close_matches(word, _WORDS, n=1)
    hint = f"did you mean {near[0]}?" if near else f"choose {', '.join(_WORDS)}"
    raise _LineError(f"{words[place]!r} is no word of a lick: {hint}")


def _placed(note: LickNote, word: str, reading: _Reading) -> LickNote:
    spot = _SPOT.match(word)
    if not spot:
        raise _LineError("at needs string and fret, such as: at 3/5")
    string, fret = int(spot[1]), int(spot[2])
    if not 1 <= string <= min(reading.tuning.strings, STRINGS_MOST):
        raise _LineError(f"string {string} does not exist: this tuning has strings 1 to {reading.tuning.strings}")
    if reading.tuning.open_midi[string - 1] + fret != note.midi:
        raise _LineError(f"at {word} is another note in this tuning: mend the string, the fret or the note")
    return replace(note, string=string, fret=fret)


def _pitch(word: str, reading: _Reading, *, above: int | None = None) -> int:
    """MIDI number of a note ("Bb3") or a degree ("b3", an octave higher "b3'", lower "b3,").

    Where a bend goes the degree is the next one above the fretted note.
    """
    degree = _DEGREE.match(word.replace("♭", "b").replace("♯", "#"))
    if not degree:
        if word[0].upper() not in "ABCDEFG" or word[0].islower():
            near = get_close_matches(word.lower(), (*_HEADERS, "rest"), n=1)
            hint = f"did you mean {near[0]}?" if near else "give a note such as Bb3, or a degree such as b3"
            raise _LineError(f"{word!r} is neither a note nor a degree: {hint}")
        return parse_pitch(word)
    if reading.key is None:
        raise _LineError(f"degree {word} needs a key: put a line such as: key G minor pentatonic, above the notes")
    steps = semitones_of(degree[1] + degree[2])
    if above is not None and not degree[3]:
        tonic = reading.key.tonic.semitone
        return next(midi for midi in range(above + 1, above + 13) if (midi - tonic) % 12 == steps)
    octaves = degree[3].count("'") - degree[3].count(",")
    tonic_midi = reading.tonic_midi if reading.tonic_midi is not None else 48 + reading.key.tonic.semitone
    return tonic_midi + steps + 12 * octaves


def _beats(word: str) -> float:
    share = _SHARE.match(word)
    if share:
        return int(share[1]) / int(share[2])
    if not _NUMBER.match(word) or word[0] in "+-":
        raise _LineError(f"{word!r} is no length: give a share of a beat such as 1/2, 1 or 0.75")
    return float(word)


def _is_number(word: str) -> bool:
    return bool(_NUMBER.match(word))


def _number(word: str, what: str) -> float:
    if not _NUMBER.match(word) or len(word) > 10:
        raise _LineError(f"{word!r} is no number for {what}")
    return float(word)


def write_lick(lick: Lick) -> str:
    """The text of a lick; read again it is the same lick, its lengths to a thousandth of a beat."""
    lines = [FIRST_LINE]
    if lick.name:
        lines.append(f"name    {' '.join(lick.name.replace('#', ' ').split())}")
    lines += [
        f"key     {lick.key}",
        f"tuning  {tuning_words(lick.tuning)}",
        f"tempo   {lick.beats_a_minute:.6g}",
        "",
        "# note  beats   what the hand does",
    ]
    for note in lick.notes:
        words = f"{lick.key.spell(note.midi):<7} {_share(note.beats):<7} {' '.join(_hand(note, lick.key))}"
        lines.append(words.rstrip())
        if note.rest_beats:
            lines.append(f"rest    {_share(note.rest_beats)}")
    return "\n".join(lines) + "\n"


def _hand(note: LickNote, key: Key) -> list[str]:
    words = [word for word, begun in _BEGUN.items() if begun == note.begun_by]
    if note.inflection == "curl":
        words.append(f"curl {note.cents:g}")
    elif note.target_midi is not None:
        words.append(f"{note.inflection} {key.spell(note.target_midi)}")
        if note.cents:
            words.append(f"{note.cents:+g}")
    if note.vibrato_hz and note.vibrato_cents:
        words.append(f"vibrato {note.vibrato_hz:g} {note.vibrato_cents:g}")
    if note.ending != "cut":
        words.append(note.ending)
    if note.string is not None and note.fret is not None:
        words.append(f"at {note.string}/{note.fret}")
    return words


def _share(beats: float) -> str:
    fraction = Fraction(beats).limit_denominator(12)
    if abs(float(fraction) - beats) < 1e-9 and fraction > 0:
        return str(fraction)
    return f"{beats:.3f}".rstrip("0").rstrip(".") if beats >= 0.001 else "0.001"
