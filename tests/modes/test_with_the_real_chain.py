"""Every mode on sound: the built-in performance of each goes through the chain, and the board is watched as it goes."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from pedal.chain import Chain
from pedal.modes.input_events import Command, LivePitch
from pedal.modes.log_entry import LogEntry
from pedal.modes.pedal import Pedal, PedalState
from pedal.modes.screen_model import LadderSummaryScreen, ScreenModel
from pedal.synth.drills import (
    BLIND_ERRORS_CENTS,
    CURL_HEIGHTS_CENTS,
    LADDER_ERRORS_CENTS,
    TUNE_OFFSETS_CENTS,
    blind_scene,
    curl_scene,
    echo_scene,
    ladder_scene,
    tune_scene,
)
from pedal.synth.scene import Scene
from pedal.synth.twelve_bars import twelve_bars

RATE = 48_000
BLOCK = 128


@cache
def perform(scene: Scene) -> tuple[Pedal, list[LogEntry], list[tuple[float, ScreenModel]]]:
    """The board after the scene, what was logged, and the screen thirty times a second."""
    pedal = Pedal(PedalState(key=scene.key, mode=scene.mode, position=scene.position))  # type: ignore[arg-type]
    chain, entries, screens = Chain(RATE, pedal.aim), [], []
    steps = list(scene.footsteps)
    samples = scene.samples(sample_rate=RATE, rng=np.random.default_rng(12))
    for start in range(0, len(samples), BLOCK):
        now_s = start / RATE
        while steps and steps[0].at_s <= now_s:
            entries += pedal.step(Command(now_s, steps.pop(0).action)).entries  # type: ignore[arg-type]
        chain.aim = pedal.aim
        for heard in chain.push(samples[start : start + BLOCK]):
            entries += pedal.step(heard).entries
        pedal.step(LivePitch(now_s, chain.now_hz, -20.0))
        if start % (BLOCK * 12) == 0:
            screens.append((now_s, pedal.screen()))
    for heard in chain.finish():
        entries += pedal.step(heard).entries
    return pedal, entries, screens


def test_tune_reads_every_string_to_half_a_cent():
    pedal, entries, screens = perform(tune_scene())
    assert entries == []
    cents = [error for _, error in reversed(pedal.screen().strings)]
    assert cents == pytest.approx(list(TUNE_OFFSETS_CENTS), abs=0.5)
    assert any(screen.cents is None for _, screen in screens)


def test_watch_bows_the_string_and_leaves_a_verdict():
    scene = twelve_bars()
    pedal, entries, screens = perform(scene)
    bends = [s for s in scene.strokes if s.expected.kind not in ("steady", "prebend")]
    assert len(entries) == pytest.approx(len(bends), abs=2)
    held = [stroke for stroke in bends if stroke.expected.kind == "bend" and stroke.shake is None]
    assert len(held) >= 4
    for stroke in held:
        seen = [screen for t, screen in screens if stroke.end_s - 0.35 < t < stroke.end_s - 0.15]
        assert seen
        for screen in seen:
            assert screen.string.now_cents == pytest.approx(stroke.expected.bend_cents, abs=8.0)
            assert screen.string.peak_cents == pytest.approx(stroke.expected.bend_cents, abs=12.0)
            assert screen.string.target_cents is not None
    assert pedal.screen().verdict is not None


def test_between_notes_the_string_is_not_drawn_from_the_note_before():
    """A pitch heard before its onset is certain once stood on the last note's foot, 697 cents up, for a frame."""
    scene = twelve_bars()
    _, _, screens = perform(scene)
    silent = [s for t, s in screens if not any(k.at_s - 0.03 < t < k.end_s + 0.1 for k in scene.strokes)]
    assert silent
    assert all(screen.string.now_cents is None for screen in silent)


def test_a_pre_bend_that_is_released_is_seen_to_come_down_to_its_own_rest():
    scene = twelve_bars()
    _, _, screens = perform(scene)
    for stroke in (k for k in scene.strokes if k.expected.kind == "prebend_release"):
        (_, last) = max((t, s) for t, s in screens if t < stroke.end_s - 0.15)
        assert last.string.now_cents == pytest.approx(0.0, abs=8.0)
        assert last.string.target_cents == 200.0


def test_curl_loses_its_streak_to_a_curl_that_was_released():
    pedal, entries, _ = perform(curl_scene())
    words = [entry.verdict.verdict for entry in entries if entry.verdict.kind == "curl"]
    wanted = ["released" if h < 0 else "sharp" if h > 75 else "true" for h in CURL_HEIGHTS_CENTS]
    assert words == wanted
    assert pedal.screen().streak == 1
    assert pedal.screen().best_streak == 2


def test_ladder_climbs_twelve_rungs_and_sums_them_up():
    pedal, entries, screens = perform(ladder_scene())
    screen = pedal.screen()
    wanted = {None: "skipped"}
    marks = tuple(
        wanted.get(e) or ("true" if abs(e) <= 10 else "near" if abs(e) <= 25 else "missed") for e in LADDER_ERRORS_CENTS
    )
    assert screen.rungs == marks
    assert [entry.skipped for entry in entries] == [e is None for e in LADDER_ERRORS_CENTS]
    assert (screen.true_count, screen.tried_count) == (6, 10)
    assert screen.bias_cents == pytest.approx(np.median([e for e in LADDER_ERRORS_CENTS if e is not None]), abs=2.0)
    assert 0 < sum(isinstance(s, LadderSummaryScreen) for _, s in screens) < 60, "only after the last rung"


def test_blind_shows_nothing_before_the_pluck_and_then_the_first_pitch():
    scene = blind_scene()
    pedal, entries, screens = perform(scene)
    assert pedal.aim.drone
    errors = [entry.verdict.error_cents for entry in entries]
    assert errors == pytest.approx(list(BLIND_ERRORS_CENTS) * 2, abs=2.0)
    assert pedal.screen().tries == 4
    assert pedal.screen().bias_cents == pytest.approx(np.median(BLIND_ERRORS_CENTS), abs=2.0)
    for stroke in scene.strokes:
        before = [s for t, s in screens if stroke.at_s + 0.1 < t < stroke.at_s + 0.5]
        assert before and all(s.waiting and s.verdict is None for s in before)


def test_echo_takes_the_model_and_grades_three_echoes():
    pedal, entries, screens = perform(echo_scene())
    likenesses = []
    for _, screen in screens:
        if screen.likeness is not None and (not likenesses or likenesses[-1] != screen.likeness):
            likenesses.append(screen.likeness)
    likenesses.append(pedal.screen().likeness)
    alike, *poor = dict.fromkeys(likenesses)  # the stiff one and the one released may be equally unlike
    assert len(entries) == 3
    assert alike > 85
    assert poor
    assert all(likeness < alike - 20 for likeness in poor)
    assert {screen.stage for _, screen in screens} == {"empty", "recording", "ready"}
