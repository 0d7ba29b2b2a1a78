"""Asked notes and heard notes -> which heard note was which, by dynamic programming over notes.

A pass is read as the cheapest way from the first to the last note of both rows. Each step takes one of these:

    one asked, one heard     nothing if they sound the same, else by how they differ
    one asked, two or three heard      a bend that was fretted note by note
    two or three asked, one heard      notes that were joined by one bend
    one asked, none heard    left out
    none asked, one heard    added

So a mistake costs what it is and leaves the notes after it where they were. Which of several equal notes was left out
or added only time can tell: the notes that agree give the tempo and the beginning of the pass, and the programme runs
again with a small price on being early or late. Prices are choices: a wrong note is cheaper than one left out and one
added, and dearer than anything that keeps the pitch.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from pedal.licks.forms import AskedNote
from pedal.licks.heard import HeardNote
from pedal.licks.lick import LickNote
from pedal.values import frozen

LEFT_OUT, ADDED = 0.7, 0.7
ADDED_VAGUE = 0.3
"""A sound without a pitch beside the notes is most often no note."""
JOINED, FRETTED = 0.3, 0.3
SAME_FRET, SAME_END, VAGUE, OCTAVE, WRONG = 0.2, 0.3, 0.45, 0.6, 0.9
LATE, LATE_MOST = 0.15, 0.3
"""A price for each mean gap by which a note is early or late, and the most it may come to."""
SURE = 0.05
"""A way that costs no more than this a note needs no second look."""
WIDEST = 3
SLOWEST, FASTEST = 3.0, 1.0 / 3.0
"""Tempi beyond these (as a share of the model's) are no tempo of a pass."""


@frozen
class Pairing:
    """One step of the way: the asked notes and the heard notes that belong together; one of both may be empty."""

    asked: tuple[int, ...]
    heard: tuple[int, ...]
    price: float


@frozen
class Tempo:
    """`begin_s` is when the first asked note was due; `ratio` seconds of the pass for a second of the model."""

    begin_s: float
    ratio: float

    def due_s(self, asked: AskedNote) -> float:
        """When a note was due."""
        return self.begin_s + self.ratio * asked.onset_s


@frozen
class Match:
    """The whole way. `tempo` None where fewer than two notes agree."""

    pairings: tuple[Pairing, ...]
    price: float
    tempo: Tempo | None


def match(asked: Sequence[AskedNote], heard: Sequence[HeardNote], *, open_end: bool = False) -> Match:
    """The cheapest way through both.

    open_end : the pass goes on: asked notes after the last one that was heard cost nothing.
    """
    table = [[_steps(asked, heard, i, j) for j in range(len(heard) + 1)] for i in range(len(asked) + 1)]
    found = _cheapest(asked, heard, table, None, open_end=open_end)
    tempi = [_tempo_of(asked, heard, found), *_tempi_of_the_ends(asked, heard, found)]
    for tempo in filter(None, tempi):
        if found[2] and found[1] < SURE * len(heard):
            break
        timed = _cheapest(asked, heard, table, tempo, open_end=open_end)
        refined = _tempo_of(asked, heard, timed)
        if refined is not None:
            timed = _cheapest(asked, heard, table, refined, open_end=open_end)
        if timed[1] < found[1] - 1e-9 or not found[2]:
            found = timed
    pairings, price, _ = found
    return Match(pairings, price, _tempo_of(asked, heard, found))


Way = tuple[tuple[Pairing, ...], float, bool]
"""The steps, their price, and whether time had a say in it."""
Table = list[list[list[tuple[int, int, float]]]]


def _cheapest(
    asked: Sequence[AskedNote], heard: Sequence[HeardNote], table: Table, tempo: Tempo | None, *, open_end: bool
) -> Way:
    rows, columns = len(asked), len(heard)
    late = _lateness(asked, heard, tempo)
    best: list[list[float]] = [[float("inf")] * (columns + 1) for _ in range(rows + 1)]
    steps: list[list[tuple[int, int, float]]] = [[(0, 0, 0.0)] * (columns + 1) for _ in range(rows + 1)]
    best[0][0] = 0.0
    for i in range(rows + 1):
        for j in range(columns + 1):
            for step in table[i][j]:
                a, h, price = step
                at = best[i - a][j - h] + price
                if a and h:
                    at += late[i - a][j - h]
                if at < best[i][j] - 1e-9:
                    best[i][j], steps[i][j] = at, step
    end = min(range(rows + 1), key=lambda i: best[i][columns]) if open_end else rows
    return _walk_back(steps, end, columns), best[end][columns], tempo is not None


def _lateness(asked: Sequence[AskedNote], heard: Sequence[HeardNote], tempo: Tempo | None) -> list[list[float]]:
    """The price of each pair on being early or late."""
    mean_s = sum(note.gap_s for note in asked) / len(asked)
    if tempo is None or mean_s <= 0.0:
        return [[0.0] * len(heard)] * len(asked)
    each = LATE / (tempo.ratio * mean_s)
    return [[min(LATE_MOST, each * abs(note.onset_s - tempo.due_s(one))) for note in heard] for one in asked]


def _walk_back(steps: list[list[tuple[int, int, float]]], i: int, j: int) -> tuple[Pairing, ...]:
    pairings = []
    while i or j:
        a, h, price = steps[i][j]
        pairings.append(Pairing(tuple(range(i - a, i)), tuple(range(j - h, j)), price))
        i, j = i - a, j - h
    return tuple(reversed(pairings))


def _steps(asked: Sequence[AskedNote], heard: Sequence[HeardNote], i: int, j: int) -> list[tuple[int, int, float]]:
    """The last steps that may lead to `i` asked and `j` heard notes: how many of each, and their price."""
    steps = []
    if i and j:
        steps.append((1, 1, pair_price(asked[i - 1], heard[j - 1])))
    if i:
        steps.append((1, 0, LEFT_OUT))
    if j:
        steps.append((0, 1, ADDED if heard[j - 1].sounds else ADDED_VAGUE))
    for many in range(2, WIDEST + 1):
        if i and j >= many and asked[i - 1].note.sounds == _sounds(heard[j - many : j]):
            steps.append((1, many, FRETTED))
        if j and i >= many and heard[j - 1].sounds == _sounds([one.note for one in asked[i - many : i]]):
            steps.append((many, 1, JOINED))
    return steps


def _sounds(notes: Sequence[LickNote | HeardNote]) -> tuple[int, ...]:
    return tuple(midi for note in notes for midi in note.sounds)


def pair_price(asked: AskedNote, heard: HeardNote) -> float:
    """How little a heard note is like the one asked for: 0 where both sound the same."""
    wanted, got = asked.note.sounds, heard.sounds
    if wanted == got:
        return 0.0
    if not got:
        return VAGUE
    if asked.note.midi == heard.midi or wanted[0] == got[0]:
        return SAME_FRET
    if wanted[-1] == got[-1]:
        return SAME_END
    if set(wanted) & set(got):
        return SAME_END + 0.1
    apart = abs(wanted[0] - got[0])
    return OCTAVE if apart in (12, 24) else WRONG + 0.01 * min(apart, 12)


def _tempi_of_the_ends(asked: Sequence[AskedNote], heard: Sequence[HeardNote], way: Way) -> list[Tempo]:
    """Where the pass may have begun and ended, if its ends are what was left out or added: lines through them.

    Of many equal notes the first way through, which knows no time, may be shifted as a whole.
    """
    reached = max((pairing.asked[-1] for pairing in way[0] if pairing.asked and pairing.heard), default=0)
    last = len(heard) - 1
    tempi = []
    for first, begin, end, over in ((0, 0, 0, 0), (1, 0, 0, 0), (0, 1, 0, 0), (0, 0, 1, 0), (0, 0, 0, 1)):
        one, other = min(first, len(asked) - 1), reached - end
        if other <= one or last - over <= begin:
            continue
        due_s = asked[other].onset_s - asked[one].onset_s
        ratio = (heard[last - over].onset_s - heard[begin].onset_s) / due_s if due_s > 0.0 else 0.0
        if FASTEST <= ratio <= SLOWEST:
            tempi.append(Tempo(heard[begin].onset_s - ratio * asked[one].onset_s, ratio))
    return tempi


def _tempo_of(asked: Sequence[AskedNote], heard: Sequence[HeardNote], way: Way) -> Tempo | None:
    """The line through the notes that agree: the median of all slopes, and of all beginnings."""
    points = [
        (asked[pairing.asked[0]].onset_s, heard[pairing.heard[0]].onset_s)
        for pairing in way[0]
        if pairing.asked and pairing.heard and pairing.price <= JOINED
    ]
    slopes = [
        (later[1] - one[1]) / (later[0] - one[0])
        for place, one in enumerate(points)
        for later in points[place + 1 :]
        if later[0] - one[0] > 1e-6
    ]
    if not slopes:
        return None
    ratio = min(SLOWEST, max(FASTEST, median(slopes)))
    return Tempo(median(at - ratio * due for due, at in points), ratio)
