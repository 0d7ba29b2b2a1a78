"""Readings and edges -> note events as they happen; the finished note comes with its end."""

from __future__ import annotations

from collections import deque

from pedal.notes.edges import Edge
from pedal.notes.event import End, NoteEvent, Onset
from pedal.notes.follower import Follower
from pedal.notes.polyphony import Polyphony, Thinned
from pedal.notes.rings_on import rings_on
from pedal.notes.runs import LONG_S, PASSING_S
from pedal.notes.sound import BREAK_DB, CUT_DB
from pedal.notes.strikes import PAST_S, Strike, Strikes, one_note
from pedal.pitch.intake import HISTORY_S
from pedal.pitch.reading import Reading
from pedal.pitch.search import CLEAR, CLEAR_AT_LAST

BEGIN_N = 4
"""So many pitched readings in a row begin a note after a strike."""
AGAIN_FALL_DB = 9.0
"""A note struck while it sounds goes on for `PAST_S` and falls less than that; a muting hand ends it sooner."""
SWELL_N = 30
"""Without a strike a note must have sounded for so many readings: a fading string flickers."""
THUMP_S = 0.200
"""A strike that no pitch follows within this was a thump, if the sound is gone by then, else a note without pitch."""
AUDIBLE_DB = -60.0
FALLEN_DB = 20.0
"""The sound is gone when the level lies so far below the last pitched one, and no pitch was heard for a cut."""
LONGEST_S = 60.0


class Listener:
    """Streaming. `.hear` takes each reading with the edge of the hop it came with; `.finish` ends what still sounds."""

    def __init__(self, sample_rate: int, hop: int, thinned: Thinned) -> None:
        self._strikes = Strikes(sample_rate, hop)
        self._thinned = thinned
        self._polyphony = Polyphony(thinned)
        self._own_fall_db = CUT_DB / PASSING_S * hop / sample_rate  # in a reading; a hand takes more
        self._row: deque[Reading] = deque(maxlen=SWELL_N + 1)
        self._faint: deque[Reading] = deque(maxlen=round(THUMP_S * sample_rate / hop))
        self._onset_s: float | None = None
        self._follower = Follower(0.0)
        self._pitched_s: float | None = None
        self._unstruck_hz = 0.0
        self._sounded_s, self._own_db, self._quietest_db = 0.0, -120.0, -120.0

    def hear(self, reading: Reading, edge: Edge, *, lost_samples: int = 0) -> list[NoteEvent]:
        """What happened with this reading; `lost_samples` were lost just before its hop, whose edge it came with."""
        if lost_samples:
            self._strikes.forget()
            self._polyphony.forget()
        self._strikes.hear(reading, edge)
        strike = self._strikes.latest
        self._polyphony.listen(reading, sounding=self._is_sounding, struck_s=None if strike is None else strike.time_s)
        pitched = reading.hz > 0.0 and reading.confidence >= CLEAR
        if reading.hz > 0.0 and reading.confidence >= CLEAR_AT_LAST:
            self._faint.append(reading)
        self._follow_row(reading, pitched=pitched)
        began_s = self._proved_onset(reading)
        if began_s is not None:
            led = self._led_to(self._row[0], began_s) if self._row else []
            events = self._end(began_s, stopped=True) + self._begin(began_s)
            for earlier in [*led, *self._row]:
                events += self._add(earlier)
            if not self._row:  # without a pitch, but it sounds
                self._sounded_s = reading.heard_s
            return events
        if self._onset_s is None:
            if reading.level_db < self._quietest_db:  # else the loudest of late is no less either
                self._quietest_db = min(self._quietest_db, self._strikes.loud_db)
            return []
        events = self._add(reading) if pitched else self._pass(reading)
        if self._is_over(reading):
            events += self._end(self._sounded_s, stopped=False)
        return events

    def finish(self) -> list[NoteEvent]:
        """The sound is over."""
        return self._end(self._sounded_s, stopped=False)

    def _follow_row(self, reading: Reading, *, pitched: bool) -> None:
        row = self._row
        if not pitched:
            if row:
                row.clear()
            return
        if row and not one_note(reading.hz, row[-1].hz):
            row.clear()
        row.append(reading)

    def _proved_onset(self, reading: Reading) -> float | None:
        """When a new note began, if this reading proves it; `_row` then holds its first readings."""
        strike = self._strikes.latest
        if strike is None:
            swells = self._onset_s is None and len(self._row) > SWELL_N and self._has_grown()
            return self._row[0].time_s if swells else None
        since = [r for r in self._row if r.time_s > strike.time_s]
        if len(since) >= BEGIN_N and (self._onset_s is None or self._struck_again(strike, since)):
            self._strikes.latest = None
            if self._onset_s is not None and self._rings_on(strike, since[-1]):
                return None
            self._row.clear()
            self._row.extend(since)
            self._own_db = strike.loud_db
            return strike.time_s
        if reading.heard_s - strike.time_s > THUMP_S:
            self._strikes.latest = None
            if self._onset_s is None and self._strikes.loud_db > max(AUDIBLE_DB, strike.loud_db - FALLEN_DB):
                self._own_db = strike.loud_db
                self._row.clear()
                return strike.time_s
        return None

    def _led_to(self, clear: Reading, struck_s: float) -> list[Reading]:
        """The fainter readings since the strike that led to the first clear one, if a fret or more was gone by then.

        A quick bend smears the period, and what is heard of its beginning is faint; of a string that stands, the clear
        readings say it better.
        """
        led = [clear]
        for earlier in reversed(self._faint):
            if earlier.heard_s >= clear.heard_s:
                continue
            near = one_note(earlier.hz, led[-1].hz)
            if earlier.time_s <= struck_s or not near or led[-1].heard_s - earlier.heard_s > PAST_S:
                break
            led.append(earlier)
        stood = one_note(led[-1].hz, clear.hz)
        return [] if stood else led[:0:-1]

    def _has_grown(self) -> bool:
        """Whether what sounds without a strike has grown since a note ended; else it is what that one left behind.

        An echo that comes and goes, or a string that rings on, grows by less than what counts as a break of the level.
        """
        return self._strikes.loud_db >= self._quietest_db + BREAK_DB

    def _struck_again(self, strike: Strike, since: list[Reading]) -> bool:
        """Whether a strike on a sounding note made a new one: a hand that mutes a string is heard as well."""
        lasts = since[-1].heard_s - strike.time_s >= PAST_S
        return lasts and self._strikes.loud_db >= strike.before_db - AGAIN_FALL_DB

    def _rings_on(self, strike: Strike, reading: Reading) -> bool:
        """Whether the string that sounds was not struck: a neighbour was brushed, or the guitar was knocked.

        What is heard at another pitch is a new note, octaves below too: harmonics of one string ring on beside it.
        """
        hz, rate_hz = self._unstruck_hz, self._thinned.rate_hz
        if hz == 0.0 or not one_note(hz, reading.hz):
            return False
        sound = self._thinned.newest(round(HISTORY_S * rate_hz))
        return rings_on(sound, rate_hz, HISTORY_S - (reading.heard_s - strike.time_s), hz)

    def _begin(self, onset_s: float) -> list[NoteEvent]:
        self._onset_s, self._follower = onset_s, Follower(onset_s)
        self._pitched_s, self._sounded_s = None, onset_s
        self._unstruck_hz = 0.0
        self._polyphony.begin(onset_s)
        return [Onset(onset_s)]

    def _add(self, reading: Reading) -> list[NoteEvent]:
        self._pitched_s = self._sounded_s = reading.heard_s
        if self._strikes.latest is None:
            self._unstruck_hz = reading.hz
        level_db, fallen_db = reading.level_db, self._own_db - self._own_fall_db
        self._own_db = level_db if level_db > fallen_db else fallen_db
        return self._follower.hear(reading)

    def _pass(self, reading: Reading) -> list[NoteEvent]:
        self._follower.hear(reading)
        if self._pitched_s is None and not self._is_quiet():
            self._sounded_s = reading.heard_s
        return []

    def _is_sounding(self) -> bool:
        return self._onset_s is not None and not self._is_quiet()

    def _is_quiet(self) -> bool:
        least_db = self._own_db - FALLEN_DB
        return self._strikes.loud_db < (least_db if least_db > AUDIBLE_DB else AUDIBLE_DB)

    def _is_over(self, reading: Reading) -> bool:
        since_s = reading.heard_s - self._sounded_s
        return (
            (since_s > PASSING_S and self._is_quiet())
            or since_s > LONG_S
            or reading.heard_s - (self._onset_s or 0.0) > LONGEST_S
        )

    def _end(self, end_s: float, *, stopped: bool) -> list[NoteEvent]:
        if self._onset_s is None:
            return []
        notes = self._follower.finish(end_s, stopped=stopped, polyphonic=self._polyphony.found, led=self._polyphony.led)
        self._onset_s, self._quietest_db = None, self._strikes.loud_db
        self._polyphony.end()
        return [End(note.end_s, note) for note in notes]
