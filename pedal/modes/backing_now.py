"""The pulse as the pedal knows it: which chord sounds now, what a bend may aim at, where it lay beside the beat."""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from statistics import median

from pedal.modes.drone import STEPS, DroneOrder, drone_hz
from pedal.modes.input_events import BeatsBegan, InputEvent, LivePitch
from pedal.modes.log_entry import LogEntry
from pedal.modes.screen_model import Side, VerdictCard
from pedal.modes.state import PedalState
from pedal.progress.need import spread_of
from pedal.progress.time_and_vibrato import evenness_word
from pedal.theory.cents import hz_of
from pedal.theory.chords import BARS, Chord
from pedal.theory.pulse import OFF_BEATS, Grid, Pulse
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.arrival import arrival_s
from pedal.verdicts.verdict import Verdict

_SIDES = {"both": "both sides", "above": "above", "below": "below"}
CLICK_MIDI = 96
"""Clicks lie from C7 up: above every fret, so that none is taken for a string."""
RISES = 8
LEAST_RISES = 4
"""Rises that are looked at together, and how many it takes to speak of them."""
EVEN_SHARE = 0.15
"""Rises that scatter by no more than this share of their middle are called even. A choice, with no study behind it."""
NOTICED_MS = 20.0
"""A guitarist notices 20 ms, hardly 10 (Jack et al. 2018, Music Perception 36, 109: abstract)."""
UNHEARD_S = 4.0
"""An output that has told nothing of its beat for so long plays none; one that opens does within a second."""


def pulse_order(state: PedalState) -> DroneOrder:
    """What the output plays in time: the form's chords in the drone's sound, in tune with A4."""
    form = "one_chord" if state.backing == "drone" else state.backing
    bars = tuple(drone_hz(state.key, state.drone, steps, a4_hz=state.a4_hz) for steps in BARS[form])
    click = hz_of(CLICK_MIDI + state.key.tonic.semitone, a4_hz=state.a4_hz)
    return DroneOrder((), state.drone_db, Pulse(state.bpm, bars, OFF_BEATS[state.feel], click))


class BackingNow:
    """`.hear(event)` follows the beat; the rest says what follows from it at the present time."""

    def __init__(self) -> None:
        self._grid: Grid | None = None
        self._now_s = self._since_s = 0.0
        self._rises: deque[float] = deque(maxlen=RISES)

    def hear(self, event: InputEvent) -> None:
        """The passing of time, and where the beat lies."""
        if isinstance(event, LivePitch):
            self._now_s = event.time_s
        elif isinstance(event, BeatsBegan):
            zero_s, beat_s = event.zero_s, event.beat_s
            self._grid = None if zero_s is None else Grid(zero_s, beat_s)

    def forget(self) -> None:
        """The pulse ends, or another one begins: nothing is known of it before the output tells."""
        self._grid, self._since_s = None, self._now_s

    def unheard(self, state: PedalState) -> bool:
        """Whether a pulse should sound and no output tells of it."""
        wanted = state.drone_on and state.backing != "drone"
        return wanted and self._grid is None and self._now_s - self._since_s >= UNHEARD_S

    def chord(self, state: PedalState, time_s: float | None = None) -> Chord | None:
        """The chord that sounds now or at a time, None for none; in the count-in the first one."""
        if not state.drone_on:
            return None
        if state.backing == "drone":
            return Chord(STEPS[state.chord], state.drone)
        bars = BARS[state.backing]
        bar = 0 if self._grid is None else max(0, self._grid.bar(self._now_s if time_s is None else time_s))
        return Chord(bars[bar % len(bars)], state.drone)

    def words(self, state: PedalState) -> str:
        """The name of the chord that sounds; "" for none."""
        chord = self.chord(state)
        return "" if chord is None else chord.word(state.key)

    def beat(self, state: PedalState) -> int:
        """The beat of the bar, 1 to 4; 0 where no pulse is heard of."""
        on = state.drone_on and state.backing != "drone" and self._grid is not None
        return self._grid.beat(self._now_s) if on and self._grid is not None and self._now_s >= self._grid.zero_s else 0

    def goals(self, state: PedalState) -> frozenset[int]:
        """Pitch classes that bends aim at before all others; none where they follow the key."""
        chord = self.chord(state)
        return chord.goals(state.key) if chord is not None and state.follow == "chord" else frozenset()

    def beside(self, state: PedalState, verdict: Verdict) -> float | None:
        """Milliseconds from the nearest beat at which a bend arrived, late positive; None where there is no pulse."""
        if self._grid is None or not state.drone_on or state.backing == "drone":
            return None
        arrived_s = arrival_s(verdict, a4_hz=state.a4_hz)
        return None if arrived_s is None else self._grid.beside(arrived_s)

    def marked(self, state: PedalState, entry: LogEntry) -> LogEntry:
        """The entry with chord and beat, where there are any.

        A time that is told as "about" is not logged: a review of many such would claim to the millisecond what nobody
        knows.
        """
        verdict = entry.verdict
        if verdict is None:
            return entry
        chord = self._chord_of(state, verdict)
        beat_ms = self.beside(state, verdict) if state.delay_heard else None
        return replace(entry, chord=None if chord is None else chord.word(state.key), beat_ms=beat_ms)

    def _chord_of(self, state: PedalState, verdict: Verdict) -> Chord | None:
        """The chord of the beat nearest to which a bend arrived: one that comes early was meant for what follows."""
        arrived_s = arrival_s(verdict, a4_hz=state.a4_hz)
        if arrived_s is not None and self._grid is not None:
            arrived_s += self._grid.beat_s / 4 - self._grid.beside(arrived_s) / 1000  # well within that beat
        return self.chord(state, arrived_s)

    def told(self, state: PedalState, verdict: Verdict, card: VerdictCard) -> VerdictCard:
        """The card with its time, its degree of the chord, its vibrato, and how even the rises are."""
        late = self.beside(state, verdict)
        more = [self._degree(state, verdict), vibrato_words(verdict), self._rise_words(verdict)]
        return replace(
            card,
            timing="" if late is None else timing_words(late, sure=state.delay_heard),
            side="" if late is None or not state.delay_heard else side_of(late),
            more=tuple(words for words in more if words),
        )

    def _degree(self, state: PedalState, verdict: Verdict) -> str:
        chord = self._chord_of(state, verdict)
        if chord is None or verdict.target_note is None or verdict.verdict == "unclear":
            return ""
        return f"{chord.degree(state.key, parse_pitch(verdict.target_note))} of {chord.word(state.key)}"

    def _rise_words(self, verdict: Verdict) -> str:
        if verdict.rise_s and verdict.verdict != "unclear":
            self._rises.append(verdict.rise_s)
        return rise_words(tuple(self._rises))


def side_of(late_ms: float) -> Side:
    """Of the beat, for a glance; what no player notices is on it.

    >>> side_of(34.0), side_of(-50.0), side_of(19.0)
    ('late', 'early', 'on')
    """
    if abs(late_ms) <= NOTICED_MS:
        return "on"
    return "late" if late_ms > 0 else "early"


def timing_words(late_ms: float, *, sure: bool = True) -> str:
    """Beside the beat, for a small screen; not `sure` while nobody knows what the drivers hide of the way.

    >>> timing_words(34.4), timing_words(-12.0), timing_words(0.3)
    ('34 ms late', '12 ms early', 'on the beat')
    >>> timing_words(34.4, sure=False), timing_words(-3.0, sure=False)
    ('~34 ms late', '~3 ms early')
    """
    whole = round(abs(late_ms))
    if not sure:
        return f"~{whole} ms {'early' if late_ms < 0 else 'late'}"
    return "on the beat" if not whole else f"{whole} ms {'late' if late_ms > 0 else 'early'}"


def rise_words(rises_s: tuple[float, ...]) -> str:
    """The middle of the last rises and whether they are even; "" for too few.

    >>> rise_words((0.24, 0.25, 0.24, 0.26)), rise_words((0.1, 0.3, 0.5, 0.2))
    ('rise 0.24 s, even', 'rise 0.25 s, uneven')
    """
    if len(rises_s) < LEAST_RISES:
        return ""
    middle, scatter = median(rises_s), spread_of(rises_s) or 0.0
    return f"rise {middle:.2f} s, {'even' if scatter <= EVEN_SHARE * middle else 'uneven'}"


def vibrato_words(verdict: Verdict) -> str:
    """Such as "vib 5.4 Hz ±21 above, even"; "" without vibrato. Neither even nor uneven where the figures leave it."""
    if not verdict.vibrato_hz or not verdict.vibrato_cents:
        return ""
    side = f" {_SIDES[verdict.vibrato_side]}" if verdict.vibrato_side else ""
    even = evenness_word(verdict.vibrato_evenness, verdict.vibrato_hz, verdict.hold_s)
    return f"vib {verdict.vibrato_hz:.1f} Hz ±{verdict.vibrato_cents:.0f}{side}{', ' + even if even else ''}"
