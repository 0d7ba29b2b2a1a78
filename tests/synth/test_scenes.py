"""The scenes: complete, quick, the same every time, and judged by the chain as they were meant."""

from __future__ import annotations

import time
from collections import Counter
from functools import cache
from typing import get_args

import numpy as np
import pytest

from pedal.chain import Chain
from pedal.modes.input_events import Action
from pedal.synth.drills import SCENES
from pedal.synth.scene import Scene
from pedal.synth.score import Stroke
from pedal.synth.twelve_bars import beat, twelve_bars
from pedal.theory.neck import PLAIN_NECK, bends, position
from pedal.verdicts.aim import Aim, Target
from pedal.verdicts.verdict import Verdict

RATE, SEED = 48_000, 12
JUDGED_AS = {"watch": "watch", "curl": "curl", "echo": "watch", "ladder": "watch"}
scenes = pytest.mark.parametrize("scene", [make() for make in SCENES.values()], ids=list(SCENES))


@cache
def sound(scene: Scene) -> np.ndarray:
    samples = scene.samples(sample_rate=RATE, rng=np.random.default_rng(SEED))
    samples.flags.writeable = False
    return samples


def judged(samples: np.ndarray, aim: Aim) -> list[Verdict]:
    chain = Chain(RATE, aim)
    return [heard for heard in [*chain.push(samples), *chain.finish()] if isinstance(heard, Verdict)]


def at(stroke: Stroke) -> str:
    return f"string {stroke.string} fret {stroke.fret} at {stroke.at_s:.2f} s"


def test_there_is_one_for_each_mode() -> None:
    assert list(SCENES) == ["tune", "watch", "curl", "ladder", "blind", "echo", "lick", "round", "recall"]


@scenes
def test_every_note_is_on_the_neck_and_in_time(scene: Scene) -> None:
    ends = 0.0
    for stroke in scene.strokes:
        assert PLAIN_NECK.midi(stroke.string, stroke.fret) == stroke.midi
        assert stroke.at_s >= ends + (0.0 if scene.mode == "lick" else 0.1), at(stroke)  # a phrase runs on
        ends = stroke.end_s
    assert ends < scene.length_s


@scenes
def test_feet_ask_for_actions_there_are(scene: Scene) -> None:
    assert {step.action for step in scene.footsteps} <= set(get_args(Action))
    times = [step.at_s for step in scene.footsteps]
    assert times == sorted(times)


@scenes
def test_blocks_are_the_scene_cut_up(scene: Scene) -> None:
    blocks = list(scene.blocks(sample_rate=RATE, block_samples=480, rng=np.random.default_rng(SEED)))
    assert {block.shape for block in blocks} == {(480,)}
    assert {block.dtype for block in blocks} == {np.dtype(np.float32)}
    whole, cut = sound(scene), np.concatenate(blocks)
    assert np.array_equal(cut[: len(whole)], whole)
    assert not cut[len(whole) :].any()
    assert np.max(np.abs(whole)) < 0.9


def test_the_first_sound_is_there_before_the_rest_is_rendered() -> None:
    """The last stroke cannot be played; all that lies before it is heard all the same."""
    scene = twelve_bars()
    broken = Scene(scene.mode, scene.key, (*scene.strokes[:2], scene.strokes[0]), scene.length_s)
    blocks = broken.blocks(sample_rate=RATE, block_samples=480, rng=np.random.default_rng(SEED))
    assert len([next(blocks) for _ in range(150)]) == 150
    with pytest.raises(ValueError, match="begins before"):
        list(blocks)


def test_the_twelve_bars_last_forty_seconds_and_hold_every_gesture() -> None:
    scene = twelve_bars()
    assert 35 <= scene.length_s <= 45
    assert beat(13, 1) - beat(1, 1) == pytest.approx(40.0)
    kinds = Counter(stroke.expected.kind for stroke in scene.strokes)
    assert set(kinds) == {
        "steady", "curl", "bend", "bend_release", "prebend_release", "slide", "unclear"
    }  # fmt: skip
    curls = [stroke for stroke in scene.strokes if stroke.expected.kind == "curl"]
    assert {stroke.midi % 12 for stroke in curls} == {10, 5}, "B flat and F"
    assert {stroke.expected.ending for stroke in curls} == {"cut_sharp", "released"}
    heights = {stroke.expected.target_midi - stroke.midi for stroke in scene.strokes if stroke.expected.target_midi}
    assert heights == {2, 3}
    assert {stroke.expected.verdict for stroke in scene.strokes} >= {"true", "near", "flat", "sharp", "released"}
    assert any(stroke.shake for stroke in scene.strokes)


@pytest.mark.soak  # of a clock: on a busy machine it says nothing
def test_it_renders_twenty_times_faster_than_it_plays() -> None:
    scene = twelve_bars()
    begun = time.perf_counter()
    sound.__wrapped__(scene)
    assert scene.length_s / (time.perf_counter() - begun) > 20


@pytest.mark.parametrize("name", JUDGED_AS)
def test_the_chain_judges_as_the_scene_was_meant(name: str) -> None:
    scene = SCENES[name]()
    verdicts = judged(sound(scene), Aim(scene.key, judge_as=JUDGED_AS[name]))
    verdicts = [verdict for verdict in verdicts if verdict.begun_by == "pluck"]
    assert len(verdicts) == len(scene.strokes)
    for stroke, verdict in zip(scene.strokes, verdicts, strict=True):
        expected = stroke.expected
        assert verdict.onset_s == pytest.approx(stroke.at_s, abs=0.03), at(stroke)
        assert verdict.kind == expected.kind, at(stroke)
        assert expected.verdict in {None, verdict.verdict}, at(stroke)
        assert expected.ending in {None, verdict.ending}, at(stroke)
        if expected.bend_cents is not None:
            assert verdict.bend_cents == pytest.approx(expected.bend_cents, abs=2.5), at(stroke)
        if expected.error_cents is not None:
            assert verdict.error_cents == pytest.approx(expected.error_cents, abs=2.5), at(stroke)
        if stroke.shake:
            assert verdict.vibrato_hz == pytest.approx(stroke.shake.rate_hz, abs=0.3), at(stroke)
            assert verdict.vibrato_cents == pytest.approx(stroke.shake.width_cents, rel=0.2), at(stroke)


def test_the_ladder_goes_up_the_position_rung_by_rung() -> None:
    scene = SCENES["ladder"]()
    rungs = bends(scene.key, position(scene.key, scene.position))
    skips = [step.at_s for step in scene.footsteps if step.action == "skip"]
    turns = sorted([*skips, *(stroke.at_s for stroke in scene.strokes)])
    assert len(turns) == len(rungs) == 12
    for stroke in scene.strokes:
        rung = rungs[turns.index(stroke.at_s)]
        assert (stroke.string, stroke.fret, stroke.expected.target_midi) == (rung.string, rung.fret, rung.to_midi)
    assert {stroke.expected.verdict for stroke in scene.strokes} == {"true", "near", "flat", "sharp"}


def test_each_rung_is_judged_against_its_target() -> None:
    scene = SCENES["ladder"]()
    samples = sound(scene)
    for stroke in scene.strokes:
        part = samples[round((stroke.at_s - 0.3) * RATE) : round((stroke.end_s + 0.3) * RATE)]
        aim = Aim(scene.key, judge_as="ladder", target=Target(stroke.midi, stroke.expected.target_midi or 0))
        (verdict,) = judged(part, aim)
        assert verdict.verdict == stroke.expected.verdict, at(stroke)


def test_each_prebend_is_judged_against_the_drone() -> None:
    scene = SCENES["blind"]()
    samples = sound(scene)
    for stroke in scene.strokes:
        part = samples[round((stroke.at_s - 0.3) * RATE) : round((stroke.end_s + 0.3) * RATE)]
        target = Target(stroke.midi, stroke.expected.target_midi or 0)
        (verdict,) = judged(part, Aim(scene.key, judge_as="blind", drone=True, target=target))
        assert (verdict.kind, verdict.verdict) == ("prebend", stroke.expected.verdict), at(stroke)
        assert verdict.error_cents == pytest.approx(stroke.expected.error_cents, abs=2.5), at(stroke)


def test_tuning_hears_each_string_as_far_out_as_it_is() -> None:
    scene = SCENES["tune"]()
    verdicts = judged(sound(scene), Aim(scene.key))
    for stroke, verdict in zip(scene.strokes, verdicts, strict=True):
        out = scene.guitar.offsets_cents[stroke.string - 1]
        assert verdict.rest_cents == pytest.approx(out, abs=6.0), at(stroke)


def test_the_echo_is_played_while_the_switch_is_held() -> None:
    scene = SCENES["echo"]()
    begin, end = (step.at_s for step in scene.footsteps)
    assert begin < scene.strokes[0].at_s < scene.strokes[0].end_s < end < scene.strokes[1].at_s
