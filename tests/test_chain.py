"""The chain: the same samples give the same verdicts, however cut, whatever the key, gain, polarity or lead-in."""

from __future__ import annotations

import dataclasses
from functools import cache

import numpy as np
import pytest

from pedal.chain import Chain
from pedal.notes.event import End, Onset
from pedal.pitch import Reading
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Aim, Target
from pedal.verdicts.fret import GuitarOffset
from pedal.verdicts.verdict import Verdict
from tests.note_names import key_on
from tests.notes.strings import partials

RATE = 48000
WIDE = pytest.mark.wide


def pluck(midi: float, *legs: tuple[float, float], start: float = 0.0, rate: int = RATE):
    """A string of eight partials along (seconds, cents) legs, stopped within 12 ms."""
    parts, here = [], start
    for seconds, cents in legs:
        n = round(seconds * rate)
        parts.append(here + (cents - here) * (0.5 - 0.5 * np.cos(np.pi * np.arange(n) / max(n, 1))))
        here = cents
    hz = 440 * 2 ** ((midi - 69 + np.concatenate(parts) / 100) / 12)
    t, phase = np.arange(len(hz)) / rate, 2 * np.pi * np.cumsum(hz) / rate
    sound = 0.12 * partials(8, phase, t, 0.6, 0.2)
    fade = round(0.012 * rate)
    sound[-fade:] *= np.linspace(1, 0, fade) ** 2
    return sound


@cache
def take(up: int = 0, rate: int = RATE):
    """A curl cut sharp, one released, a flat bend, a pre-bend and release, in the key `up` semitones above G."""
    rng = np.random.default_rng(7)
    quiet = np.zeros(round(0.3 * rate))
    parts = [
        pluck(58 + up, (0.35, 0), (0.2, 35), (0.25, 35), rate=rate),
        pluck(58 + up, (0.35, 0), (0.2, 35), (0.25, 35), (0.15, 0), (0.2, 0), rate=rate),
        pluck(60 + up, (0.35, 0), (0.2, 182), (0.4, 182), rate=rate),
        pluck(60 + up, (0.5, 206), (0.2, 0), (0.35, 0), start=206, rate=rate),
    ]
    sound = np.concatenate([quiet, *(piece for part in parts for piece in (part, quiet))])
    samples = (sound + 10 ** (-75 / 20) * rng.normal(size=len(sound))).astype(np.float32)
    samples.flags.writeable = False  # each test is given the same
    return samples


def judged(samples, *, block: int = 4096, up: int = 0, rate: int = RATE) -> list[Verdict]:
    chain = Chain(rate, Aim(key_on(7 + up)))
    heard = []
    for start in range(0, len(samples), block):
        heard += chain.push(samples[start : start + block])
    return [v for v in heard + chain.finish() if isinstance(v, Verdict)]


def brief(verdicts):
    return [(v.kind, v.verdict, v.ending, v.degree, v.target_degree) for v in verdicts]


def cents(verdicts):
    return [v.bend_cents for v in verdicts]


STORY = [
    ("curl", "true", "cut_sharp", "b3", None),
    ("curl", "released", "released", "b3", None),
    ("bend", "near", "cut_sharp", "4", "5"),
    ("prebend_release", "true", "released", "4", "5"),
]


@pytest.fixture(scope="module")
def plain() -> list[Verdict]:
    return judged(take())


def test_the_story_is_judged(plain) -> None:
    assert brief(plain) == STORY
    assert cents(plain) == pytest.approx([35, 35, 182, 206], abs=1.5)
    assert [v.error_cents for v in plain[2:]] == pytest.approx([-18, 6], abs=1.5)


def test_a_held_pre_bend_teaches_the_guitars_offset_nothing() -> None:
    """It stands where the hand put it: four of them, 25 cents flat, made the bend after them 15 cents sharp."""
    quiet = np.zeros(round(0.3 * RATE))
    held = [piece for off in (-28, -24, -22, -26) for piece in (pluck(60, (0.6, 200 + off), start=200 + off), quiet)]
    samples = np.concatenate([quiet, *held]).astype(np.float32)
    guitar = GuitarOffset()
    chain = Chain(RATE, Aim(key_on(7), "blind", Target(60, 62)), guitar)
    verdicts = [v for v in chain.push(samples) + chain.finish() if isinstance(v, Verdict)]
    assert [v.kind for v in verdicts] == ["prebend"] * 4
    assert guitar.against(440.0).cents == 0.0


def sounded(*plucked):
    """Plucks in a quiet room, 0.6 s apart."""
    quiet = np.zeros(round(0.6 * RATE))
    samples = np.concatenate([quiet, *(piece for one in plucked for piece in (one, quiet))])
    return (samples + np.random.default_rng(1).normal(0, 1e-5, len(samples))).astype(np.float32)


A_MINOR = Aim(parse_key("A minor pentatonic"))
RESTS = (57, 60, 62, 64, 67, 69, 57, 60)


@pytest.mark.parametrize(("guitar_hz", "count"), [pytest.param(432.0, 8, marks=WIDE), (446.0, 8), (432.0, 15)])
def test_what_was_learned_of_the_guitar_holds_against_another_concert_pitch(guitar_hz, count) -> None:
    """The pedal stood at 440: after A4 was set to the guitar's own, a true bend was told up to 28 cents sharp."""
    up = 12 * np.log2(guitar_hz / 440)
    chain = Chain(RATE, A_MINOR)
    chain.push(sounded(*(pluck(midi + up, (0.7, 0)) for midi in (RESTS * 2)[:count])))
    chain.aim = dataclasses.replace(A_MINOR, a4_hz=guitar_hz)
    heard = chain.push(sounded(*[pluck(62 + up, (0.16, 200), (0.5, 200))] * 3)) + chain.finish()
    bends = [v for v in heard if isinstance(v, Verdict)]
    assert [(v.kind, v.rest_note, v.rest_heard) for v in bends] == [("bend", "D4", False)] * 3
    assert [v.error_cents for v in bends] == pytest.approx([0, 0, 0], abs=3)


def test_strings_that_are_tuned_teach_the_guitars_offset_nothing_and_void_what_it_knew() -> None:
    """Six strings turned up from 20 cents flat had left it 9 cents flat, and true bends after it as much sharp."""
    guitar = GuitarOffset()
    chain = Chain(RATE, A_MINOR, guitar)
    chain.push(sounded(*(pluck(midi + 0.12, (0.7, 0)) for midi in RESTS)))
    assert guitar.against(440.0).cents == pytest.approx(12 * 8 / 9, abs=1)
    chain.aim = dataclasses.replace(A_MINOR, judge_as="tune")
    chain.push(sounded(pluck(40 - 0.2, (0.9, 0))))
    assert guitar.against(440.0).cents == 0.0
    turned = [pluck(midi + off / 100, (0.9, 0)) for midi in (40, 45, 50, 55, 59, 64) for off in (-20, -10, 0)]
    chain.push(sounded(*turned))
    chain.aim = A_MINOR
    assert guitar.against(440.0).cents == 0.0
    heard = chain.push(sounded(*[pluck(62, (0.16, 200), (0.5, 200))] * 2)) + chain.finish()
    assert [v.error_cents for v in heard if isinstance(v, Verdict)] == pytest.approx([0, 0], abs=1)


@pytest.mark.parametrize(("plucked_in", "ended_in"), [("tune", "watch"), ("watch", "tune")])
def test_what_sounds_on_into_tune_or_out_of_it_teaches_nothing(plucked_in, ended_in) -> None:
    """A string still sounds while the foot goes on to the next mode; one plucked elsewhere is no string in doubt."""
    guitar = GuitarOffset()
    chain = Chain(RATE, A_MINOR, guitar)
    chain.push(sounded(*(pluck(midi + 0.12, (0.7, 0)) for midi in RESTS[:4])))
    known = guitar.against(440.0)
    for midi in (57, 60, 62, 64, 67):
        samples = sounded(pluck(midi - 0.2, (0.9, 0)))
        chain.aim, rest = dataclasses.replace(A_MINOR, judge_as=plucked_in), round(1.0 * RATE)
        chain.push(samples[:rest])
        chain.aim = dataclasses.replace(A_MINOR, judge_as=ended_in)
        chain.push(samples[rest:])
    assert guitar.against(440.0) == (known if plucked_in == "watch" else GuitarOffset().against(440.0))


@pytest.mark.parametrize("block", [128, pytest.param(1000, marks=WIDE), 10**9])
def test_how_the_samples_are_cut_changes_nothing(plain, block) -> None:
    assert judged(take(), block=block) == plain


@pytest.mark.parametrize("block", [1, 7])
def test_one_sample_or_a_few_at_a_time_change_nothing(block) -> None:
    """Of one note: each push costs, and nothing else is told of the others."""
    samples = take()[: round(1.25 * RATE)]
    assert judged(samples)
    assert judged(samples, block=block) == judged(samples)


@pytest.mark.parametrize("up", [-12, 9, *(pytest.param(up, marks=WIDE) for up in (-5, 3))])
def test_transposing_moves_the_notes_and_no_error(plain, up) -> None:
    moved = judged(take(up), up=up)
    assert brief(moved) == STORY
    assert cents(moved) == pytest.approx(cents(plain), abs=1.5)


@pytest.mark.parametrize(
    "gain",
    [
        pytest.param(0.1, id="-20 dB"),
        pytest.param(0.5, id="-6 dB", marks=WIDE),
        pytest.param(3.0, id="+10 dB"),
        pytest.param(-1.0, id="upside down"),
    ],
)
def test_gain_and_polarity_change_no_verdict(plain, gain) -> None:
    heard = judged(np.clip(gain * take(), -1, 1).astype(np.float32))
    assert brief(heard) == STORY
    assert cents(heard) == pytest.approx(cents(plain), abs=1.0)


@pytest.mark.parametrize("lead_s", [0.5, pytest.param(2.0, marks=WIDE), 3.21])
def test_a_silent_lead_in_changes_times_only(plain, lead_s) -> None:
    heard = judged(np.concatenate([np.zeros(round(lead_s * RATE), np.float32), take()]))
    assert brief(heard) == STORY
    assert cents(heard) == pytest.approx(cents(plain), abs=0.5)
    assert [v.onset_s - lead_s for v in heard] == pytest.approx([v.onset_s for v in plain], abs=0.006)


@pytest.mark.parametrize("rate", [22050, 44100, 96000])
def test_any_rate_gives_the_same_verdicts(plain, rate) -> None:
    heard = judged(take(rate=rate), rate=rate)
    assert brief(heard) == STORY
    assert cents(heard) == pytest.approx(cents(plain), abs=1.5)


def test_a_verdict_follows_its_end_and_times_never_run_backwards() -> None:
    chain = Chain(RATE, Aim(parse_key("G minor pentatonic")))
    heard = chain.push(take()) + chain.finish()
    events = [h for h in heard if not isinstance(h, Reading)]
    for before, after in zip(events, events[1:], strict=False):
        assert isinstance(after, Verdict) == isinstance(before, End)
    verdicts = [h for h in events if isinstance(h, Verdict)]
    assert len(verdicts) == len([h for h in events if isinstance(h, Onset)]) == 4
    assert all(v.onset_s < v.end_s for v in verdicts)
    assert [v.onset_s for v in verdicts] == sorted(v.onset_s for v in verdicts)
    readings = [h.heard_s for h in heard if isinstance(h, Reading)]
    assert readings == sorted(readings)


def test_a_change_of_aim_holds_for_the_next_note() -> None:
    chain = Chain(RATE, Aim(parse_key("G minor pentatonic")))
    samples = take()
    half = round(1.4 * RATE)
    heard = chain.push(samples[:half])
    chain.aim = dataclasses.replace(chain.aim, key=parse_key("C minor pentatonic"))
    heard += chain.push(samples[half:]) + chain.finish()
    assert [v.degree for v in heard if isinstance(v, Verdict)] == ["b3", "b7", "1", "1"]


@pytest.mark.parametrize("bad", [np.nan, pytest.param(np.inf, marks=WIDE), 3e38])
def test_broken_samples_in_a_note_never_raise_and_later_notes_are_judged(bad) -> None:
    samples = take().copy()
    samples[round(0.9 * RATE) : round(0.9 * RATE) + 50] = bad
    assert brief(judged(samples))[-3:] == STORY[1:]


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf, 3e38])
def test_samples_that_are_no_numbers_never_raise_nor_make_a_note(bad) -> None:
    assert judged(np.full(RATE, bad, np.float32)) == []


def test_lost_samples_move_time_on() -> None:
    samples = take()
    chain = Chain(RATE, Aim(parse_key("G minor pentatonic")))
    cut = round(1.25 * RATE)  # in the silence after the first note
    heard = chain.push(samples[:cut]) + chain.push(samples[cut:], lost_samples=RATE) + chain.finish()
    verdicts = [h for h in heard if isinstance(h, Verdict)]
    assert brief(verdicts) == STORY
    assert verdicts[1].onset_s - verdicts[0].onset_s == pytest.approx(2.1, abs=0.03)
