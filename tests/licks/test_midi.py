"""A Standard MIDI file and its pitch bends: the lick in it. mido writes most of them; one is music21's."""

from __future__ import annotations

import io
import re
from typing import Any

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import note as sheet
from music21 import stream, tempo
from music21.midi.translate import streamToMidiFile
from passes_by_rule import C4, D4, F4, G3, KEY, Bb3  # type: ignore[import-not-found]

from pedal.licks.lick import LickError
from pedal.licks.midi import lick_of_midi

BEAT = 480


def message(kind: str, time: int = 0, **values: Any) -> Any:
    return mido.Message(kind, time=time, **values)


def file_of(messages: list[Any], *, tempo_bpm: float = 90.0, form: int = 0) -> bytes:
    file = mido.MidiFile(type=form, ticks_per_beat=BEAT)
    if form:
        file.tracks.append(mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(tempo_bpm))]))
        file.tracks.append(mido.MidiTrack(messages))
    else:
        head = mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(tempo_bpm))
        file.tracks.append(mido.MidiTrack([head, *messages]))
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def wheel(cents: float, time: int = 0, reach: float = 200.0) -> Any:
    return message("pitchwheel", time, pitch=min(8191, round(8192 * cents / reach)))


def note(midi: int, ticks: int = BEAT, path: tuple[tuple[int, float], ...] = ()) -> list[Any]:
    """A note with its wheel: ticks since the last event, and cents."""
    turns = [wheel(cents, wait) for wait, cents in path]
    left = ticks - sum(wait for wait, _ in path)
    return [message("note_on", note=midi), *turns, message("note_off", left, note=midi), wheel(0.0)]


CURL = ((120, 10.0), (20, 20.0), (20, 34.0))
BEND = ((100, 60.0), (20, 140.0), (20, 200.0))
BACK = (*BEND, (200, 100.0), (20, 0.0))


@given(
    row=st.lists(st.tuples(st.integers(40, 80), st.sampled_from([120, 160, 240, 480])), min_size=2, max_size=12),
    tempo=st.sampled_from([60.0, 90.0, 120.0]),
    form=st.sampled_from([0, 1]),
)
@settings(max_examples=40, deadline=None)
def test_notes_and_lengths_are_those_of_the_file(row: list[tuple[int, int]], tempo: float, form: int) -> None:
    lick = lick_of_midi(file_of([m for midi, ticks in row for m in note(midi, ticks)], tempo_bpm=tempo, form=form), KEY)
    assert [n.midi for n in lick.notes] == [midi for midi, _ in row]
    assert [n.beats for n in lick.notes] == pytest.approx([ticks / BEAT for _, ticks in row], abs=0.001)
    assert lick.beats_a_minute == pytest.approx(tempo, rel=1e-5)
    assert all(n.inflection == "plain" for n in lick.notes)


def test_a_file_that_another_program_wrote_is_read() -> None:
    part = stream.Part([tempo.MetronomeMark(number=90)])
    for name, quarters in (("G3", 1.0), ("B-3", 0.5), ("C4", 0.5), ("D4", 2.0)):
        part.append(sheet.Note(name, quarterLength=quarters))
    lick = lick_of_midi(streamToMidiFile(stream.Score([part])).writestr(), KEY)
    assert [(n.midi, n.beats, n.rest_beats) for n in lick.notes] == [
        (G3, 1.0, 0.0), (Bb3, 0.5, 0.0), (C4, 0.5, 0.0), (D4, 2.0, 0.0),
    ]  # fmt: skip
    assert lick.beats_a_minute == pytest.approx(90.0, rel=1e-5)


def test_two_tracks_share_the_wheel_of_their_channel() -> None:
    file = mido.MidiFile(type=1, ticks_per_beat=BEAT)
    file.tracks.append(mido.MidiTrack([*note(G3), message("note_on", note=C4), message("note_off", BEAT, note=C4)]))
    file.tracks.append(mido.MidiTrack([wheel(60.0, BEAT + 100), wheel(200.0, 40)]))
    out = io.BytesIO()
    file.save(file=out)
    assert [n.inflection for n in lick_of_midi(out.getvalue(), KEY).notes] == ["plain", "bend"]


def test_curls_bends_and_prebends_are_told_from_the_wheel() -> None:
    prebend = [wheel(200.0), *note(C4, BEAT, ((240, 100.0), (20, 0.0)))]
    lick = lick_of_midi(
        file_of([*note(G3), *note(Bb3, path=CURL), *note(C4, path=BEND), *note(C4, 2 * BEAT, BACK), *prebend]), KEY
    )
    assert [(n.inflection, n.target_midi, n.ending) for n in lick.notes] == [
        ("plain", None, "cut"), ("curl", None, "cut"), ("bend", D4, "cut"), ("bend", D4, "release"),
        ("prebend", D4, "release"),
    ]  # fmt: skip
    assert lick.notes[1].cents == pytest.approx(34.0, abs=1.0)
    assert abs(lick.notes[2].cents) <= 1.0


def test_the_reach_of_the_wheel_is_that_of_the_file() -> None:
    reach = [
        message("control_change", control=101, value=0), message("control_change", control=100, value=0),
        message("control_change", control=6, value=12),
    ]  # fmt: skip
    bend = [message("note_on", note=F4), wheel(200.0, 100, 1200.0), message("note_off", BEAT, note=F4)]
    lick = lick_of_midi(file_of([*reach, *note(G3), *bend]), KEY)
    assert (lick.notes[1].target_midi, lick.notes[1].inflection) == (67, "bend")


def test_silence_between_notes_is_a_rest() -> None:
    late = message("note_on", BEAT // 2, note=D4)
    lick = lick_of_midi(file_of([*note(G3), late, message("note_off", BEAT, note=D4)]), KEY)
    assert (lick.notes[0].rest_beats, lick.notes[1].rest_beats) == (0.5, 0.0)


@pytest.mark.parametrize(
    ("raw", "sentence"),
    [
        (b"", "it is no Standard MIDI file"),
        (b"RIFF....WAVEfmt ", "it is no Standard MIDI file"),
        (file_of([*note(G3), *note(D4)])[:-9], "the MIDI file is damaged"),
        (file_of([]), "the MIDI file holds no note"),
        (file_of(note(G3)), "a lick of 1 note is none"),
        (file_of(note(G3) * 30), "a lick of 30 notes is too long"),
        (
            file_of([message("note_on", note=G3), message("note_on", note=D4), message("note_off", BEAT, note=G3),
                     message("note_off", note=D4)]),
            "the MIDI file holds chords: give a track of single notes",
        ),
        (file_of([*note(G3, path=((100, -150.0), (100, -150.0))), *note(D4)]), "which no finger does"),
        (b"MThd" + bytes([0, 0, 0, 6, 0, 2, 0, 1, 1, 0xE0]) + b"MTrk\0\0\0\0", "format 2 is not read here"),
        (b"MThd" + bytes([0, 0, 0, 6, 0, 0, 0, 1, 0xE7, 0x28]) + b"MTrk\0\0\0\0", "counts frames and not beats"),
        (b"MThd" + bytes([0, 0, 0, 6, 0, 0, 0, 1, 1, 0xE0]) + b"MTrk\0\0\0\2\0\x40", "the MIDI file is damaged"),
    ],
)  # fmt: skip
def test_what_is_no_lick_is_refused_with_a_sentence(raw: bytes, sentence: str) -> None:
    with pytest.raises(LickError, match=re.escape(sentence)):
        lick_of_midi(raw, KEY)


@given(raw=st.binary(max_size=200), at=st.integers(0, 200), size=st.integers(0, 60))
@settings(max_examples=150, deadline=None)
def test_no_file_ends_it_but_by_a_sentence(raw: bytes, at: int, size: int) -> None:
    good = file_of([*note(G3), *note(Bb3, path=CURL), *note(D4)])
    for torn in (b"MThd" + raw, good[:at] + raw[:size] + good[at + size :]):
        try:
            lick_of_midi(torn, KEY)
        except LickError as refused:
            assert str(refused)
