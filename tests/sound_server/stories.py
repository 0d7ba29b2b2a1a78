"""What is played in the takes of the main job, and what a fair judge says of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pedal.theory.spelling import parse_pitch
from tests.sound_server.sampled_guitar import CLEAN_GUITAR, JAZZ_GUITAR, STEEL_GUITAR, Sounded


@dataclass(frozen=True)
class Truth:
    """One note. None: not part of the story. Cents are those of the wheel, so above the rest note as it sounds."""

    kind: str
    sounded: Sounded
    rest_note: str | None = None
    target_note: str | None = None
    verdict: str | None = None
    ending: str | None = None
    bend_cents: float | None = None
    error_cents: float | None = None


@dataclass(frozen=True)
class Story:
    """One take: key, how it is judged, the voice, and its notes."""

    name: str
    key: str
    mode: str
    program: int
    notes: Sequence[Truth]


def bend(rest: str, target: str, error: float, word: str, *, choked: bool = True, rise_s: float = 0.25) -> Truth:
    height = 100.0 * (parse_pitch(target) - parse_pitch(rest)) + error
    legs = ((0.35, 0.0), (rise_s, height), (0.6, height))
    sounded = Sounded(parse_pitch(rest), legs, choked=choked)
    return Truth("bend", sounded, rest, target, word, "cut_sharp" if choked else "rang_out", height, error)


def bend_release(rest: str, target: str, error: float, word: str) -> Truth:
    height = 100.0 * (parse_pitch(target) - parse_pitch(rest)) + error
    legs = ((0.35, 0.0), (0.25, height), (0.55, height), (0.2, 0.0), (0.4, 0.0))
    sounded = Sounded(parse_pitch(rest), legs, choked=False)
    return Truth("bend_release", sounded, rest, target, word, "released", height, error)


def curl(rest: str, height: float, word: str = "true") -> Truth:
    sounded = Sounded(parse_pitch(rest), ((0.35, 0.0), (0.22, height), (0.3, height)))
    return Truth("curl", sounded, rest, None, word, "cut_sharp", height)


def curl_released(rest: str, height: float) -> Truth:
    legs = ((0.35, 0.0), (0.22, height), (0.25, height), (0.15, 0.0), (0.3, 0.0))
    return Truth("curl", Sounded(parse_pitch(rest), legs), rest, None, "released", "released", height)


def prebend(rest: str, target: str, error: float, word: str) -> Truth:
    height = 100.0 * (parse_pitch(target) - parse_pitch(rest)) + error
    sounded = Sounded(parse_pitch(rest), ((0.8, height),), start_cents=height)
    # The rest note never sounds, so that nobody can tell by ear whether it was cut off sharp.
    return Truth("prebend", sounded, None, target, word, None, None, error)


def prebend_release(rest: str, target: str, error: float, word: str) -> Truth:
    height = 100.0 * (parse_pitch(target) - parse_pitch(rest)) + error
    legs = ((0.6, height), (0.2, 0.0), (0.45, 0.0))
    sounded = Sounded(parse_pitch(rest), legs, start_cents=height, choked=False)
    return Truth("prebend_release", sounded, rest, target, word, "released", height, error)


def steady(rest: str) -> Truth:
    return Truth("steady", Sounded(parse_pitch(rest), ((0.7, 0.0),)), rest, None, None, "cut")


def slide(rest: str, frets: int) -> Truth:
    legs = ((0.4, 0.0), *((0.035, 100.0 * fret) for fret in range(1, frets)), (0.6, 100.0 * frets))
    return Truth("slide", Sounded(parse_pitch(rest), legs, choked=False, stairs=True), None, None, "unclear")


def shaken(truth: Truth, *, rate_hz: float, width_cents: float) -> Truth:
    (rest, _), (rise, height), _ = truth.sounded.legs
    legs = ((rest, 0.0), (rise, height), (1.3, height))
    return replace(truth, sounded=replace(truth.sounded, legs=legs, shake=(rest + rise + 0.15, rate_hz, width_cents)))


WATCH = Story(
    "watch", "G minor pentatonic", "watch", CLEAN_GUITAR,
    (
        curl("Bb3", 36.0),
        bend("C4", "D4", 0.0, "true"),
        curl_released("Bb3", 40.0),
        bend("D4", "F4", -42.0, "flat"),
        prebend_release("F4", "G4", 4.0, "true"),
        bend_release("F4", "G4", 35.0, "sharp"),
        steady("G3"),
        bend("G3", "Bb3", -18.0, "near", choked=False),
        slide("C4", 2),
        shaken(bend("F4", "G4", 0.0, "true"), rate_hz=5.5, width_cents=20.0),
        prebend_release("Bb3", "C4", -45.0, "flat"),
        curl("F3", 28.0),
    ),
)  # fmt: skip
HALF_STEPS = Story(
    "half steps", "E blues", "watch", STEEL_GUITAR,
    (
        bend("A3", "Bb3", 3.0, "true"),
        bend("Bb3", "B3", -32.0, "flat"),
        bend_release("A2", "Bb2", -4.0, "true"),
        bend("D4", "E4", 30.0, "sharp", rise_s=0.12),
        curl("D4", 45.0),
        curl_released("G3", 30.0),
        bend("B3", "D4", -5.0, "true", rise_s=0.4),
    ),
)  # fmt: skip
BLIND = Story(
    "blind", "A minor pentatonic", "blind", JAZZ_GUITAR,
    (
        prebend("A2", "C3", 0.0, "true"),
        prebend_release("A2", "C3", -30.0, "flat"),
        prebend("A2", "C3", 38.0, "sharp"),
        prebend_release("A2", "C3", -2.0, "true"),
    ),
)  # fmt: skip
"""The first rung of position 1 in A: the drill asks for it until the player moves on. The drone sounds meanwhile."""
STORIES = (WATCH, HALF_STEPS, BLIND)
