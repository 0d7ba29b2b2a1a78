"""A lick as sound: what was asked for is what is heard, and with the drone it stays under the ceiling."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.licks.lick import Lick, LickNote
from pedal.synth.drone import Drone
from pedal.synth.lick_sound import sound_of_lick, strokes_of
from pedal.synth.lick_voice import LickVoice
from pedal.theory.scale import parse_key

RATE = 48_000
KEY = parse_key("G minor pentatonic")
LICK = Lick(
    (
        LickNote(55, 0.5), LickNote(58, 0.5, 0.5, "curl", None, 35.0),
        LickNote(60, 1.0, 0.0, "bend", 62, ending="release"),
        LickNote(60, 1.0, 0.0, "prebend", 62), LickNote(58, 0.75, 0.0, "curl", None, 30.0, "release"),
        LickNote(55, 1.5, ending="ring", vibrato_hz=5.2, vibrato_cents=20.0),
    ), KEY,
)  # fmt: skip


def test_strokes_follow_each_other_and_last_as_long_as_the_lick():
    for tempo in (0.5, 1.0, 2.0):
        strokes = strokes_of(LICK, at_s=1.0, tempo=tempo)
        assert all(one.end_s <= later.at_s for one, later in zip(strokes, strokes[1:], strict=False))
        assert strokes[-1].end_s == pytest.approx(1.0 + LICK.seconds / tempo, abs=0.02)


@pytest.mark.parametrize("beats", [0.0001, 0.01, 0.06, 0.075, 0.09])
def test_a_tone_that_is_hardly_one_gives_way_to_the_next(beats: float) -> None:
    """A hammer-on of 50 ms was heard and kept: the sound of it must not run into what follows."""
    lick = Lick((LickNote(60, beats), LickNote(62, beats, beats), LickNote(60, 1.0)), KEY, 90.0)
    strokes = strokes_of(lick, at_s=0.0)
    assert all(one.end_s <= later.at_s for one, later in zip(strokes, strokes[1:], strict=False))
    assert np.abs(sound_of_lick(lick, sample_rate=RATE)).max() > 0.1


def test_it_is_heard_as_it_was_asked_for():
    from pedal.chain import Chain
    from pedal.licks.heard import heard_note
    from pedal.verdicts.aim import Aim
    from pedal.verdicts.verdict import Verdict

    chain = Chain(RATE, Aim(KEY))
    heard = [*chain.push(sound_of_lick(LICK, sample_rate=RATE)), *chain.finish()]
    notes = [heard_note(thing) for thing in heard if isinstance(thing, Verdict)]
    assert [note.sounds for note in notes if note] == [note.sounds for note in LICK.notes]
    assert [note.kind for note in notes if note][1:3] == ["curl", "bend_release"]
    assert notes[4] is not None and notes[4].word == "released"


@pytest.mark.parametrize("ceiling_db", [-12.0, -30.0])
@pytest.mark.parametrize("drone", [(), (98.0, 147.0)], ids=["alone", "over the drone"])
def test_nothing_exceeds_the_ceiling_and_nothing_clicks(ceiling_db: float, drone: tuple[float, ...]):
    voice = LickVoice(Drone(RATE, peak_db=ceiling_db), RATE, peak_db=ceiling_db)
    voice.sound(drone, 0.0)
    before = np.concatenate([voice.render(480) for _ in range(150)])
    voice.play(sound_of_lick(LICK, sample_rate=RATE, peak=1.0))
    during = np.concatenate([voice.render(480) for _ in range(700)])
    after = np.concatenate([voice.render(480) for _ in range(60)])
    out = np.concatenate([before, during, after])
    assert np.abs(during).max() > 0.4 * 10 ** (ceiling_db / 20)
    assert np.abs(out).max() <= 10 ** (ceiling_db / 20) + 1e-6
    assert voice.silent == (not drone)
    assert np.abs(after).max() == pytest.approx(np.abs(before[-9600:]).max(), rel=0.3, abs=1e-9)


def test_a_lick_that_is_stopped_fades_and_is_over():
    voice = LickVoice(Drone(RATE, peak_db=-12.0), RATE, peak_db=-12.0)
    voice.play(sound_of_lick(LICK, sample_rate=RATE))
    voice.render(24_000)
    voice.play(np.zeros(0, np.float32))
    tail = voice.render(4_800)
    assert not np.any(tail[960:])
    assert voice.silent
