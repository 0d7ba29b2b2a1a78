"""A strike beside a string that sounds: whether that string was plucked anew, or rings on."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from pedal.chain import Chain
from pedal.notes import listener
from pedal.notes.event import Onset
from pedal.notes.rings_on import likeness, rings_on
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict
from tests.grids import grid
from tests.sound_server.sampled_guitar import CLEAN_GUITAR, STEEL_GUITAR, Sounded, font, render
from tests.test_chain import RATE, pluck

INNER_HZ, STRUCK_S = 12_000.0, 0.1


def string(hz: float, seconds: float, rng: np.random.Generator, *, then_cents: float = 0.0) -> np.ndarray:
    """Ten partials of a string that dies away, each from a phase of its own; from the strike on it lies higher."""
    t = np.arange(round(seconds * INNER_HZ)) / INNER_HZ
    turns = np.cumsum(hz * 2 ** (np.where(t < STRUCK_S, 0.0, then_cents) / 1200)) / INNER_HZ
    orders = np.arange(1, 11)
    waves = np.cos(2 * np.pi * np.outer(turns, orders) + rng.uniform(0, 2 * np.pi, 10))
    waves *= np.exp(-np.outer(t, 0.5 + 0.1 * orders)) / orders
    return waves[:, hz * orders < 0.45 * INNER_HZ].sum(axis=1)


@pytest.mark.parametrize("hz", [98.0, 233.1, 440.0, 880.0])
@pytest.mark.parametrize("then_cents", [0.0, -15.0, 15.0])
def test_a_string_that_nobody_struck_rings_on_through_a_thump(
    hz: float, then_cents: float, rng: np.random.Generator
) -> None:
    sound = string(hz, 0.16, rng, then_cents=then_cents)
    thump = slice(round(STRUCK_S * INNER_HZ), round((STRUCK_S + 0.004) * INNER_HZ))
    sound[thump] += rng.normal(0, 1.0, thump.stop - thump.start)
    assert rings_on(sound.astype(np.float32), INNER_HZ, STRUCK_S, hz)


@pytest.mark.parametrize("share", [0.0, 0.3])
def test_a_string_that_is_plucked_anew_does_not(share: float, rng: np.random.Generator) -> None:
    """Also where the pick hardly damps it, and a third of the old wave goes on; of a thousand ten may be missed.

    Here both waves have the very same strengths and any phases: on three voices none of 291 was as like.
    """
    struck, missed, tries = round(STRUCK_S * INNER_HZ), 0, 0
    for hz in (98.0, 147.0, 233.1, 349.2, 440.0, 587.0, 880.0, 1318.0):
        for loud in np.linspace(0.7, 1.5, 15):
            sound = string(hz, 0.16, rng)
            sound[struck:] *= share
            sound[struck:] += loud * string(hz, 0.06, rng)
            missed += rings_on(sound.astype(np.float32), INNER_HZ, STRUCK_S, hz)
            tries += 1
    assert missed <= 0.025 * tries, f"{missed} of {tries}"


def test_the_same_twice_as_loud_is_another_pluck() -> None:
    wave = np.array([1.0 + 1.0j, 0.5j, -0.3])
    assert likeness(wave, wave) == pytest.approx(1.0)
    assert likeness(wave, 2 * wave) == pytest.approx(0.5)
    assert likeness(wave, -wave) == pytest.approx(-1.0)


def test_one_of_many_partials_may_be_another_strings() -> None:
    wave = np.ones(8, np.complex128)
    disturbed = wave.copy()
    disturbed[2] = -3.0
    assert likeness(wave, disturbed) == pytest.approx(1.0)
    assert likeness(wave[:4], disturbed[:4]) == pytest.approx(2 / 6)


@pytest.mark.parametrize("struck_s", [0.010, 0.150])
def test_what_lies_too_near_an_end_of_the_sound_is_not_told(struck_s: float, rng: np.random.Generator) -> None:
    sound = string(233.1, 0.16, rng).astype(np.float32)
    assert not rings_on(sound, INNER_HZ, struck_s, 233.1)


BRUSHED_S = 1.05
"""After the pluck; the bend stands from half a second on."""


def told(sound: np.ndarray) -> list[tuple[str, str]]:
    chain = Chain(RATE, Aim(parse_key("A minor pentatonic")))
    heard = [thing for at in range(0, len(sound), 1536) for thing in chain.push(sound[at : at + 1536])]
    return [(one.kind, one.verdict) for one in heard + chain.finish() if isinstance(one, Verdict)]


def laid(held: np.ndarray, other: np.ndarray, db: float, seed: int) -> np.ndarray:
    """Another sound over a held one from `BRUSHED_S` on, its peak `db` beside what sounds there; hiss of -80 dBFS."""
    at = round((0.3 + BRUSHED_S) * RATE)
    sound = np.concatenate([np.zeros(round(0.3 * RATE)), held, np.zeros(RATE // 2)])
    there = np.abs(sound[at - 2000 : at]).max()
    sound[at : at + len(other)] += other * (10 ** (db / 20) * there / np.abs(other).max())
    return (sound + np.random.default_rng(seed).normal(0, 1e-4, len(sound))).astype(np.float32)


@cache
def sampled(program: int, midi: int, legs: tuple[tuple[float, float], ...]) -> np.ndarray:
    if font() is None:
        pytest.skip("no General MIDI sound font here: install timgm6mb-soundfont")
    take, onsets = render([Sounded(midi, legs)], program=program, gap_s=0.1)
    return take[round(onsets[0] * RATE) :]


HELD = ((0.3, 0.0), (0.2, 200.0), (1.1, 200.0))


@pytest.mark.parametrize(("midi", "fifth_or_so", "db"), grid([55, 60, 67], [-5, 4, 8], [-14.0, -8.0], each=3))
def test_a_neighbour_that_is_brushed_beside_a_held_bend_is_no_pre_bend(midi: int, fifth_or_so: int, db: float) -> None:
    """It was praised: "pre-bend: true", of a string that nobody had plucked.

    A fifth above as loud as the bend makes harmonics of an octave below with it, and a new note of that is heard.
    """
    scratch = np.random.default_rng(midi).normal(0, 0.05, round(0.004 * RATE))
    brushed = pluck(midi + fifth_or_so, (0.08, 0.0))
    brushed[: len(scratch)] += scratch
    assert told(laid(pluck(midi, *HELD), brushed, db, midi)) == [("bend", "true")]


@pytest.mark.parametrize(
    ("program", "midi", "fifth_or_so"),
    [(CLEAN_GUITAR, 60, 4), (CLEAN_GUITAR, 67, -4), (STEEL_GUITAR, 60, 4), (STEEL_GUITAR, 67, 4)],
)
def test_nor_is_a_sampled_one(program: int, midi: int, fifth_or_so: int) -> None:
    brushed = sampled(program, midi + fifth_or_so, ((0.06, 0.0),))[: round(0.12 * RATE)].copy()
    brushed[-600:] *= np.linspace(1, 0, 600)
    assert told(laid(sampled(program, midi, HELD), brushed, -2.0, midi)) == [("bend", "true")]


@pytest.mark.parametrize(
    ("program", "midi", "touched_s"),
    grid([CLEAN_GUITAR, STEEL_GUITAR], [60, 62, 67], [0.006, 0.02], each=3, hardest=[(STEEL_GUITAR, 62, 0.02)]),
)
def test_a_held_bend_that_is_plucked_again_is_one(program: int, midi: int, touched_s: float) -> None:
    first = sampled(program, midi, HELD)[: round(BRUSHED_S * RATE)].copy()
    touched = round(touched_s * RATE)
    first[-touched:] *= np.linspace(1, 0.1, touched)
    again = sampled(program, midi, ((0.002, 200.0), (0.7, 200.0)))
    sound = np.concatenate([np.zeros(round(0.3 * RATE)), first, again, np.zeros(RATE // 2)]).astype(np.float32)
    assert told(sound) == [("bend", "true"), ("prebend", "true")]


@pytest.mark.parametrize(("then", "count"), [(50, 1), (38, 2), (41, 2), (45, 2), (57, 2)])
def test_only_of_the_same_pitch_it_is_asked(then: int, count: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """In recorded playing a D rang on above the F that was plucked, and harmonics of one string beside each other."""
    monkeypatch.setattr(listener, "rings_on", lambda *_: True)
    sound = np.concatenate([np.zeros(RATE // 3), pluck(50, (0.6, 0.0)), pluck(then, (0.6, 0.0)), np.zeros(RATE // 3)])
    chain, onsets = Chain(RATE, Aim(parse_key("A minor pentatonic"))), 0
    for at in range(0, len(sound), 1536):
        onsets += sum(isinstance(thing, Onset) for thing in chain.push(sound[at : at + 1536].astype(np.float32)))
    assert onsets == count
