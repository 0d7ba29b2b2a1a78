"""Tune: open strings against their pitch; the error shows once the pluck has settled, as the mean over half a second.

A hard pluck starts sharp and settles within a few tenths of a second (the string is longer while it swings wide), so
the first `SKIP_S` are left out. Two halves of the window that agree are what makes a tenth of a cent readable.
"""

from __future__ import annotations

from collections import deque
from statistics import fmean, median

from pedal.modes.input_events import Action, Heard
from pedal.modes.log_entry import LogEntry
from pedal.modes.mode import Mode
from pedal.modes.names import ModeName
from pedal.modes.screen_model import Status, TuneScreen
from pedal.modes.state import PedalState
from pedal.notes.event import Onset
from pedal.pitch.reading import Reading
from pedal.theory.cents import cents_between, hz_of
from pedal.theory.neck import open_string_names
from pedal.verdicts.aim import JudgeAs
from pedal.verdicts.verdict import Verdict

SKIP_S = 0.25
WINDOW_S = 0.5
AGREE_CENTS = 0.5
"""A drift of half a cent between the halves of the window still moves the mean by a quarter of a cent."""
STRAY_CENTS = 40.0
"""A reading this far from the middle of its window is another note, or an octave slip."""
GONE_S = 0.1
"""Without a reading for this long, what comes next is another pluck."""


class Tune(Mode):
    """Hears which string is meant (the nearest), and how far off it is."""

    name: ModeName = "tune"
    judge_as: JudgeAs = "tune"
    follows_readings = True

    def __init__(self, state: PedalState) -> None:
        self._start(state)

    def _start(self, state: PedalState) -> None:
        self._state = state
        capo = state.neck.capo
        self._names = open_string_names(state.neck.tuning, capo=capo)
        self._pitches = tuple(hz_of(midi + capo, a4_hz=state.a4_hz) for midi in state.neck.tuning.open_midi)
        self._errors: list[float | None] = [None] * len(self._names)
        self._string: int | None = None
        self._pluck()

    def _pluck(self) -> None:
        self._window: deque[tuple[Reading, float]] = deque()  # each with its cents against `_against`
        self._against = 0
        self._struck_s: float | None = None
        self._cents: float | None = None
        self._settled = False

    def lamp_word(self, verdict: Verdict) -> str:
        """No bend is asked for: a light would praise it."""
        del verdict
        return ""

    def move(self, state: PedalState) -> None:
        """Another tuning, capo or A4 makes other strings of them."""
        if (state.neck, state.a4_hz) != (self._state.neck, self._state.a4_hz):
            self._start(state)
        self._state = state

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """Follow the pitch; nothing of it is logged."""
        match heard:
            case Onset():
                self._pluck()
            case Reading(hz=hz) if hz > 0.0:
                self._read(heard)
            case _:
                pass
        return ()

    def _read(self, reading: Reading) -> None:
        if self._window and reading.time_s - self._window[-1][0].time_s > GONE_S:
            self._pluck()
        if self._struck_s is None:
            self._struck_s = reading.time_s
        if reading.time_s - self._struck_s < SKIP_S:
            self._string = self._nearest(reading.hz)
            return
        self._window.append((reading, self._cents_of(reading)))
        while reading.time_s - self._window[0][0].time_s > WINDOW_S:
            self._window.popleft()
            self._average()

    def _cents_of(self, reading: Reading) -> float:
        return cents_between(self._pitches[self._against], reading.hz)

    def _average(self) -> None:
        """Called once the window is full: its mean, and whether its halves agree."""
        string = self._nearest(median(reading.hz for reading, _ in self._window))
        if string != self._against:
            self._against = string
            self._window = deque((reading, self._cents_of(reading)) for reading, _ in self._window)
        cents = [cents for _, cents in self._window]
        middle = median(cents)
        kept = [one for one in cents if abs(one - middle) <= STRAY_CENTS]
        half = len(kept) // 2
        if 2 * len(kept) <= len(cents):  # two pitches by turns: the middle is neither
            self._settled = False
            return
        self._string, self._cents = string, fmean(kept)
        self._settled = abs(fmean(kept[:half]) - fmean(kept[half:])) <= AGREE_CENTS
        if self._settled:
            self._errors[string] = self._cents

    def _nearest(self, hz: float) -> int:
        return min(range(len(self._pitches)), key=lambda string: abs(cents_between(self._pitches[string], hz)))

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """`again` and `next_target` forget what was measured."""
        if action in ("again", "next_target"):
            self._start(self._state)
        return ()

    def screen(self, status: Status) -> TuneScreen:
        """The string heard last, its error, and the errors of all strings, the lowest first."""
        return TuneScreen(
            status,
            string=None if self._string is None else self._string + 1,
            note=None if self._string is None else self._names[self._string],
            cents=self._cents,
            settled=self._settled,
            strings=tuple(zip(reversed(self._names), reversed(self._errors), strict=True)),
        )
