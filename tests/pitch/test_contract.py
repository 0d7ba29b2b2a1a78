"""What callers may rely on: one reading a push, any rate and hop, gaps, and no input that breaks it."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from string_takes import LEAD_S, RATE, cents, hear, note_hz, sounding, string, take

from pedal.pitch import hop_samples, make_tracker
from tests.grids import grid

HOPS = [16, 100, 128, 441, 1024]
RATES = [8000, 11_025, 22_050, 44_100, 48_000, 96_000, 192_000]
ENDS = [(8000, 1024), (192_000, 16)]
"""The most and the least that a hop can hold."""


@pytest.mark.parametrize(("rate", "hop"), grid(RATES, HOPS, each=3, hardest=ENDS))
def test_any_rate_and_hop(rate: int, hop: int) -> None:
    heard = hear(take(string(196.0, 0.5, rate=rate), rate=rate), rate=rate, hop=hop)
    late_s = 0.03 + 2 * hop / rate
    off = np.abs(cents(heard.hz, 196.0))[(heard.heard_s > late_s) & (heard.heard_s < 0.48)]
    assert len(off) > 0
    assert off[len(off) // 4 :].max() < 3
    assert not heard.hz[heard.heard_s < 0].any()
    assert not heard.hz[heard.heard_s > 0.58 + hop / rate].any()


@pytest.mark.parametrize(
    "rate", [8000, 11_025, 16_000, 22_050, 32_000, 44_100, 48_000, 64_000, 88_200, 176_400, 192_000]
)
def test_every_hop_of_the_chain_brings_as_many_inner_samples(rate: int) -> None:
    """Else hops are heard one by one, which costs more, and some of them bring nothing new."""
    hop = hop_samples(rate)
    assert hop % make_tracker(rate, hop).thinned.factor == 0
    assert hop / rate == pytest.approx(128 / 48_000, rel=0.13)


@pytest.mark.parametrize(
    ("rate", "hop"),
    [
        *((48_000, 64), (48_000, 130), (48_000, 250), (44_100, 441), (44_100, 500)),
        *((88_200, 232), (96_000, 250), (32_000, 88)),
    ],
)
def test_a_hop_that_ends_between_inner_samples_measures_as_well_as_any_other(rate: int, hop: int) -> None:
    """Such hops hold now more, now fewer of the samples that the ear works with; readings were 2 to 5 cents off."""
    t = np.arange(rate) / rate
    hz = 220.0 * 2 ** (np.interp(t, [0.4, 0.7], [0, 200]) / 1200)
    heard = hear(take(string(hz, 1.0, rate=rate), rate=rate), rate=rate, hop=hop)
    off = np.abs(cents(heard.hz, np.interp(heard.time_s, t, hz)))
    still = sounding(heard, 0.95) & ((heard.time_s < 0.35) & (heard.time_s > 0.1) | (heard.time_s > 0.8))
    moving = sounding(heard, 0.95) & (heard.time_s > 0.45) & (heard.time_s < 0.65)
    assert np.percentile(off[still], 95) < 0.3
    assert np.median(off[moving]) < 0.3


@pytest.mark.parametrize(
    ("rate", "hop", "sentence"),
    [
        (7999, 128, r"sample_rate must lie within 8000 and 192000 Hz, got 7999"),
        (192_001, 128, r"sample_rate must lie within 8000 and 192000 Hz, got 192001"),
        (48_000, 15, r"hop must lie within 16 and 1024 samples, got 15"),
        (48_000, 1025, r"hop must lie within 16 and 1024 samples, got 1025"),
    ],
)
def test_a_rate_or_hop_out_of_range_is_refused(rate: int, hop: int, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        make_tracker(rate, hop)


def test_time_runs_evenly_and_stamps_lie_in_the_past() -> None:
    heard = hear(take(string(110.0)))
    assert np.allclose(np.diff(heard.heard_s), 128 / RATE)
    assert (heard.time_s <= heard.heard_s + 1e-9).all()
    assert (heard.heard_s - heard.time_s < 0.05).all()
    assert ((heard.confidence >= 0) & (heard.confidence <= 1)).all()


def test_level_is_rms_in_decibels_of_full_scale() -> None:
    t = np.arange(RATE) / RATE
    heard = hear((0.1 * np.sin(2 * np.pi * 440 * t)).astype(np.float32), lead_s=0)
    assert np.abs(heard.level_db[heard.heard_s > 0.2] - 20 * np.log10(0.1 / np.sqrt(2))).max() < 1.0


def test_a_gap_moves_time_on_and_starts_the_window_afresh() -> None:
    x, hop = take(string(146.8, 1.0)), 128
    tracker, told = make_tracker(RATE, hop), []
    for i, start in enumerate(range(0, len(x) - hop, hop)):
        if start == 200 * hop:
            continue
        if start < 200 * hop or start > 230 * hop:
            (reading,) = tracker.push(x[start : start + hop], lost_samples=31 * hop if start == 231 * hop else 0)
            told.append((i, reading))
    before, after = [r for i, r in told if i < 200], [r for i, r in told if i > 230]
    assert after[0].heard_s == pytest.approx(232 * hop / RATE)
    assert before[-1].hz > 0
    assert after[0].hz == 0.0, "nothing is known right after a gap"
    found = next(r for r in after if r.hz)
    assert found.heard_s - after[0].heard_s < 0.025
    assert found.hz == pytest.approx(146.8, rel=0.01)


def test_a_stream_that_begins_inside_a_note_hears_it() -> None:
    heard = hear(string(220.0, 0.5).astype(np.float32)[4800:], lead_s=0)
    assert np.abs(cents(heard.hz, 220.0))[heard.heard_s > 0.03].max() < 10


def test_pushing_leaves_nothing_behind() -> None:
    """What was made before memory is watched is replaced meanwhile, and counts then: so the first takes do not."""
    x, tracker, hop = take(string(196.0, 0.4)), make_tracker(RATE, 128), 128
    blocks = [x[s : s + hop] for s in range(0, len(x) - hop, hop)]

    def after_three_takes() -> int:
        for block in 3 * blocks:
            tracker.push(block)
        return tracemalloc.get_traced_memory()[0]

    tracemalloc.start()
    after_three_takes()
    grown = -after_three_takes() + after_three_takes()
    tracemalloc.stop()
    assert grown < 2000, f"{grown} bytes more after three more takes"


WILD = st.one_of(
    st.floats(width=32, allow_nan=True, allow_infinity=True),
    st.sampled_from([float("nan"), float("inf"), -float("inf"), 3e38, -3e38, 1e20, 0.0, 1.0, -1.0]),
)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(blocks=st.lists(arrays(np.float32, 64, elements=WILD), min_size=1, max_size=12))
def test_no_samples_raise_or_poison(blocks: list[np.ndarray]) -> None:
    tracker = make_tracker(RATE, 64)
    for block in blocks:
        (reading,) = tracker.push(block)
        assert np.isfinite([reading.time_s, reading.hz, reading.confidence, reading.level_db, reading.attack_db]).all()
        assert np.isfinite(tracker.now_hz)
    x, found = take(string(220.0, 0.3)), []
    for start in range(0, len(x) - 64, 64):
        (reading,) = tracker.push(x[start : start + 64])
        found.append(reading.hz)
    inside = np.array(found)[int((LEAD_S + 0.1) * RATE / 64) : int((LEAD_S + 0.28) * RATE / 64)]
    assert np.abs(cents(inside, 220.0)).max() < 5, "wild samples must be forgotten"


@settings(max_examples=5, deadline=None)
@given(gain_db=st.floats(-30, 6), flip=st.booleans(), lead=st.integers(0, 4000), midi=st.integers(40, 84))
def test_gain_polarity_and_a_longer_silence_change_no_pitch(gain_db: float, flip: bool, lead: int, midi: int) -> None:
    x = take(string(note_hz(midi), 0.4), hiss_db=-100)
    plain = hear(x)
    louder = (-1 if flip else 1) * 10 ** (gain_db / 20) * np.concatenate([np.zeros(lead), x])
    other = hear(louder.astype(np.float32), lead_s=LEAD_S + lead / RATE)
    here, there = (np.median(cents(h.hz, note_hz(midi))[sounding(h, 0.38, since_s=0.1)]) for h in (plain, other))
    assert abs(here - there) < 0.5


@settings(max_examples=5, deadline=None)
@given(midi=st.integers(40, 76), by=st.floats(-3, 3))
def test_transposing_a_take_moves_the_reading_by_as_much(midi: int, by: float) -> None:
    here, there = (hear(take(string(note_hz(m), 0.4, stiffness=3e-5))) for m in (midi, midi + by))
    rise = np.median(there.hz[sounding(there, 0.38, since_s=0.1)]) / np.median(
        here.hz[sounding(here, 0.38, since_s=0.1)]
    )
    assert 1200 * np.log2(rise) == pytest.approx(100 * by, abs=0.6)
