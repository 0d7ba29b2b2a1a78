"""MIDI files read by an independent reader (music21, which shares nothing with the writer), and played to the ear."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from music21 import midi

from pedal.pitch import Reading, make_tracker
from pedal.progress.midi_file import Sound, midi_file
from pedal.theory.cents import hz_of

# Written out, and not taken from the code, so that a change of it is seen.
RANGE_SEMITONES = 12

FONT = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")


def a_bend(onset_s: float, midi: float, rise_cents: float, *, length_s: float = 2.0) -> Sound:
    """At rest for 0.5 s, up within 0.3 s, held to the end."""
    time_s = np.arange(0.0, length_s, 0.01)
    cents = np.interp(time_s, [0.5, 0.8], [0.0, rise_cents])
    return Sound(onset_s, onset_s + length_s, onset_s + time_s, hz_of(midi) * 2 ** (cents / 1200))


@dataclass(frozen=True)
class Message:
    """An event of the file; one and two as the standard has them, pitch of the wheel from -8192 on."""

    type: str
    one: int = 0
    two: int = 0
    name: str = ""

    @property
    def pitch(self) -> int:
        return (self.two << 7 | self.one) - 8192


def played(file: bytes) -> list[tuple[float, Message]]:
    """Messages with their times in seconds, as the independent reader has them."""
    read = midi.MidiFile()
    read.readstr(file)
    (track,) = read.tracks
    now_s, s_a_tick, found = 0.0, 0.5 / read.ticksPerQuarterNote, []
    for event in track.events:
        if isinstance(event, midi.DeltaTime):
            now_s += event.time * s_a_tick
        elif event.type == midi.MetaEvents.SET_TEMPO:
            s_a_tick = int.from_bytes(event.data) / 1e6 / read.ticksPerQuarterNote
        elif event.type == midi.MetaEvents.SEQUENCE_TRACK_NAME:
            found.append((now_s, Message(event.type.name, name=event.data.decode())))
        else:
            found.append((now_s, Message(event.type.name, event.parameter1 or 0, event.parameter2 or 0)))
    return found


def heard_cents(file: bytes, time_s: float) -> float:
    """MIDI note number times 100 that sounds at a time: note plus bend over the range that the file itself sets."""
    note, bend, controls, semitones = None, 0, {}, None
    for at_s, message in played(file):
        if at_s > time_s + 1e-6:
            break
        if message.type == "CONTROLLER_CHANGE":
            controls[message.one] = message.two
            if message.one == 38 and (controls[101], controls[100]) == (0, 0):
                semitones = controls[6] + controls[38] / 100
        elif message.type == "NOTE_ON":
            note = message.one
        elif message.type == "NOTE_OFF":
            note = None
        elif message.type == "PITCH_BEND":
            bend = message.pitch
    assert note is not None and semitones is not None
    return 100 * (note + bend / 8192 * semitones)


@given(st.floats(40, 86), st.floats(-50, 420), st.floats(0, 30))
def test_the_pitch_is_there_to_a_tenth_of_a_cent(midi: float, rise: float, onset_s: float) -> None:
    file = midi_file([a_bend(onset_s, midi, rise)])
    assert heard_cents(file, onset_s + 0.2) == pytest.approx(100 * midi, abs=0.1)
    assert heard_cents(file, onset_s + 1.5) == pytest.approx(100 * midi + rise, abs=0.1)


def test_notes_begin_and_end_when_they_did() -> None:
    messages = played(midi_file([a_bend(1.0, 65, 200), a_bend(4.5, 60, 40)], name="one two"))
    notes = [(round(at_s, 3), message.type, message.one) for at_s, message in messages if "NOTE" in message.type]
    assert notes == [(1.0, "NOTE_ON", 65), (3.0, "NOTE_OFF", 65), (4.5, "NOTE_ON", 60), (6.5, "NOTE_OFF", 60)]
    assert messages[0][1].name == "one two"


def test_a_note_ends_where_the_next_begins() -> None:
    messages = played(midi_file([a_bend(0.0, 65, 200), a_bend(1.0, 60, 40)]))
    notes = [(round(at_s, 3), message.type) for at_s, message in messages if "NOTE" in message.type]
    assert notes == [(0.0, "NOTE_ON"), (1.0, "NOTE_OFF"), (1.0, "NOTE_ON"), (3.0, "NOTE_OFF")]


def test_a_prebend_is_bent_before_it_sounds() -> None:
    types = [message.type for _, message in played(midi_file([a_bend(0.0, 65.4, -40)]))]
    assert types.index("PITCH_BEND") < types.index("NOTE_ON")


def test_the_range_is_said_before_the_first_note_and_closed_after() -> None:
    controls = [(m.one, m.two) for _, m in played(midi_file([a_bend(0.0, 65, 1)])) if m.type == "CONTROLLER_CHANGE"]
    assert controls == [(101, 0), (100, 0), (6, RANGE_SEMITONES), (38, 0), (101, 127), (100, 127)]


def test_pitch_beyond_the_range_stays_at_its_end() -> None:
    assert heard_cents(midi_file([a_bend(0.0, 50, 1500)]), 1.5) == pytest.approx(6200, abs=0.2)


def test_no_note_is_still_a_file() -> None:
    assert not [message for _, message in played(midi_file([])) if "NOTE" in message.type]


def by_fluidsynth(folder: Path) -> list[str]:
    return ["fluidsynth", "-ni", "-R", "0", "-C", "0", "-r", "48000", "-F", "note.wav", str(FONT), "note.mid"]


def by_timidity(folder: Path) -> list[str]:
    (folder / "font.cfg").write_text(f"soundfont {FONT}\n")
    dry = ["-EFreverb=0", "-EFchorus=0"]
    return ["timidity", "-c", "font.cfg", *dry, "-s", "48000", "-Ow", "-o", "note.wav", "note.mid"]


def synthesized(folder: Path, sound: Sound, command_for: Callable[[Path], list[str]]) -> list[Reading]:
    """What the ear makes of a note that a synthesizer plays."""
    command = command_for(folder)
    assert shutil.which(command[0]) and FONT.exists(), "make test installs fluidsynth, timidity and timgm6mb-soundfont"
    (folder / "note.mid").write_bytes(midi_file([sound]))
    subprocess.run(command, cwd=folder, check=True, capture_output=True, timeout=60)
    samples, rate = soundfile.read(folder / "note.wav", dtype="float32")
    tracker, hop = make_tracker(rate, 128), 128
    mono = samples.mean(axis=1).astype(np.float32)
    return [r for at in range(0, len(mono) - hop, hop) for r in tracker.push(mono[at : at + hop]) if r.hz]


def middle_cents(readings: list[Reading], begin_s: float, end_s: float) -> float:
    return float(np.median([1200 * np.log2(r.hz / 440) for r in readings if begin_s < r.time_s < end_s]))


@pytest.mark.sound_server
@pytest.mark.parametrize("rise", [35.0, 178.0, 300.0])
@pytest.mark.parametrize(("command_for", "scale"), [(by_timidity, 1.0), (by_fluidsynth, 127 / 128)])
def test_a_synthesizer_plays_the_bend_and_the_ear_hears_it(
    tmp_path: Path, rise: float, command_for: Callable[[Path], list[str]], scale: float
) -> None:
    """Against the same note without its bend, as the sampled note drifts by itself.

    fluidsynth 2.3 takes the bend's range as 127/128 of what RPN 0 says and rounds down to whole cents: at three
    semitones it is 3 cents short of any file. TiMidity does neither.
    """
    bent = synthesized(tmp_path, a_bend(0.0, 65, rise), command_for)
    level = synthesized(tmp_path, a_bend(0.0, 65, 0.0), command_for)
    assert middle_cents(bent, 0.2, 0.45) == pytest.approx(middle_cents(level, 0.2, 0.45), abs=0.5)
    assert middle_cents(bent, 1.0, 1.8) - middle_cents(level, 1.0, 1.8) == pytest.approx(scale * rise, abs=1.0)
