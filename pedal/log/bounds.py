"""What a row of a log may hold: each column's range, once, for the door that files come in by and for every reading.

The ranges are wider than anything the pedal can hear (20 Hz to 5 kHz are 9560 cents) and narrow enough that whatever
lies within them can be counted, drawn and printed. A column that is not here is not looked at by anyone.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import get_args

from pedal.modes.names import MODES
from pedal.notes.note import BegunBy, Ending, Shape, Side
from pedal.safe_text import is_clean
from pedal.theory.scale import KeyNameError, parse_key
from pedal.theory.spelling import HIGHEST_MIDI, LETTERS, LOWEST_MIDI
from pedal.values import frozen
from pedal.verdicts.verdict import Kind, Word

Value = str | float | int | None

LATEST_WALL_S = 4_102_444_800.0
"""2100-01-01: later than any clock of a pedal. One that jumped back may stand as long before 1970."""
MOST_NUMBER = 10_000_000
"""Sessions of a pedal, and notes of a session: a note a second for four months."""
_MOST_CENTS, _MOST_RUNNING_S, _MOST_NOTE_S = 12_000.0, 1e9, 3600.0
_MOST_BEAT_MS = 60_000.0


class UnsoundError(ValueError):
    """A value that no pedal writes; the sentence names column and value."""


@frozen
class Range:
    """A number from `least` to `most`, never infinite and never NaN; `whole` takes no fraction."""

    least: float
    most: float
    whole: bool = False

    def check(self, name: str, value: object) -> None:
        """Raise `UnsoundError` for anything else."""
        right = int if self.whole else (int, float)
        if isinstance(value, bool) or not isinstance(value, right) or not self.least <= value <= self.most:
            raise UnsoundError(f"{name} must be {self.least:g} to {self.most:g}, it is {_shown(value)}")

    def sql(self, name: str) -> str:
        """The same as a condition. Text and blobs sort behind all numbers, and a NaN cannot be stored."""
        within = f"{name} BETWEEN {self.least!r} AND {self.most!r}"
        return f"(typeof({name}) = 'integer' AND {within})" if self.whole else within


@frozen
class OneOf:
    """A column of text that knows a few words and no other."""

    words: tuple[str, ...]

    def check(self, name: str, value: object) -> None:
        """Raise `UnsoundError` for anything else."""
        if value not in self.words:
            raise UnsoundError(f"{name} must be one of {', '.join(self.words)}, it is {_shown(value)}")

    def sql(self, name: str) -> str:
        """The same as a condition."""
        return f"{name} IN ({', '.join(repr(word) for word in self.words)})"


@frozen
class Text:
    """Printable text of at most so many characters."""

    most: int

    def check(self, name: str, value: object) -> None:
        """Raise `UnsoundError` for anything else."""
        if not isinstance(value, str) or len(value) > self.most:
            raise UnsoundError(f"{name} must be text of at most {self.most} characters, it is {_shown(value)}")
        if not is_clean(value):
            raise UnsoundError(f"{name} holds characters that are not there to be read: {_shown(value)}")

    def sql(self, name: str) -> str:
        """Type and length; `clean` does the rest where it is printed."""
        return f"(typeof({name}) = 'text' AND length({name}) <= {self.most})"


@frozen
class Pitch:
    """A scientific pitch such as "Bb3"."""

    def check(self, name: str, value: object) -> None:
        """Raise `UnsoundError` for anything else."""
        if value not in _PITCHES:
            raise UnsoundError(f"{name} must be a pitch such as Bb3, it is {_shown(value)}")

    def sql(self, name: str) -> str:
        """The same as a condition."""
        return f"{name} IN ({', '.join(repr(pitch) for pitch in sorted(_PITCHES))})"


@frozen
class Degree:
    """A degree such as "b7"."""

    def check(self, name: str, value: object) -> None:
        """Raise `UnsoundError` for anything else."""
        if value not in _DEGREES:
            raise UnsoundError(f"{name} must be a degree such as b7, it is {_shown(value)}")

    def sql(self, name: str) -> str:
        """The same as a condition."""
        return f"{name} IN ({', '.join(repr(degree) for degree in sorted(_DEGREES))})"


class KeyWords(Text):
    """A key such as "G minor pentatonic"."""

    __slots__ = ()

    def check(self, name: str, value: object) -> None:
        """Raise `UnsoundError` for anything else."""
        Text.check(self, name, value)
        _refuse_no_key(name, str(value))


class Uid(Text):
    """32 hexadecimal digits, as `uuid.uuid4().hex` writes them."""

    __slots__ = ()

    def check(self, name: str, value: object) -> None:
        """Raise `UnsoundError` for anything else."""
        if not isinstance(value, str) or len(value) != self.most or not set(value) <= set("0123456789abcdef"):
            raise UnsoundError(f"{name} must be {self.most} hexadecimal digits, it is {_shown(value)}")


Rule = Range | OneOf | Text | Pitch | Degree

_DEGREES = {f"{sign}{number}" for sign in ("bb", "b", "", "#", "##") for number in range(1, 8)}
"""Every degree: with three skills and five words they make at most 18,375 sorts of tries."""
_PITCHES = {
    f"{letter}{sign}{octave}"
    for letter, semitone in LETTERS.items()
    for sign, step in (("bb", -2), ("b", -1), ("", 0), ("#", 1), ("##", 2))
    for octave in range(-1, 10)
    if LOWEST_MIDI <= semitone + step + 12 * (octave + 1) <= HIGHEST_MIDI
}
"""Every pitch as this program writes it."""

_CENTS = Range(-_MOST_CENTS, _MOST_CENTS)
_RUNNING = Range(-_MOST_RUNNING_S, _MOST_RUNNING_S)
_LENGTH = Range(0.0, _MOST_NOTE_S)
_YES_OR_NO = Range(0, 1, whole=True)

SESSION: Mapping[str, Rule] = {
    "uid": Uid(32),
    "pedal_uid": Uid(32),
    "counter": Range(1, MOST_NUMBER, whole=True),
    "player": Text(80),
    "begun_wall_s": Range(-LATEST_WALL_S, LATEST_WALL_S),
    "wall_shift_s": Range(-2 * LATEST_WALL_S, 2 * LATEST_WALL_S),
    "wall_doubtful": _YES_OR_NO,
}
SETTING: Mapping[str, Rule] = {
    "mode": OneOf(MODES),
    "key": KeyWords(80),
    "drone": _YES_OR_NO,
    "a4_hz": Range(100.0, 1000.0),
    "tuning": Text(120),
}
ASKED: Mapping[str, Rule] = {
    "number": Range(1, MOST_NUMBER, whole=True),
    "time_s": _RUNNING,
    "position": Range(1, 12, whole=True),
    "string": Range(1, 24, whole=True),
    "fret": Range(0, 99, whole=True),
    "asked_note": Pitch(),
    "skipped": _YES_OR_NO,
}
AROUND: Mapping[str, Rule] = {
    "lick": Text(80),
    "lick_pass": Range(1, MOST_NUMBER, whole=True),
    "lick_note": Range(1, 999, whole=True),
    "lick_mark": Text(40),
    "beat_ms": Range(-_MOST_BEAT_MS, _MOST_BEAT_MS),
    "chord": Text(20),
}
JUDGED: Mapping[str, Rule] = {
    "onset_s": _RUNNING,
    "end_s": _RUNNING,
    "rest_note": Pitch(),
    "rest_cents": _CENTS,
    "degree": Degree(),
    "shape": OneOf(get_args(Shape)),
    "kind": OneOf(get_args(Kind)),
    "target_note": Pitch(),
    "target_degree": Degree(),
    "bend_cents": _CENTS,
    "error_cents": _CENTS,
    "absolute_cents": _CENTS,
    "peak_cents": _CENTS,
    "overshoot_cents": _CENTS,
    "rise_s": _LENGTH,
    "hold_s": _LENGTH,
    "final_cents": _CENTS,
    "ending": OneOf(get_args(Ending)),
    "vibrato_hz": Range(0.0, 1000.0),
    "vibrato_cents": Range(0.0, _MOST_CENTS),
    "verdict": OneOf(get_args(Word)),
    "reason": Text(1000),
    "rest_heard": _YES_OR_NO,
    "begun_by": OneOf(get_args(BegunBy)),
    "vibrato_side": OneOf(get_args(Side)),
    "vibrato_evenness": Range(0.0, 1.0),
}
_ALWAYS = {*SESSION, *SETTING, "number", "time_s", "skipped"}
_OF_EVERY_VERDICT = ("onset_s", "end_s", "shape", "kind", "ending", "vibrato_hz", "vibrato_cents", "verdict")


def check_session(record: Mapping[str, Value]) -> None:
    """Raise `UnsoundError` if a session holds what no pedal writes."""
    _check(record, SESSION)
    if abs(_begun_s(record)) > LATEST_WALL_S:
        raise UnsoundError(f"begun_wall_s + wall_shift_s must be a date before 2100, it is {_begun_s(record):g}")


def check_entry(record: Mapping[str, Value]) -> None:
    """Raise `UnsoundError` if an entry, with its setting, holds what no pedal writes."""
    _check(record, SETTING)
    _check(record, ASKED)
    _check(record, AROUND)
    if record.get("onset_s") is None:
        if any(record.get(name) is not None for name in JUDGED):
            raise UnsoundError("a verdict has no onset_s")
        return
    for name in _OF_EVERY_VERDICT:
        if record.get(name) is None:
            raise UnsoundError(f"a verdict has no {name}")
    _check(record, JUDGED)
    length_s = float(record["end_s"] or 0.0) - float(record["onset_s"] or 0.0)
    if not 0.0 <= length_s <= _MOST_NOTE_S:
        raise UnsoundError(f"a note must last 0 to {_MOST_NOTE_S:g} s, it is {length_s:g} s")


def sound_entry_sql() -> str:
    """The condition that `check_entry` makes, for rows of the table `entry`; of free text only type and length."""
    asked = [_nullable(name, rule) for name, rule in {**ASKED, **AROUND}.items()]
    judged = [_nullable(name, rule) for name, rule in JUDGED.items() if name != "reason"]
    there = [f"{name} IS NOT NULL" for name in _OF_EVERY_VERDICT]
    whole = [*there, *judged, f"end_s - onset_s BETWEEN 0.0 AND {_MOST_NOTE_S!r}"]
    nothing = [f"{name} IS NULL" for name in JUDGED]
    verdict = f"(({' AND '.join(nothing)}) OR (onset_s IS NOT NULL AND {' AND '.join(whole)}))"
    setting = f"setting IN (SELECT id FROM setting WHERE {sound_setting_sql()})"  # noqa: S608 (constants)
    return f"({' AND '.join(asked)} AND {verdict} AND {setting})"


def sound_setting_sql() -> str:
    """The same for rows of the table `setting`."""
    return " AND ".join(rule.sql(name) for name, rule in SETTING.items())


def _nullable(name: str, rule: Rule) -> str:
    return rule.sql(name) if name in _ALWAYS else f"({name} IS NULL OR {rule.sql(name)})"


def _begun_s(record: Mapping[str, Value]) -> float:
    return float(record["begun_wall_s"] or 0.0) + float(record["wall_shift_s"] or 0.0)


def _check(record: Mapping[str, Value], rules: Mapping[str, Rule]) -> None:
    for name, rule in rules.items():
        value = record.get(name)
        if value is not None:
            rule.check(name, value)
        elif name in _ALWAYS:
            raise UnsoundError(f"{name} is missing")


@lru_cache(512)
def _refuse_no_key(name: str, value: str) -> None:
    try:
        parse_key(value)
    except KeyNameError as fault:
        raise UnsoundError(f"{name}: {fault}") from fault


def _shown(value: object) -> str:
    """A value as a few printable characters."""
    if isinstance(value, int) and abs(value) > 10**18:
        return "a number of many digits"
    words = ascii(value)
    return words if len(words) <= 40 else f"{words[:40]}…"
