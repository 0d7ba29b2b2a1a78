"""A lick: a phrase of 2 to 24 notes, each with its length and with what the hand does to it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from pedal.notes.note import BegunBy
from pedal.theory.neck import STANDARD, Neck, Tuning
from pedal.theory.scale import Key

Inflection = Literal["plain", "curl", "bend", "prebend"]
LickEnding = Literal["cut", "ring", "release"]

FEWEST, MOST = 2, 24
LONGEST_S = 15.0
LOWEST_MIDI, HIGHEST_MIDI = 23, 100
"""B0, the lowest string of a bass, to E7, which no bend reaches."""
MOST_BEATS = 64.0
SLOWEST_BPM, FASTEST_BPM = 20.0, 400.0
FURTHEST_SEMITONES = 5
"""Nobody bends further with the fingers."""
CURL_CENTS = 35.0
"""How high a curl goes whose height nobody gave: the middle of the blue zone."""
CURL_LEAST_CENTS, CURL_MOST_CENTS = 8.0, 99.0
OFF_MOST_CENTS = 99.0


class LickError(ValueError):
    """What is no lick: too few notes, too long, or a note that nobody can play."""


@dataclass(frozen=True, slots=True)
class LickNote:
    """One note: where it is fretted, how long it sounds, how it is bent. Raises `LickError` for one nobody can play.

    midi : the fretted note.
    beats : how long it sounds; `rest_beats`: how long it is silent after it.
    target_midi : where a bend or pre-bend goes; None for a plain note and a curl.
    cents : height of a curl above the fretted note; how far off its target a bend of the model was.
    ending : a plain note's or a bend's "release" comes back to the fretted note; so does a curl's that was released.
    string, fret : where it is played, if that was written down.
    """

    midi: int
    beats: float
    rest_beats: float = 0.0
    inflection: Inflection = "plain"
    target_midi: int | None = None
    cents: float = 0.0
    ending: LickEnding = "cut"
    vibrato_hz: float = 0.0
    vibrato_cents: float = 0.0
    begun_by: BegunBy = "pluck"
    string: int | None = None
    fret: int | None = None

    def __post_init__(self) -> None:
        if not LOWEST_MIDI <= self.midi <= HIGHEST_MIDI:
            raise LickError(f"a note at MIDI {self.midi} is off every neck: give B0 to E7")
        if not 0.0 < self.beats <= MOST_BEATS:
            raise LickError(f"a note of {self.beats:g} beats cannot be: give more than 0 and at most {MOST_BEATS:g}")
        if not 0.0 <= self.rest_beats <= MOST_BEATS:
            raise LickError(f"a rest of {self.rest_beats:g} beats cannot be: give at most {MOST_BEATS:g}")
        bent = self.inflection in ("bend", "prebend")
        if bent != (self.target_midi is not None):
            raise LickError("a bend needs the note it goes to, and nothing else may have one")
        if self.target_midi is not None and not 1 <= self.target_midi - self.midi <= FURTHEST_SEMITONES:
            raise LickError(
                f"a bend of {self.target_midi - self.midi} semitones cannot be: give 1 to {FURTHEST_SEMITONES}"
            )
        if self.inflection == "curl" and not CURL_LEAST_CENTS <= self.cents <= CURL_MOST_CENTS:
            raise LickError(f"a curl of {self.cents:g} cents is none: give {CURL_LEAST_CENTS:g} to {CURL_MOST_CENTS:g}")
        if abs(self.cents) > OFF_MOST_CENTS:
            raise LickError(f"{self.cents:+g} cents off is another note: give {OFF_MOST_CENTS:g} at most")
        if self.inflection == "plain" and self.cents:
            raise LickError("a plain note has no cents")

    @property
    def sounds(self) -> tuple[int, ...]:
        """The notes that are heard in turn: a bend with release from A to B sounds A, B, A."""
        if self.target_midi is None:
            return (self.midi,)
        back = (self.midi,) if self.ending == "release" else ()
        return (self.midi, self.target_midi, *back) if self.inflection == "bend" else (self.target_midi, *back)

    @property
    def height_cents(self) -> float:
        """How far above the fretted note it is bent; 0 for a plain one."""
        return self.cents if self.target_midi is None else 100.0 * (self.target_midi - self.midi) + self.cents


@dataclass(frozen=True, slots=True)
class Lick:
    """The whole phrase in its key; `beats_a_minute` turns its beats into seconds.

    Raises `LickError` for fewer than 2 or more than 24 notes, more than 15 s, and a tempo that cannot be.
    """

    notes: tuple[LickNote, ...]
    key: Key
    beats_a_minute: float = 90.0
    tuning: Tuning = STANDARD
    name: str = ""

    def __post_init__(self) -> None:
        if len(self.notes) < FEWEST:
            raise LickError(f"a lick of {_notes(len(self.notes))} is none: give {FEWEST} to {MOST}")
        if len(self.notes) > MOST:
            raise LickError(f"a lick of {len(self.notes)} notes is too long: give {FEWEST} to {MOST}")
        if not SLOWEST_BPM <= self.beats_a_minute <= FASTEST_BPM:
            raise LickError(
                f"a tempo of {self.beats_a_minute:g} cannot be: give {SLOWEST_BPM:g} to {FASTEST_BPM:g} beats a minute"
            )
        if self.seconds > LONGEST_S:
            raise LickError(
                f"a lick of {self.seconds:.1f} s is too long: give at most {LONGEST_S:g} s "
                "(fewer notes, or a faster tempo)"
            )

    @property
    def beat_s(self) -> float:
        """How long a beat lasts at the lick's own tempo."""
        return 60.0 / self.beats_a_minute

    @property
    def onsets_s(self) -> tuple[float, ...]:
        """When each note begins, from the first on."""
        onsets, at = [], 0.0
        for note in self.notes:
            onsets.append(at * self.beat_s)
            at += note.beats + note.rest_beats
        return tuple(onsets)

    @property
    def seconds(self) -> float:
        """From the first note to the end of the last one."""
        return self.onsets_s[-1] + self.notes[-1].beats * self.beat_s

    def fits(self, neck: Neck) -> bool:
        """Whether every note can be fretted somewhere on a neck."""
        return all(spots_of(note.midi, neck) for note in self.notes)


def _notes(count: int) -> str:
    return "1 note" if count == 1 else f"{count} notes"


def spots_of(midi: int, neck: Neck) -> tuple[tuple[int, int], ...]:
    """Strings and frets where a note lies, the highest string first; empty off the neck."""
    found = ((string, midi - open_midi) for string, open_midi in enumerate(neck.tuning.open_midi, 1))
    return tuple((string, fret) for string, fret in found if neck.capo <= fret <= neck.frets)


def transposed(lick: Lick, key: Key) -> Lick:
    """The lick in another key by the nearer way: up to five semitones down or six up; its strings and frets go.

    Raises
    ------
    LickError
        If a note would leave the range of all necks.
    """
    steps = (key.tonic.semitone - lick.key.tonic.semitone + 5) % 12 - 5
    notes = tuple(
        replace(
            note,
            midi=note.midi + steps,
            target_midi=None if note.target_midi is None else note.target_midi + steps,
            string=None if steps else note.string,
            fret=None if steps else note.fret,
        )
        for note in lick.notes
    )
    return replace(lick, notes=notes, key=key)


def plain_form(lick: Lick) -> tuple[tuple[int, LickNote], ...]:
    """The same notes fretted: each sound of a bend is a note of its own. With the number of the note it came from."""
    plain = []
    for number, note in enumerate(lick.notes):
        sounds = note.sounds
        for place, midi in enumerate(sounds):
            last = place == len(sounds) - 1
            plain.append(
                (
                    number,
                    LickNote(
                        midi,
                        note.beats / len(sounds),
                        note.rest_beats if last else 0.0,
                        ending="ring" if last and note.ending == "ring" else "cut",
                        begun_by=note.begun_by if place == 0 else "pluck",
                        string=note.string if midi == note.midi else None,
                        fret=note.fret if midi == note.midi else None,
                    ),
                )
            )
    return tuple(plain)
