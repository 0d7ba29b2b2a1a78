"""The two readings of one table of ranges, in Python at the door and in SQL at every reading, say the same."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

import pytest

from pedal.log.bounds import (
    AROUND,
    ASKED,
    JUDGED,
    SESSION,
    SETTING,
    KeyWords,
    Range,
    Text,
    UnsoundError,
    check_entry,
    check_session,
    sound_entry_sql,
)
from pedal.log.row import AROUND_COLUMNS, ENTRY_COLUMNS, VERDICT_COLUMNS
from tests.log.test_door import ENTRY
from tests.log.test_door import SESSION as A_SESSION

ANY = [
    None, 0, 1, -1, 2, 13, 25, 100, 10_000_001, 2**62, -(2**62), 0.0, 0.5, -0.5, 1.5, 440.0, 3600.5, 12_000.0,
    12_000.5, -12_001.0, 1e9, 2e9, 1e300, float("inf"), float("-inf"), "", "1", "Bb3", "bb3", "C-1", "C9", "G9",
    "A9", "C10", "Cb4", "B♭3", "b7", "#4", "rise", "b8", "bbb7", "true", "bend", "watch", "cut", "pluck",
    "above", 70_000.0, "G minor pentatonic", "x" * 2000, b"\x00", b"Bb3",
]  # fmt: skip
ENTRY_RULES = SETTING | ASKED | AROUND | JUDGED


@pytest.fixture(scope="module")
def loose() -> Iterator[sqlite3.Connection]:
    """The tables without any types, as a hostile file may hold them."""
    file = sqlite3.connect(":memory:")
    file.execute("CREATE TABLE setting (id, mode, key, drone, a4_hz, tuning)")
    file.execute(f"CREATE TABLE entry ({', '.join(ENTRY_COLUMNS)})")
    yield file
    file.close()


def passes_sql(file: sqlite3.Connection, record: dict[str, object]) -> bool:
    file.execute("DELETE FROM setting")
    file.execute("DELETE FROM entry")
    file.execute("INSERT INTO setting VALUES (1, ?, ?, ?, ?, ?)", [record.get(name) for name in SETTING])
    own = [{"session": 1, "setting": 1}.get(name, record.get(name)) for name in ENTRY_COLUMNS]
    file.execute(f"INSERT INTO entry VALUES ({', '.join('?' * len(own))})", own)
    return bool(file.execute(f"SELECT count(*) FROM entry WHERE {sound_entry_sql()}").fetchone()[0])


def passes_door(record: dict[str, object]) -> bool:
    try:
        check_entry(record)
    except UnsoundError:
        return False
    return True


@pytest.mark.parametrize("name", ENTRY_RULES)
def test_door_and_reading_agree(loose: sqlite3.Connection, name: str) -> None:
    agreed = set()
    for value in ANY:
        record = ENTRY | {name: value}
        door, reading = passes_door(record), passes_sql(loose, record)
        if name == "reason" or (
            isinstance(ENTRY_RULES[name], KeyWords) and isinstance(value, str) and len(value) <= 80
        ):
            assert reading >= door, "of free text only type and length are looked at, and of a sentence nothing"
        else:
            assert door == reading, (name, value)
        agreed.add(door)
    assert agreed == {True, False}, "a column that takes anything, or nothing"


def test_every_column_has_its_range() -> None:
    assert {*ASKED, *AROUND, *JUDGED} == {*ENTRY_COLUMNS} - {"session", "setting"}
    assert set(JUDGED) == set(VERDICT_COLUMNS)
    assert set(AROUND) == set(AROUND_COLUMNS)


@pytest.mark.parametrize("rules", [SESSION, ENTRY_RULES], ids=["session", "entry"])
def test_the_ends_of_every_range_pass_and_what_lies_beyond_does_not(rules: dict[str, Range | Text]) -> None:
    for name, rule in rules.items():
        if isinstance(rule, Range):
            for value in (rule.least, rule.most):
                rule.check(name, value)
            for value in (rule.least - 1, rule.most + 1, float("nan"), None, "1", True):
                with pytest.raises(UnsoundError, match=name):
                    rule.check(name, value)


def test_whatever_is_missing_is_named() -> None:
    check_session(A_SESSION)
    check_entry(ENTRY)
    for name in A_SESSION:
        with pytest.raises(UnsoundError, match=name):
            check_session({key: value for key, value in A_SESSION.items() if key != name})
    for name in ("number", "mode", "key", "drone", "a4_hz", "tuning", "time_s", "skipped", "onset_s", "end_s", "kind"):
        with pytest.raises(UnsoundError, match=name):
            check_entry({key: value for key, value in ENTRY.items() if key != name})


@pytest.mark.parametrize("digits", [31, 33])
def test_a_uid_has_32_digits(digits: int) -> None:
    with pytest.raises(UnsoundError, match="uid must be 32 hexadecimal digits"):
        check_session(A_SESSION | {"uid": "c" * digits})


PITCH_CLASSES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
SIGNS = {"bb": -2, "b": -1, "": 0, "#": 1, "##": 2}


def test_a_pitch_is_one_of_the_128_of_midi_however_it_is_spelled() -> None:
    """MIDI 1.0: 0 to 127, 60 is C4 in scientific pitch (its octave -1 begins at 0)."""
    for letter, step in PITCH_CLASSES.items():
        for sign, shift in SIGNS.items():
            for octave in range(-2, 11):
                there = 0 <= 12 * (octave + 1) + step + shift <= 127 and octave in range(-1, 10)
                assert passes_door(ENTRY | {"rest_note": f"{letter}{sign}{octave}"}) == there, (letter, sign, octave)


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("short", "it is 'short'"),
        ("x" * 38, f"it is '{'x' * 38}'"),
        ("x" * 39, f"it is '{'x' * 39}…"),
        (10**18, f"it is {10**18}"),
        (10**18 + 1, "a number of many digits"),
        (-(10**19), "a number of many digits"),
    ],
)
def test_what_is_refused_is_shown_as_a_few_characters(value: object, told: str) -> None:
    with pytest.raises(UnsoundError) as refused:
        check_entry(ENTRY | {"mode": value})
    assert str(refused.value).endswith(told)
