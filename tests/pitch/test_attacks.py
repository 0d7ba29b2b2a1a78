"""attack_db: high where a string is struck, again and again; low where a note bends, shakes, fades or is let go."""

from __future__ import annotations

import numpy as np
import pytest
from string_takes import LEAD_S, RATE, cents, hear, note_hz, string, take
from test_motion import bent, swung

from pedal.pitch.onset import Jump, novelty_db

STRUCK_DB, NOT_STRUCK_DB = 7.0, 6.5


@pytest.mark.parametrize("midi", [35, 40, 52, 64, 76])
def test_the_first_pluck_is_plain(midi: int) -> None:
    heard = hear(take(string(note_hz(midi), 0.3)))
    near = (heard.heard_s > 0) & (heard.heard_s < 0.006)
    assert heard.attack_db[near].max() > 25


@pytest.mark.parametrize("midi", [40, 47, 55, 64, 71, 79])
def test_ten_plucks_a_second_of_the_same_note_are_ten_attacks(midi: int) -> None:
    gap, times = int(0.1 * RATE), 10
    x = np.zeros(gap * times)
    for i in range(times):
        x[i * gap : (i + 1) * gap] = string(note_hz(midi), 0.1, seed=i, pluck_at=0.14 + 0.004 * i)
        x[(i + 1) * gap - 240 : (i + 1) * gap] *= np.linspace(1, 0.2, 240)
    heard = hear(take(x))
    found = [
        heard.attack_db[(heard.heard_s > 0.1 * i) & (heard.heard_s < 0.1 * i + 0.016)].max() > STRUCK_DB
        for i in range(times)
    ]
    assert sum(found) >= times - 1, f"found {found}"


@pytest.mark.parametrize("midi", [40, 50, 59, 67, 76])
@pytest.mark.parametrize("motion", ["bend", "vibrato", "decay"])
def test_a_note_that_only_moves_is_not_struck_again(midi: int, motion: str) -> None:
    hz = note_hz(midi)
    curve = {"bend": bent(hz, 300, 0.12), "vibrato": swung(hz, 40, 6), "decay": np.full(RATE, hz)}[motion]
    heard = hear(take(string(curve, 1.0, decay_s=0.5 if motion == "decay" else 1.5)))
    inside = (heard.heard_s > 0.06) & (heard.heard_s < 0.95)
    assert heard.attack_db[inside].max() < NOT_STRUCK_DB


@pytest.mark.parametrize("midi", [40, 55, 67])
def test_letting_go_is_no_attack(midi: int) -> None:
    note = string(note_hz(midi), 0.5)
    release = int(0.015 * RATE)
    note[-release:] *= np.cos(np.linspace(0, np.pi / 2, release))
    heard = hear(take(note))
    assert heard.attack_db[heard.heard_s > 0.4].max() < NOT_STRUCK_DB


def test_hum_is_no_attack() -> None:
    t = np.arange(2 * RATE) / RATE
    x = (0.02 * np.sin(2 * np.pi * 50 * t) + 0.01 * np.sin(2 * np.pi * 150 * t)).astype(np.float32)
    heard = hear(x)
    assert heard.attack_db[heard.heard_s > 0.1 - LEAD_S].max() < NOT_STRUCK_DB
    assert not heard.hz.any()


def test_a_jump_is_measured_against_the_fading_past() -> None:
    jump = Jump(0.5)
    assert jump.hear(1.0, 1e-9) == pytest.approx(90.0)
    for _ in range(4):
        jump.hear(1.0, 1e-9)
    assert jump.hear(1.0, 1e-9) == 0.0
    assert jump.hear(10.0, 1e-9) == pytest.approx(10.0)
    assert jump.hear(1.0, 1e-9) == pytest.approx(10.0), "the stronger of the last two ticks counts"


def test_what_follows_from_the_period_before_is_not_new() -> None:
    assert novelty_db(40.0, 0.0, 1.0) == 0.0
    assert novelty_db(40.0, 1e-3, 1.0) == 0.0
    assert novelty_db(40.0, 1.0, 1.0) == 16.0
    assert novelty_db(3.0, 1.0, 1.0) == 3.0


@pytest.mark.parametrize(("before", "after"), [(52, 57), (57, 52), (64, 67), (45, 45.6), (40, 47)])
def test_the_note_before_does_not_leak_into_the_next(before: float, after: float) -> None:
    """A pluck starts the window afresh: no reading may lie between the two notes, and the new one is there in time."""
    old, new = string(note_hz(before), 0.4), string(note_hz(after), 0.4, seed=2)
    heard = hear(take(np.concatenate([old, new])))
    near = (heard.heard_s > 0.4) & (heard.heard_s < 0.5) & (heard.hz > 0)
    off = np.minimum(*(np.abs(cents(heard.hz[near], note_hz(midi))) for midi in (before, after)))
    assert off.max() < 30, f"{heard.hz[near][off.argmax()]:.1f} Hz belongs to neither note"
    late = (heard.heard_s > 0.4 + 2.5 / note_hz(after) + 0.012) & (heard.heard_s < 0.78)
    assert np.abs(cents(heard.now_hz, note_hz(after)))[late].max() < 25
