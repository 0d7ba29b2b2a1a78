"""A month of practice by a player who does not exist: invented data, with habits put in that the advice must find."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from itertools import islice

import numpy as np

from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace
from pedal.progress.logged_note import LoggedNote
from pedal.theory.cents import hz_of
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Bands
from pedal.verdicts.verdict import Verdict

KEY = parse_key("G minor pentatonic")
SESSIONS = 24
BANDS = Bands()


@dataclass(frozen=True, slots=True)
class Habit:
    """How one target is played: cents of bias in the first and last session, scatter (SD), share of curls released."""

    bias: float = 0.0
    last_bias: float | None = None
    scatter: float = 7.0
    released: float = 0.03
    overshoot: float = 4.0
    bias_by_string: Mapping[int, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a target lies in position 1 of G, by docs of the neck: (string, fret, MIDI number of the fretted note)."""

    string: int
    fret: int
    midi: int


PLACES = {
    "b7→1": [Place(2, 6, 65), Place(4, 3, 53), Place(3, 10, 65)],
    "1→b3": [Place(1, 3, 67), Place(4, 5, 55), Place(6, 3, 43)],
    "b3→4": [Place(1, 6, 70), Place(3, 3, 58), Place(6, 6, 46)],
    "4→5": [Place(3, 5, 60), Place(5, 3, 48)],
    "5→b7": [Place(2, 3, 62), Place(5, 5, 50)],
    "b3 curl": [Place(1, 6, 70), Place(3, 3, 58)],
    "b7 curl": [Place(2, 6, 65), Place(4, 3, 53)],
    "pre-bend to 1": [Place(2, 6, 65), Place(3, 10, 65)],
}
CLEAN = {target: Habit(bias=38.0, scatter=7.0) if "curl" in target else Habit() for target in PLACES}
"""A player with no fault worth a word."""


def entries(
    habits: Mapping[str, Habit], *, seed: int, tries: int = 6, traces: bool = False
) -> Iterator[tuple[int, LogEntry]]:
    """(session, entry) of a month: `tries` of every target in each of 24 sessions, judged as the judge would."""
    noise = np.random.default_rng(seed)
    for session in range(1, SESSIONS + 1):
        time_s = 0.0
        for target, habit in habits.items():
            for _ in range(tries):
                time_s += float(noise.uniform(3, 8))
                place = PLACES[target][int(noise.integers(len(PLACES[target])))]
                verdict = _verdict(target, place, habit, session, time_s, noise, traces=traces)
                yield session, _entry(target, place, verdict)


def notes(habits: Mapping[str, Habit], *, seed: int, tries: int = 6, most: int | None = None) -> list[LoggedNote]:
    """The same month (or its first entries) as progress sees it."""
    return [
        LoggedNote(session, entry.mode, entry.key, entry.verdict, entry.position, entry.string)
        for session, entry in islice(entries(habits, seed=seed, tries=tries), most)
        if entry.verdict is not None
    ]


@cache
def _name(midi: int) -> str:
    """Of a note of the key. Kept, like the two below: a month asks a thousand times for a dozen notes."""
    return KEY.spell(midi)


@cache
def _degree(midi: int) -> str:
    return KEY.degree_of(midi)


@cache
def _goal(midi: int) -> int:
    return KEY.next_above(midi)


KEY_WORDS = str(KEY)


def _entry(target: str, place: Place, verdict: Verdict) -> LogEntry:
    mode = "curl" if "curl" in target else "blind" if "pre-bend" in target else "ladder"
    return LogEntry(
        verdict.onset_s,
        mode,
        KEY_WORDS,
        verdict,
        position=1,
        string=place.string,
        fret=place.fret,
        target_note=verdict.target_note,
        drone=mode == "blind",
    )


def _verdict(
    target: str, place: Place, habit: Habit, session: int, time_s: float, noise: np.random.Generator, *, traces: bool
) -> Verdict:
    curl, prebend = "curl" in target, "pre-bend" in target
    share = (session - 1) / (SESSIONS - 1)
    bias = habit.bias if habit.last_bias is None else habit.bias + share * (habit.last_bias - habit.bias)
    off = habit.bias_by_string.get(place.string, bias) + float(noise.normal(0, habit.scatter))
    goal = place.midi if curl else _goal(place.midi)
    height = max(0.0, off) if curl else 100.0 * (goal - place.midi) + off
    released = curl and bool(noise.random() < habit.released)
    overshoot = abs(float(noise.normal(habit.overshoot, 2)))
    rise_s = float(noise.uniform(0.15, 0.4))
    return Verdict(
        onset_s=time_s,
        end_s=time_s + 1.4,
        rest_note=_name(place.midi),
        rest_cents=1.0,
        degree=_degree(place.midi),
        shape="fall" if prebend else "rise_fall" if released else "rise",
        kind="curl" if curl else "prebend" if prebend else "bend",
        target_note=None if curl else _name(goal),
        target_degree=None if curl else _degree(goal),
        bend_cents=height,
        error_cents=None if curl else off,
        absolute_cents=None if curl else off + 1.0,
        peak_cents=height + overshoot,
        overshoot_cents=overshoot,
        rise_s=None if prebend else rise_s,
        hold_s=0.7,
        final_cents=3.0 if released else height,
        ending="released" if released else "cut_sharp",
        vibrato_hz=0.0,
        vibrato_cents=0.0,
        verdict="released" if released else _curl_word(height) if curl else _word(off),
        reason="Invented.",
        trace=_trace(place.midi, time_s, height, rise_s, noise, prebend=prebend, released=released) if traces else None,
    )


def _word(off: float) -> str:
    if abs(off) <= BANDS.near_cents:
        return "true" if abs(off) <= BANDS.true_cents else "near"
    return "flat" if off < 0 else "sharp"


def _curl_word(height: float) -> str:
    if BANDS.curl_least_cents <= height <= BANDS.zone_near_cents:
        return "true" if BANDS.zone_low_cents <= height <= BANDS.zone_high_cents else "near"
    return "flat" if height < BANDS.curl_least_cents else "sharp"


def _trace(
    midi: int,
    onset_s: float,
    height: float,
    rise_s: float,
    noise: np.random.Generator,
    *,
    prebend: bool,
    released: bool,
) -> Trace:
    """1.4 s of pitch: up to the height (or there from the start), held, and down again if it was released."""
    since = np.arange(0, 1.4, 128 / 48000)
    cents = np.full(len(since), height) if prebend else height / (1 + np.exp(-(since - 0.15 - rise_s / 2) * 8 / rise_s))
    if released:
        cents = cents / (1 + np.exp((since - 1.1) * 30))
    cents = cents + noise.normal(0, 0.7, len(since))
    return Trace(onset_s + since, hz_of(midi) * 2 ** (cents / 1200), -18.0 - 6 * since)
