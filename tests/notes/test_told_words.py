"""From what was played to the words that the player reads, and the turns that the screen follows meanwhile."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from curves import STEP_S, as_heard, glide, notes_of, readings, slide

from pedal.notes.event import Fall, Hold, Rest, Rise
from pedal.notes.follower import Follower
from pedal.theory.cents import cents_between, hz_of
from pedal.theory.scale import parse_key
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.aim import Aim, Target
from pedal.verdicts.fret import GuitarOffset
from pedal.verdicts.judge import judge

WATCH = Aim(parse_key("G minor pentatonic"))
BLIND = dataclasses.replace(WATCH, judge_as="blind", target=Target(60, 62))


def told(cents, rest: str, aim: Aim) -> list[tuple[str, str, str]]:
    """(kind, word, sentence) of each note, judged as the chain does it."""
    guitar, found = GuitarOffset(), []
    for note in notes_of(cents, rest_hz=hz_of(parse_pitch(rest)), noise_cents=0.3):
        verdict = judge(note, aim, guitar)
        guitar.learn(note, a4_hz=aim.a4_hz)
        found.append((verdict.kind, verdict.verdict, verdict.reason))
    return found


STORIES = {
    "a quick curl": (
        [(0.05, 0), (0.08, 35), (0.2, 35)], 0, "Bb3", WATCH,
        ("curl", "true", "Bb3 curled up 36 cents, in the blue zone, and was cut off sharp."),
    ),
    "a curl let go": (
        [(0.1, 0), (0.1, 35), (0.1, 35), (0.1, 0), (0.2, 0)], 0, "Bb3", WATCH,
        ("curl", "released", "Bb3 curled up 35 cents but was released before it was cut off."),
    ),
    "a bend in tune": (
        [(0.1, 0), (0.1, 200), (0.4, 200)], 0, "C4", WATCH, ("bend", "true", "C4 bent to D4: 1 cent sharp."),
    ),
    "a flat bend that begins with the pluck": (
        [(0.1, 170), (0.4, 170)], 0, "C4", WATCH, ("bend", "flat", "C4 bent to D4: 30 cents flat."),
    ),
    "a bend let go": (
        [(0.2, 0), (0.15, 215), (0.3, 215), (0.15, 0), (0.3, 0)], 0, "C4", WATCH,
        ("bend_release", "near", "C4 bent to D4: 15 cents sharp."),
    ),
    "a pre-bend let go": (
        [(0.4, 200), (0.15, 0), (0.3, 0)], 200, "C4", WATCH,
        ("prebend_release", "true", "Pre-bend to D4: dead on, then released."),
    ),
    "a fall that never came to rest": (
        [(0.4, 200), (0.5, 40)], 200, "C4", WATCH,
        ("unclear", "unclear", "The pitch came down and was not heard to rest: no bend to judge."),
    ),
    "a pitch that comes down a little": (
        [(0.4, 25), (0.15, 0), (0.4, 0)], 25, "C4", WATCH,
        ("steady", "unclear", "A level note that came down a little: no bend to judge."),
    ),
    "a level note": ([(0.8, 0)], 0, "C4", WATCH, ("steady", "unclear", "A level note: no bend to judge.")),
    "a nudge": (
        [(0.3, 0), (0.1, 25), (0.3, 25)], 0, "C4", WATCH,
        ("unclear", "unclear", "C4 was nudged up 25 cents: too little for a bend, and no place for a curl."),
    ),
    "a blip": (
        [(0.035, 0)], 0, "C4", WATCH,
        ("unclear", "unclear", "Too short to judge: let the note sound a little longer."),
    ),
    "a blind answer": ([(1.0, 192)], 192, "C4", BLIND, ("prebend", "true", "Pre-bend to D4: 8 cents flat.")),
    "a flat blind answer, mended": (
        [(0.3, 180), (0.15, 200), (0.4, 200)], 180, "C4", BLIND,
        ("prebend", "near", "Pre-bend to D4: 20 cents flat, mended in 0.4 s."),
    ),
    "a sharp blind answer, mended": (
        [(0.3, 230), (0.15, 200), (0.4, 200)], 230, "C4", BLIND,
        ("prebend", "sharp", "Pre-bend to D4: 30 cents sharp, mended in 0.4 s."),
    ),
    "a blind answer raised late": (
        [(0.05, 0), (0.1, 200), (0.6, 200)], 0, "C4", BLIND,
        ("unclear", "unclear", "Plucked first, then bent: bend first, then pluck."),
    ),
    "a blind answer raised with the pluck": (
        [(0.1, 200), (0.6, 200)], 0, "C4", BLIND,
        ("unclear", "unclear", "Plucked first, then bent: bend first, then pluck."),
    ),
    "a blind answer not bent at all": (
        [(0.8, 0)], 0, "C4", BLIND,
        ("unclear", "unclear", "C4 was plucked before it was bent: bend first, then pluck."),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("legs", "start", "rest", "aim", "words"), STORIES.values(), ids=STORIES.keys())
def test_words(legs, start, rest, aim, words) -> None:
    assert told(as_heard(glide(legs, start_cents=start)), rest, aim) == [words]


def test_words_of_legato_come_tone_by_tone() -> None:
    curve = as_heard(
        glide([(0.2, 0), (0.15, 200), (0.3, 200), (0.15, 0), (0.2, 0), (0, -200), (0.35, -200)]), window_s=0.016
    )
    assert [t[:2] for t in told(curve, "C4", WATCH)] == [("bend_release", "true"), ("steady", "unclear")]


@pytest.mark.parametrize(("tread_s", "frets"), [(0.04, 2), (0.05, 3)])
def test_a_slide_is_named_and_a_trill_too(tread_s, frets) -> None:
    ((kind, word, reason),) = told(slide(frets, tread_s), "C4", WATCH)
    assert (kind, word) == ("slide", "unclear")
    assert reason == "A slide: the pitch moved fret by fret, so there is no bend to judge."
    trill = glide([(0.2, 0), *[leg for _ in range(3) for leg in ((0, 200), (0.1, 200), (0, 0), (0.1, 0))]])
    ((kind, word, reason),) = told(as_heard(trill), "C4", WATCH)
    assert (kind, word) == ("hammer_on", "unclear")
    assert reason == "A trill: the pitch jumped to and fro, so there is no bend to judge."


class TestTurns:
    def turns(self, cents):
        follower, events = Follower(0.0), []
        for reading in readings(cents, noise_cents=0.3):
            events += follower.hear(reading)
        return events

    def test_a_bend_and_release_is_followed(self) -> None:
        events = self.turns(glide([(0.3, 0), (0.15, 200), (0.4, 200), (0.2, 0), (0.3, 0)]))
        assert [type(e) for e in events] == [Rest, Rise, Hold, Fall, Hold]
        rest, rise, hold, fall, back = events
        assert [cents_between(233.08, e.hz) for e in (rest, hold, back)] == pytest.approx([0, 200, 0], abs=2)
        assert 0.0 < rest.time_s < 0.15
        assert 0.3 < rise.time_s < 0.42
        assert 0.45 < hold.time_s < 0.56
        assert 0.85 < fall.time_s < 0.98
        assert 1.05 < back.time_s < 1.17

    def test_a_curl_of_15_cents_is_a_rise_and_one_of_5_is_not(self) -> None:
        assert [type(e) for e in self.turns(glide([(0.3, 0), (0.15, 15), (0.3, 15)]))] == [Rest, Rise, Hold]
        assert [type(e) for e in self.turns(glide([(0.3, 0), (0.15, 5), (0.3, 5)]))] == [Rest]

    def test_a_level_note_has_no_turn(self) -> None:
        t = np.arange(round(1.5 / STEP_S)) * STEP_S
        assert [type(e) for e in self.turns(10 * np.exp(-t / 0.1))] == [Rest]

    def test_times_never_run_backwards(self) -> None:
        events = self.turns(glide([(0.2, 0), *[leg for _ in range(4) for leg in ((0.12, 120), (0.12, 0))], (0.3, 0)]))
        times = [e.time_s for e in events]
        assert times == sorted(times)
        assert len(times) > 4


def test_readings_in_doubt_carry_nothing() -> None:
    heard = readings(glide([(0.6, 0)]))
    wild = [r._replace(hz=r.hz * 1.03, confidence=0.59) if 60 <= i < 110 else r for i, r in enumerate(heard)]
    follower = Follower(0.0)
    assert [type(e) for r in wild for e in follower.hear(r)] == [Rest]
    (note,) = follower.finish(0.6, stopped=True, polyphonic=False)
    assert note.shape == "level"
    assert len(note.trace.hz) == sum(r.hz > 0 and r.confidence >= 0.6 for r in wild)
