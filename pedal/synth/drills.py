"""A performance for each mode, as a player would go through it: some notes right, some missed, one skipped."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from pedal.licks.lick import Lick, LickNote, transposed
from pedal.licks.offers import offers, sung_form
from pedal.synth.gestures import Hand
from pedal.synth.lick_sound import strokes_of
from pedal.synth.scene import Footstep, Scene
from pedal.synth.score import Expected, Guitar, Leg, Shake, Stroke
from pedal.synth.twelve_bars import twelve_bars
from pedal.theory.neck import PLAIN_NECK, Bend, Neck, bends, curls, position
from pedal.theory.scale import Key, parse_key

KEY = parse_key("G minor pentatonic")
TUNE_OFFSETS_CENTS = (-3.2, 4.1, 0.4, -12.3, 7.9, -0.6)
"""How far strings 1 to 6 of the tuning scene are out."""
LADDER_ERRORS_CENTS = (-4.0, 3.0, -18.0, -41.0, 6.0, None, 2.0, -7.0, -36.0, 5.0, None, 31.0)
"""One try a rung, cents off; None is a rung skipped with the foot."""
BLIND_ERRORS_CENTS = (-28.0, -14.5, -8.0, 2.5)
CURL_HEIGHTS_CENTS = (34.0, 46.0, -38.0, 28.0, 52.0, 90.0, 40.0, 22.0, -30.0, 44.0)
"""Negative: released before it was cut off."""
ECHO_ERRORS_CENTS = (0.0, -17.0, 6.0)
LICK_NOTES = (
    (55, 0.5, 0.0),
    (58, 0.75, 0.5),
    (60, 0.5, 0.0),
    (62, 1.0, 0.0),
    (60, 0.5, 0.0),
    (55, 0.5, 0.0),
    (58, 1.0, 0.0),
)
"""MIDI number, beats, and beats of silence after it."""
LICK_TEMPO = 84.0
_GAP_S = 0.55
_START_S = 0.6


def tune_scene(neck: Neck = PLAIN_NECK) -> Scene:
    """Every open string, from the lowest up, left to sound until it has settled."""
    strokes = []
    for index, string in enumerate(range(neck.tuning.strings, 0, -1)):
        midi = neck.midi(string, neck.capo)
        legs = (Leg(2.6, 0),)
        expected = Expected("steady", ending="rang_out")
        strokes.append(
            Stroke(_START_S + 3.2 * index, string, neck.capo, midi, legs, expected, hard_cents=5.0, choke=False)
        )
    offsets = (TUNE_OFFSETS_CENTS * 2)[: neck.tuning.strings]
    return _scene("tune", KEY, strokes, guitar=Guitar(offsets_cents=offsets))


def curl_scene(key: Key = KEY, number: int = 1, neck: Neck = PLAIN_NECK) -> Scene:
    """The curls of a position in turn, ten of them: most cut off sharp, two released, one far too high."""
    hand, spots = Hand(key, neck), curls(key, position(key, number, neck))
    strokes, at_s = [], _START_S
    for index, cents in enumerate(CURL_HEIGHTS_CENTS):
        spot = spots[index % len(spots)]
        gesture = hand.curl if cents > 0 else hand.curl_released
        strokes.append(gesture(at_s, spot.string, spot.fret, abs(cents)))
        at_s = strokes[-1].end_s + _GAP_S
    return _scene("curl", key, strokes, number=number)


def ladder_scene(key: Key = KEY, number: int = 1, neck: Neck = PLAIN_NECK) -> Scene:
    """Every rung of a position once, in order: most true, some missed, two skipped with the foot; then the sum."""
    hand = Hand(key, neck)
    strokes, footsteps, at_s = [], [], _START_S
    for index, rung in enumerate(bends(key, position(key, number, neck))):
        error = LADDER_ERRORS_CENTS[index % len(LADDER_ERRORS_CENTS)]
        if error is None:
            footsteps.append(Footstep(at_s, "skip"))
            at_s += _GAP_S
            continue
        strokes.append(hand.bend(at_s, rung.string, rung.fret, error))
        at_s = strokes[-1].end_s + _GAP_S
    return _scene("ladder", key, strokes, number=number, footsteps=footsteps, rest_s=5.5)


def blind_scene(key: Key = KEY, number: int = 1, neck: Neck = PLAIN_NECK) -> Scene:
    """Pre-bends of two targets, four tries each, that come closer with every try; the drone sounds."""
    hand = Hand(key, neck, true_cents=5.0, near_cents=12.5)
    rungs = bends(key, position(key, number, neck))
    strokes: list[Stroke] = []
    footsteps: list[Footstep] = []  # Blind brings its own drone
    at_s, here = _START_S, 0
    for wanted in _two_light_ones(rungs):
        for _ in range(wanted - here):
            footsteps.append(Footstep(at_s, "next_target"))
            at_s += 0.05
        here, at_s = wanted, at_s + 0.8
        for error in BLIND_ERRORS_CENTS:
            strokes.append(hand.prebend(at_s, rungs[wanted].string, rungs[wanted].fret, error))
            at_s = strokes[-1].end_s + 0.9
    return _scene("blind", key, strokes, number=number, footsteps=footsteps)


def echo_scene(key: Key = KEY, neck: Neck = PLAIN_NECK) -> Scene:
    """A model bend with vibrato while the switch is held, then three after it: alike, flat and stiff, released."""
    hand = Hand(key, neck)
    rung = next(b for b in bends(key, position(key, 1, neck)) if b.semitones == 2 and b.string <= 3)
    shake = Shake(0.3, 5.2, 20.0)
    model = hand.bend(1.0, rung.string, rung.fret, hold_s=1.6, shake=shake)
    pupil_at_s = model.end_s + 1.4
    alike = hand.bend(pupil_at_s, rung.string, rung.fret, ECHO_ERRORS_CENTS[0], hold_s=1.5, shake=shake)
    stiff = hand.bend(alike.end_s + 1.0, rung.string, rung.fret, ECHO_ERRORS_CENTS[1], rise_s=0.14)
    released = hand.bend_and_release(stiff.end_s + 1.0, rung.string, rung.fret, ECHO_ERRORS_CENTS[2])
    footsteps = (Footstep(0.3, "model_begin"), Footstep(model.end_s + 0.6, "model_end"))
    return _scene("echo", key, (model, alike, stiff, released), footsteps=footsteps)


def lick_of_the_scene(key: Key = KEY) -> Lick:
    """Seven notes low on the neck; its curls and its bend are what the rule offers."""
    low = tuple(LickNote(midi, beats, rest) for midi, beats, rest in LICK_NOTES)
    return transposed(Lick(low, KEY, LICK_TEMPO, name="old gate"), key)


def lick_scene(key: Key = KEY, neck: Neck = PLAIN_NECK) -> Scene:
    """A plain model while the switch is held, a plain pass, then asked to sing: one that does, one with two faults."""
    lick = lick_of_the_scene(key)
    sung = sung_form(lick, offers(lick, neck=neck))
    model = strokes_of(lick, neck, at_s=1.0)
    footsteps = [Footstep(0.4, "model_begin"), Footstep(model[-1].end_s + 0.3, "model_end")]
    plain = strokes_of(lick, neck, at_s=model[-1].end_s + 2.2, tempo=0.95)
    to_sing_s = plain[-1].end_s + 1.9
    footsteps += [Footstep(to_sing_s, "next_target"), Footstep(to_sing_s + 0.2, "next_target")]
    good = strokes_of(sung, neck, at_s=to_sing_s + 1.2, tempo=0.9)
    bent = next(n for n, note in enumerate(sung.notes) if note.inflection == "bend")
    last = max(n for n, note in enumerate(sung.notes) if note.inflection == "curl")
    faults = {bent: "flat", last: "released"}
    bad = strokes_of(sung, neck, at_s=good[-1].end_s + 2.2, faults=faults)
    return _scene("lick", key, (*model, *plain, *good, *bad), footsteps=footsteps, rest_s=2.4)


def recall_scene() -> Scene:
    """The twelve bars, then the foot asks to look back over them."""
    piece = twelve_bars()
    return replace(piece, footsteps=(Footstep(piece.length_s, "recall"),), length_s=piece.length_s + 3.0)


def round_scene(key: Key = KEY) -> Scene:
    """The foot begins a Round; what is played in it depends on what is asked, and has no score."""
    return Scene("round", key, (), 1.0, footsteps=(Footstep(0.5, "next_target"),))


SCENES: dict[str, Callable[[], Scene]] = {
    "tune": tune_scene,
    "watch": twelve_bars,
    "curl": curl_scene,
    "ladder": ladder_scene,
    "blind": blind_scene,
    "echo": echo_scene,
    "lick": lick_scene,
    "round": round_scene,
    "recall": recall_scene,
}
"""A performance for each mode, in the order of the modes."""


def _two_light_ones(rungs: tuple[Bend, ...]) -> tuple[int, ...]:
    """Indices of the first two whole-step bends on the upper three strings, or of the first two bends at all."""
    light = [index for index, rung in enumerate(rungs) if rung.semitones == 2 and rung.string <= 3]
    return tuple(light[:2] if len(light) > 1 else range(2))


def _scene(
    mode: str,
    key: Key,
    strokes: Iterable[Stroke],
    *,
    number: int = 1,
    footsteps: Iterable[Footstep] = (),
    guitar: Guitar | None = None,
    rest_s: float = 1.0,
) -> Scene:
    """A scene that ends `rest_s` after the last stroke or footstep."""
    strokes, footsteps = tuple(strokes), tuple(footsteps)
    over_s = max([stroke.end_s for stroke in strokes] + [step.at_s for step in footsteps])
    piece = Scene(mode, key, strokes, over_s + rest_s, position=number, footsteps=footsteps)
    return replace(piece, guitar=guitar) if guitar else piece
