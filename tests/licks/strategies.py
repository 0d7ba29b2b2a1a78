"""Licks of every kind, for properties."""

from __future__ import annotations

from hypothesis import strategies as st

from pedal.licks.lick import Lick, LickNote
from pedal.theory.neck import TUNINGS, parse_tuning
from pedal.theory.scale import SCALES, parse_key

KEYS = st.builds(
    lambda tonic, scale: parse_key(f"{tonic} {scale}"),
    st.sampled_from(["C", "C#", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B"]),
    st.sampled_from([*SCALES, "[1 b3 4 b7]"]),
)
SHARES = st.sampled_from([1 / 4, 1 / 3, 1 / 2, 2 / 3, 3 / 4, 1.0, 1.5, 0.517, 0.083, 2.0])
RESTS = st.sampled_from([0.0, 0.0, 0.0, 0.5, 0.25, 1.0])


@st.composite
def notes(draw: st.DrawFn) -> LickNote:
    """One note, whatever the hand does to it."""
    midi, beats, rest = draw(st.integers(40, 84)), draw(SHARES), draw(RESTS)
    ending = draw(st.sampled_from(["cut", "ring", "release"]))
    begun = draw(st.sampled_from(["pluck", "hammer_on", "pull_off", "slide"]))
    kind = draw(st.sampled_from(["plain", "plain", "curl", "bend", "prebend"]))
    vibrato = draw(st.sampled_from([(0.0, 0.0), (5.2, 20.0)]))
    if kind == "plain":
        return LickNote(
            midi, beats, rest, ending=ending, begun_by=begun, vibrato_hz=vibrato[0], vibrato_cents=vibrato[1]
        )
    if kind == "curl":
        return LickNote(midi, beats, rest, "curl", None, float(draw(st.integers(8, 99))), ending, *vibrato, begun)
    off = float(draw(st.integers(-60, 60)))
    return LickNote(midi, beats, rest, kind, midi + draw(st.integers(1, 5)), off, ending, *vibrato, begun)


@st.composite
def licks(draw: st.DrawFn, least: int = 2, most: int = 24) -> Lick:
    """A lick that fits into 15 s."""
    row = draw(st.lists(notes(), min_size=least, max_size=most))
    beats = sum(note.beats + note.rest_beats for note in row)
    tempo = draw(st.sampled_from([60.0, 72.5, 90.0, 140.0]))
    tuning = parse_tuning(draw(st.sampled_from(sorted(TUNINGS))))
    name = draw(st.sampled_from(["", "old gate", "Übung 3"]))
    return Lick(tuple(row), draw(KEYS), min(400.0, max(tempo, 60.0 * beats / 14.9)), tuning, name)
