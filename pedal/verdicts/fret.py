"""Note + key + guitar -> the fretted pitch it started from, whether it was heard long, briefly, or not at all."""

from __future__ import annotations

import math
from collections import deque
from statistics import median

from pedal.notes.bins import PICK_CENTS
from pedal.notes.note import Note
from pedal.notes.pluck import HEARD_SIGMA_CENTS, PLUCKED_S, off_by_pluck
from pedal.notes.polyphony import PLUCK_S
from pedal.notes.runs import LEAST_FALL_CENTS, LEAST_RISE_CENTS, PASSING_S
from pedal.theory.cents import cents_between, hz_of, midi_of
from pedal.values import frozen
from pedal.verdicts.aim import Aim

RESTS_REMEMBERED = 15
LEARNED_SIGMA_CENTS = 1.2
"""A rest known no worse than this teaches the guitar's offset: it stood for some 0.2 s."""
FIRST_SIGMA_CENTS, LAST_SIGMA_CENTS = 5.0, 3.0
"""How far a fret lies off the grid and the guitar's offset: nothing known of the guitar, and after many rests."""
FURTHEST_OFF_CENTS = 35.0
ABOVE_CENTS = 40.0
"""A rise is first heard so far above its fret (mean); it is not heard below it by more than a rise must be."""
SHARP_SHARE = 0.5
"""So much of what a pluck may move the pitch by (1 sigma) it does, and up: a string that swings far is stretched."""
OFF_KEY_PRICE = 3.0
"""Log odds against a fret outside the key where no rest was heard."""


@frozen
class Offset:
    """How far a guitar's frets lie above the grid, in cents, and how far one of them may lie off that (1 sigma)."""

    cents: float
    sigma_cents: float


class GuitarOffset:
    """How far this guitar lies off equal temperament, learned from the rests of its notes. `.learn(note, a4_hz)`."""

    def __init__(self) -> None:
        self._rests_hz: deque[float] = deque(maxlen=RESTS_REMEMBERED)

    def learn(self, note: Note, *, a4_hz: float) -> None:
        """One more finished note."""
        rested = note.rest_hz is not None and note.shape in ("level", "rise", "rise_fall") and note.refusal is None
        if not rested or note.rest_sigma_cents > LEARNED_SIGMA_CENTS or note.begun_by != "pluck" or note.accompanied:
            return
        if abs(_off(note.rest_hz or 0.0, a4_hz)) <= FURTHEST_OFF_CENTS:
            self._rests_hz.append(note.rest_hz or 0.0)

    def forget(self) -> None:
        """Its strings are tuned: what was learned of it holds no longer."""
        self._rests_hz.clear()

    def against(self, a4_hz: float) -> Offset:
        """What is known of it against this concert pitch, which may be another than it was learned at.

        Median of the last rests, drawn towards 0 while they are few; one alone may be no rest at all.
        """
        offs = [off for hz in self._rests_hz if abs(off := _off(hz, a4_hz)) <= FURTHEST_OFF_CENTS]
        count = len(offs)
        return Offset(
            median(offs) * count / (count + 1) if count > 1 else 0.0,
            LAST_SIGMA_CENTS + (FIRST_SIGMA_CENTS - LAST_SIGMA_CENTS) / (1 + count),
        )


def _off(hz: float, a4_hz: float) -> float:
    midi = midi_of(hz, a4_hz=a4_hz)
    return 100.0 * (midi - round(midi))


@frozen
class Fret:
    """The fretted pitch: its note, hertz as it is on this guitar, and whether it was heard."""

    midi: int
    hz: float
    heard: bool


def find_fret(note: Note, aim: Aim, guitar: GuitarOffset) -> Fret | None:
    """The fret a note stands on or was bent from; None where only a bent pitch was heard."""
    if note.rest_hz is not None:
        # A rest that was heard only after a release is better known than the pluck leaves it, and no longer sharp.
        sharp = min(sharp_cents(note, 0.0), SHARP_SHARE * note.rest_sigma_cents)
        return _rested(note.rest_hz, note.rest_sigma_cents, sharp, aim, guitar.against(aim.a4_hz))
    if note.from_hz is not None:
        return _unheard(note, aim, guitar.against(aim.a4_hz))
    return None


def is_picks_noise(note: Note, aim: Aim, guitar: GuitarOffset) -> bool:
    """Whether a small rise is the pick's: from nowhere, or off every fret and too briefly, to a hold on a fret."""
    if note.shape != "rise" or note.hold_hz is None:
        return False
    raised_s = note.raised_s or 0.0
    least = 2 * ABOVE_CENTS if _at_once(note) else ABOVE_CENTS if raised_s <= PLUCK_S else LEAST_FALL_CENTS
    soon = raised_s <= PLUCKED_S
    from_nowhere = soon and note.from_hz is not None and cents_between(note.from_hz, note.hold_hz) < least
    if aim.judge_as == "blind":  # a string that was bent before stands on no fret
        return note.rest_hz is None and from_nowhere
    known = guitar.against(aim.a4_hz)
    off_hold = _off_grid(note.hold_hz, aim, known)
    if off_hold > 2 * known.sigma_cents:
        return False
    if note.rest_hz is None:
        return from_nowhere
    off_rest = _off_grid(note.rest_hz, aim, known)
    no_fret = off_rest > FURTHEST_OFF_CENTS and raised_s <= 3 * PLUCK_S
    brief = note.rest_sigma_cents > HEARD_SIGMA_CENTS or no_fret
    small = cents_between(note.rest_hz, note.hold_hz) <= 2 * FURTHEST_OFF_CENTS
    return brief and small and off_rest > 2 * off_hold + known.sigma_cents


def _at_once(note: Note) -> bool:
    """Whether it was heard so soon that half of the quickest way of a bend is still to come.

    On a string that was hit hard that lies twice as far off.
    """
    return (note.raised_s or 0.0) <= 0.5 * PASSING_S


def _off_grid(hz: float, aim: Aim, guitar: Offset) -> float:
    cents = 100.0 * midi_of(hz, a4_hz=aim.a4_hz) - guitar.cents
    return abs(cents - 100.0 * round(cents / 100.0))


def sharp_cents(note: Note, later_s: float) -> float:
    """By how much a note so long after it was raised sounds above its settled string; 0 where no pluck or rise was."""
    if note.raised_s is None or note.begun_by != "pluck":
        return 0.0
    return SHARP_SHARE * off_by_pluck(note.raised_s + later_s)


def _rested(hz: float, sigma: float, sharp: float, aim: Aim, guitar: Offset) -> Fret:
    midi = round(midi_of(hz, a4_hz=aim.a4_hz) - guitar.cents / 100.0)
    grid = hz_of(midi + guitar.cents / 100.0, a4_hz=aim.a4_hz)
    away = cents_between(grid, hz)
    if abs(away) > FURTHEST_OFF_CENTS:
        return Fret(midi, hz, heard=True)
    share = guitar.sigma_cents**2 / (guitar.sigma_cents**2 + sigma**2)
    return Fret(midi, grid * 2.0 ** (share * (away - sharp) / 1200.0), heard=sigma <= HEARD_SIGMA_CENTS)


def _unheard(note: Note, aim: Aim, guitar: Offset) -> Fret:
    from_hz = note.from_hz or 0.0
    heard, held = (100.0 * midi_of(hz, a4_hz=aim.a4_hz) - guitar.cents for hz in (from_hz, note.hold_hz or from_hz))
    below = PICK_CENTS if _at_once(note) else LEAST_RISE_CENTS

    def price(midi: int) -> float:
        above = heard - 100.0 * midi
        likely = above / ABOVE_CENTS if above > 0.0 else 0.5 * (above / below) ** 2
        wanted = aim.key.contains(midi) if aim.target is None else midi == aim.target.rest_midi
        sunk = held - 100.0 * midi < LEAST_RISE_CENTS  # a string never sounds below its fret, and this one rose
        return likely + (0.0 if wanted else OFF_KEY_PRICE) + (math.inf if sunk else 0.0)

    nearest = round(heard / 100.0)
    midi = min(range(max(aim.lowest_midi, nearest - 3), max(aim.lowest_midi, nearest + 1) + 1), key=price)
    return Fret(midi, hz_of(midi + guitar.cents / 100.0, a4_hz=aim.a4_hz), heard=False)
