"""What one stream's filters and chain do where it is torn, and what stays when the chain is made anew."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pedal.chain import Chain
from pedal.live.ear import Ear
from pedal.modes.drone import DroneOrder
from pedal.theory.cents import hz_of
from pedal.theory.pulse import Grid, Pulse
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict
from tests.grids import grid
from tests.test_chain import RATE, pluck

OFF_CENTS = 12.0
"""The whole guitar is tuned so much above the grid."""


def verdicts(ear: Ear, sound: np.ndarray) -> list[Verdict]:
    heard = [one for at in range(0, len(sound), 384) for one in ear.judge(ear.clean(sound[at : at + 384]))]
    return [one for one in heard if isinstance(one, Verdict)]


def offset_of(ear: Ear) -> float:
    return ear._chain._guitar.against(440.0).cents


def test_what_was_learned_of_the_guitar_outlives_a_fault_of_the_chain(monkeypatch: pytest.MonkeyPatch) -> None:
    ear = Ear(RATE, Aim(parse_key("A minor pentatonic")), drone=False)
    level = [pluck(midi + OFF_CENTS / 100, (0.7, 0.0)) for midi in (57, 60, 62, 64, 67, 69)]
    quiet = np.zeros(round(0.6 * RATE))
    sound = np.concatenate([quiet, *(piece for one in level for piece in (one, quiet))])
    sound = (sound + np.random.default_rng(1).normal(0, 1e-5, len(sound))).astype(np.float32)
    assert len(verdicts(ear, sound)) == 6
    learned = offset_of(ear)
    assert learned == pytest.approx(OFF_CENTS * 6 / 7, abs=1.0), "drawn towards 0 while notes are few"

    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    with monkeypatch.context() as broken:
        broken.setattr(Chain, "_hear", fails)
        with pytest.raises(ZeroDivisionError):
            ear.judge(ear.clean(sound[:384]))
    assert offset_of(ear) == learned
    assert len(verdicts(ear, sound)) == 6


@pytest.mark.parametrize("followed", [False, True], ids=["before the grid is told", "while it is followed"])
def test_an_input_that_is_opened_anew_under_the_chords_is_heard_on(followed: bool) -> None:
    """The gap comes by itself then, with no sample after it: on a busy machine the hearing failed over it."""
    pulse = Pulse(80, ((hz_of(55), hz_of(59)),), 0.5, hz_of(103))
    ear = Ear(RATE, Aim(parse_key("A minor pentatonic")), drone=True)
    ear.expect(DroneOrder((), -20.0, pulse))
    hiss = np.random.default_rng(3).normal(0, 1e-4, RATE).astype(np.float32)
    ear.judge(ear.clean(hiss))
    if followed:
        ear.lies(Grid(0.5, pulse.beat_s))
        ear.judge(ear.clean(hiss))
    nothing = ear.clean(hiss[:0], lost_samples=RATE // 2)
    assert len(nothing) == 0 and ear.judge(nothing) == []
    assert len(ear.clean(hiss)) == RATE
    assert ear.heard == (3 if followed else 2) * RATE + RATE // 2


@cache
def bends_over_clicks(bad: float | None) -> list[Verdict]:
    """The take that follows, with one such sample 10 ms after a click, before any string sounds."""
    pulse = Pulse(80, ((hz_of(57), hz_of(64)),), 0.5, hz_of(103))
    ear = Ear(RATE, Aim(parse_key("A minor pentatonic")), drone=True)
    ear.expect(DroneOrder((), -20.0, pulse))
    quiet = np.zeros(round(0.6 * RATE))
    bend = pluck(62, (0.35, 0), (0.16, 200), (0.5, 200))
    sound = np.concatenate([np.zeros(round(5.4 * RATE)), *[bend, quiet] * 3])
    sound = (sound + np.random.default_rng(3).normal(0, 1e-4, len(sound))).astype(np.float32)
    if bad is not None:
        sound[round((0.25 + 6 * pulse.beat_s + 0.01) * RATE)] = bad
    begins = RATE // 2 // 384 * 384
    first = verdicts(ear, sound[:begins])
    ear.lies(Grid(0.25, pulse.beat_s))
    return first + verdicts(ear, sound[begins:])


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_a_sample_that_is_no_number_beside_a_click_spoils_nothing_that_is_learned(bad: float) -> None:
    """Each later window of a click was no number either, and so silence: six bends made twenty verdicts."""
    clean = bends_over_clicks(None)
    assert [(one.kind, one.verdict) for one in clean] == [("bend", "true")] * 3
    heard = bends_over_clicks(bad)
    assert [(one.kind, one.verdict, one.onset_s) for one in heard] == [
        (one.kind, one.verdict, one.onset_s) for one in clean
    ]
    assert [one.error_cents for one in heard] == pytest.approx([one.error_cents for one in clean], abs=0.1)


TOLD, TOLD_LOW = [("bend", "true")], [("steady", "unclear")]


@cache
def beside_a_drone(
    peak_db: float, begins_s: float, told: tuple[tuple[float, int | None], ...], *, low: bool = False
) -> list[tuple[str, str]]:
    """What is told of one pluck, while a drone is (time, note) that does not come back; in hiss of -80 dB."""
    struck = pluck(40, (1.2, 0)) if low else pluck(62, (0.35, 0), (0.16, 200), (0.5, 200))
    sound = 10 ** (peak_db / 20) / np.abs(struck).max() * struck
    sound = np.concatenate([np.zeros(round(begins_s * RATE)), sound, np.zeros(RATE)])
    sound = (sound + np.random.default_rng(2).normal(0, 1e-4, len(sound))).astype(np.float32)
    ear, orders, every = Ear(RATE, Aim(parse_key("A minor pentatonic")), drone=True), list(told), []
    for at in range(0, len(sound), 1536):
        while orders and at >= orders[0][0] * RATE:
            _, note = orders.pop(0)
            ear.expect(DroneOrder(() if note is None else (hz_of(note),), -30.0))
        every += ear.judge(ear.clean(sound[at : at + 1536]))
    return [(one.kind, one.verdict) for one in every + ear.finish() if isinstance(one, Verdict)]


BEGINS, CHANGES, ENDS = ((0.0, 57),), ((0.0, 57), (4.0, 60)), ((0.0, 57), (4.0, None))
UNISON = ((0.0, 57), (4.0, 62))


PEAKS_DB = [-14.0, -18.0, -20.0, -22.0, -24.0, -26.0, -30.0]
PLUCKS = [(BEGINS, 0.3), (BEGINS, 1.0), (BEGINS, 1.6), (BEGINS, 1.8), (CHANGES, 0.3), (CHANGES, 0.8), (CHANGES, 1.1)]
PLUCKS += [(CHANGES, 1.4), (CHANGES, 1.8), (ENDS, 0.3), (ENDS, 0.7), (UNISON, 1.6), (UNISON, 2.7)]


@pytest.mark.parametrize(("plucked", "peak_db"), grid(PLUCKS, PEAKS_DB, each=5))
def test_a_pluck_beside_a_drone_that_is_not_known_yet_is_told_once(
    plucked: tuple[tuple[tuple[float, int | None], ...], float], peak_db: float
) -> None:
    """Where it grew softer than the gate it fell by 34 dB, and where the gate's time was over it was plucked again."""
    told, after_s = plucked
    assert beside_a_drone(peak_db, told[-1][0] + after_s, told) == TOLD


ORDERS = [((0.5, 57),), ((0.0, 57), (5.0, 60)), ((0.0, 57), (5.0, None))]


@pytest.mark.parametrize(
    ("low", "told", "before_s", "peak_db"), grid([False, True], ORDERS, [0.15, 0.4], [-18.0, -22.0, -28.0], each=4)
)
def test_a_note_that_sounds_while_the_drone_begins_changes_or_ends_is_told_once(
    low: bool, told: tuple[tuple[float, int | None], ...], before_s: float, peak_db: float
) -> None:
    assert beside_a_drone(peak_db, told[-1][0] - before_s, told, low=low) == (TOLD_LOW if low else TOLD)


TORN = st.lists(st.tuples(st.sampled_from([0, 1, 127, 384, 5000]), st.sampled_from([0, 0, 0, 1, 700])), max_size=12)


@settings(max_examples=25)
@given(before=TORN, followed=TORN, silent=TORN)
def test_however_the_sound_is_cut_and_torn_each_sample_is_heard_or_counted(before, followed, silent) -> None:
    """Chords begin, are followed, then a drone comes; blocks of any length, none too, and gaps before them."""
    ear, came, rng = Ear(RATE, Aim(parse_key("A minor pentatonic")), drone=True), 0, np.random.default_rng(4)

    def hear(blocks: list[tuple[int, int]]) -> None:
        nonlocal came
        for length, lost in blocks:
            samples = rng.normal(0, 0.01, length).astype(np.float32)
            cleaned = ear.clean(samples, lost_samples=lost)
            assert len(cleaned) == length and np.isfinite(cleaned).all()
            ear.judge(cleaned)
            came += length + lost

    pulse = Pulse(160, ((hz_of(55), hz_of(59)), (hz_of(60), hz_of(64))), 0.5, hz_of(103))
    ear.expect(DroneOrder((), -20.0, pulse))
    hear(before)
    ear.lies(Grid(0.05, pulse.beat_s))
    hear(followed)
    ear.expect(DroneOrder((hz_of(57),), -20.0))
    ear.lies(None)
    hear(silent)
    assert ear.heard == came
