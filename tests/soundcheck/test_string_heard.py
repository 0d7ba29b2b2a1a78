"""A string is heard, and what is no string is not."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.soundcheck.string_heard import string_heard
from tests.live.true_bend import RATE, a_true_bend

SECONDS = 2.0


def hum(level_db: float) -> np.ndarray:
    t = np.arange(round(SECONDS * RATE)) / RATE
    wave = np.sin(2 * np.pi * 100 * t) + 0.5 * np.sin(2 * np.pi * 200 * t)
    return (10 ** (level_db / 20) * wave).astype(np.float32)


def test_a_string_is_heard():
    heard = string_heard(a_true_bend()[: round(SECONDS * RATE)], RATE)
    assert heard.heard
    assert heard.loudest_db > -40


@pytest.mark.parametrize(
    "sound",
    [
        np.zeros(round(SECONDS * RATE), np.float32),
        (1e-3 * np.random.default_rng(440).standard_normal(round(SECONDS * RATE))).astype(np.float32),
        hum(-40),
        hum(-60),
    ],
    ids=["silence", "hiss", "loud hum", "hum"],
)
def test_what_is_no_string_is_not(sound):
    assert not string_heard(sound, RATE).heard


def test_a_string_in_hum_is_heard():
    sound = a_true_bend()[: round(SECONDS * RATE)]
    assert string_heard(sound + hum(-60)[: len(sound)], RATE).heard


def test_a_quiet_string_is_heard():
    """30 dB quieter: a guitar with its volume turned down."""
    assert string_heard(a_true_bend()[: round(SECONDS * RATE)] * np.float32(0.03), RATE).heard
