"""Beside the beat, rises and vibrato over many notes; and vibrato's own verdict on curves whose waves are known."""

from __future__ import annotations

import numpy as np
import pytest

from pedal.notes.runs import Swing
from pedal.notes.vibrato import measure_vibrato
from pedal.progress.time_and_vibrato import TimedNotes, evenness_word

# Written out, and not taken from the code, so that a change of it is seen.
EVEN, UNEVEN = 0.85, 0.7

NOBODY = np.array([np.nan])


def waves(lengths_s: np.ndarray, widths: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A wave each, so long and so wide, read 375 times a second."""
    t = np.arange(0, float(lengths_s.sum()), 1 / 375)
    edges = np.concatenate([[0.0], np.cumsum(lengths_s)])
    which = np.clip(np.searchsorted(edges, t, "right") - 1, 0, len(lengths_s) - 1)
    return t, widths[which] * np.sin(2 * np.pi * (t - edges[which]) / lengths_s[which])


def measured(lengths_s: np.ndarray, widths: np.ndarray):
    t, cents = waves(lengths_s, widths)
    found = measure_vibrato(t, cents, Swing(0, len(t), float(cents.min()), float(cents.max())), stood=0.0)
    assert found is not None
    return found, float(t[-1])


@pytest.mark.parametrize("rate_hz", [3.0, 5.5, 8.0])
@pytest.mark.parametrize("width", [10.0, 25.0, 50.0])
def test_even_waves_are_called_even_at_every_rate_and_width(rate_hz: float, width: float) -> None:
    """3 Hz is a slow guitar's, 5.5 to 8 Hz are bowed strings' (Timmers and Desain 2000, in docs/sources.md)."""
    count = max(6, round(1.5 * rate_hz))
    found, seconds = measured(np.full(count, 1 / rate_hz), np.full(count, width))
    assert found.rate_hz == pytest.approx(rate_hz, rel=0.03)
    assert found.width_cents == pytest.approx(width, rel=0.1)
    assert evenness_word(found.evenness, found.rate_hz, seconds) == "even"


def test_waves_that_differ_by_half_are_called_uneven() -> None:
    rng = np.random.default_rng(3)
    words = []
    for _ in range(20):
        lengths = rng.uniform(0.5, 1.5, 9) / 5.0
        widths = rng.uniform(0.4, 1.6, 9) * 25.0
        found, seconds = measured(lengths, widths)
        words.append(evenness_word(found.evenness, found.rate_hz, seconds))
    print({word: words.count(word) for word in set(words)})
    assert words.count("even") == 0
    assert words.count("uneven") >= 8, "half of them: the limit rather says nothing than too much"


def test_waves_that_differ_by_a_few_percent_are_not_called_uneven() -> None:
    rng = np.random.default_rng(3)
    for _ in range(20):
        found, seconds = measured(rng.normal(0.18, 0.009, 9), rng.normal(25.0, 1.5, 9))
        assert evenness_word(found.evenness, found.rate_hz, seconds) != "uneven"


@pytest.mark.parametrize(
    ("evenness", "rate_hz", "hold_s", "word"),
    [(0.3, 5.0, 0.79, ""), (0.3, 5.0, 0.8, "uneven"), (UNEVEN - 0.01, 5.0, 2.0, "uneven"), (UNEVEN, 5.0, 2.0, ""),
     (EVEN - 0.01, 5.0, 2.0, ""), (EVEN, 5.0, 2.0, "even"), (None, 5.0, 2.0, ""), (0.9, 5.0, None, "")],
)  # fmt: skip
def test_nothing_is_said_that_the_figures_do_not_carry(
    evenness: float | None, rate_hz: float, hold_s: float | None, word: str
) -> None:
    assert evenness_word(evenness, rate_hz, hold_s) == word


def test_medians_shares_and_scatter() -> None:
    notes = TimedNotes()
    notes.add((late, 1.0, 0.0, 0.0, None, None) for late in (-10.0, 30.0, 20.0, 40.0, 20.0, 10.0, 25.0))
    notes.add((None, 1.0, 5.0 + n / 10, 20.0 + n, side, evenness) for n, (side, evenness) in enumerate(
        [("both", 0.9), ("above", 0.9), ("both", 0.5), ("below", 0.75), ("both", None), ("both", 0.95)]))  # fmt: skip
    found = notes.figures(np.array([0.2, 0.3, np.nan, 0.25, 0.25, 0.2, 0.3]))
    assert found.late_ms is not None and (found.late_ms.value, found.late_ms.n) == (20.0, 7)
    assert found.late_spread_ms == pytest.approx(1.4826 * 10.0)
    assert found.rise_s is not None and found.rise_s.value == pytest.approx(0.25)
    assert found.rise_scatter == pytest.approx(1.4826 * 0.05 / 0.25)
    assert found.rate_hz is not None and found.rate_hz.value == pytest.approx(5.25)
    assert found.both == pytest.approx(4 / 6)
    assert found.even is not None and (found.even.n, found.even.value) == (4, pytest.approx(0.75))


def test_without_notes_there_are_no_figures() -> None:
    found = TimedNotes().figures(NOBODY)
    assert found.late_ms is None and found.rise_s is None and found.rate_hz is None and found.both is None


@pytest.mark.parametrize("late", [[7.0], [7.0, 7.0, 7.0]])
def test_one_note_and_notes_that_are_alike_scatter_by_nothing(late: list[float]) -> None:
    notes = TimedNotes()
    notes.add((one, 1.0, 0.0, 0.0, None, None) for one in late)
    found = notes.figures(np.full(len(late), 0.5))
    assert (found.late_spread_ms, found.rise_scatter) == (0.0, 0.0)
