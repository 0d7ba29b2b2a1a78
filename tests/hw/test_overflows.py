"""A late reader at a card: what is lost is counted, what follows is heard, and the stream never ends for it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import hw.portaudio_input
from hw.portaudio_input import PortAudioInput
from tests.hw.alsa_card import AlsaCard

RATE, BLOCK = 48_000, 128
USUAL, ROOMY = 512, 24_128
"""Buffers: what PortAudio asks for by itself, and what we ask for."""


@dataclass
class Heard:
    """What a reader has: samples counted, samples lost and overflows told; how far its count is off the card's own."""

    samples: int = 0
    lost: int = 0
    overflows: int = 0
    off: int = 0


class Reader:
    """Reads a card as the capturing thread does, and may be late."""

    def __init__(self, card: AlsaCard, monkeypatch: pytest.MonkeyPatch, *, kernel_tells: bool = True) -> None:
        monkeypatch.setattr(hw.portaudio_input, "kernel_status", lambda _: Path("status") if kernel_tells else None)
        monkeypatch.setattr(hw.portaudio_input, "stream_began", lambda told: card.began if told else "")
        monkeypatch.setattr(hw.portaudio_input, "start_library", lambda: card)
        monkeypatch.setattr(hw.portaudio_input.time, "sleep", card.sleep)
        self.card, self.heard = card, Heard()
        self._source = PortAudioInput(None, block_samples=BLOCK, clock=card.time)
        self._source.open()

    def listen(self, seconds: float) -> None:
        until_s = self.card.now_s + seconds
        while self.card.now_s < until_s:
            block = self._source.read()
            heard = self.heard
            heard.lost, heard.overflows = heard.lost + block.lost_samples, heard.overflows + block.overflows
            heard.off = heard.samples + heard.lost - round(float(block.samples[0]) * 2**24)
            heard.samples += len(block.samples)

    def freeze(self, seconds: float) -> None:
        self.card.now_s += seconds


@pytest.mark.parametrize("buffer", [USUAL, ROOMY])
@pytest.mark.parametrize("frozen_s", [0.02, 0.1, 0.3, 0.6, 3.0, 30.0])
def test_a_freeze_costs_what_the_buffer_could_not_hold(
    monkeypatch: pytest.MonkeyPatch, buffer: int, frozen_s: float
) -> None:
    reader = Reader(AlsaCard(buffer=buffer), monkeypatch)
    reader.listen(2.0)
    reader.freeze(frozen_s)
    reader.listen(2.0)
    card, heard = reader.card, reader.heard
    assert heard.overflows == card.overflows == (1 if frozen_s * RATE >= buffer else 0)
    assert heard.lost == pytest.approx(card.dropped, abs=2 * BLOCK)
    assert abs(heard.off) <= 2 * BLOCK


def test_eight_freezes_are_eight_overflows_of_one_stream(monkeypatch: pytest.MonkeyPatch) -> None:
    reader = Reader(AlsaCard(buffer=USUAL), monkeypatch)
    reader.listen(2.0)
    for _ in range(8):
        reader.freeze(0.4)
        reader.listen(0.2)
    assert reader.heard.overflows == reader.card.overflows == 8
    assert abs(reader.heard.off) <= 8 * 2 * BLOCK


@pytest.mark.parametrize("drift", [-0.01, -2e-4, 2e-4, 0.01])
def test_a_card_that_is_slow_or_fast_by_up_to_a_hundredth_loses_nothing(
    monkeypatch: pytest.MonkeyPatch, drift: float
) -> None:
    reader = Reader(AlsaCard(buffer=ROOMY, drift=drift), monkeypatch)
    reader.listen(60.0)
    assert (reader.heard.overflows, reader.heard.off) == (0, 0)


@pytest.mark.parametrize("held_back_s", [0.05, 0.15, 0.4])
@pytest.mark.parametrize("kernel_tells", [True, False])
def test_what_comes_late_and_comes_is_not_lost(
    monkeypatch: pytest.MonkeyPatch, held_back_s: float, kernel_tells: bool
) -> None:
    """A server that is starved, or a kernel that is: for a while everything is late, and then it is there."""
    reader = Reader(AlsaCard(buffer=10 * RATE), monkeypatch, kernel_tells=kernel_tells)
    reader.listen(2.0)
    reader.card.held_back_s = held_back_s
    reader.listen(1.5)
    reader.card.held_back_s = 0.0
    reader.listen(4.0)
    assert (reader.heard.overflows, reader.heard.off) == (0, 0)


@pytest.mark.parametrize("dropped_s", [0.15, 0.4])
@pytest.mark.parametrize("kernel_tells", [True, False])
def test_what_is_dropped_without_a_word_is_believed_when_it_has_not_come_for_two_seconds(
    monkeypatch: pytest.MonkeyPatch, dropped_s: float, kernel_tells: bool
) -> None:
    reader = Reader(AlsaCard(buffer=ROOMY), monkeypatch, kernel_tells=kernel_tells)
    reader.listen(2.0)
    reader.card.held_back_s = dropped_s  # for good: a bus that lost packets, a server that let go
    reader.listen(1.9)
    assert reader.heard.overflows == 0
    reader.listen(1.0)
    assert reader.heard.overflows == 1
    assert reader.heard.lost == pytest.approx(dropped_s * RATE, abs=2 * BLOCK)
    reader.listen(5.0)
    assert reader.heard.overflows == 1


@pytest.mark.parametrize("frozen_s", [0.6, 3.0])
def test_a_freeze_where_no_kernel_tells_is_counted_a_little_later(
    monkeypatch: pytest.MonkeyPatch, frozen_s: float
) -> None:
    reader = Reader(AlsaCard(buffer=ROOMY), monkeypatch, kernel_tells=False)
    reader.listen(2.0)
    reader.freeze(frozen_s)
    reader.listen(3.0)
    assert reader.heard.overflows == 1
    assert abs(reader.heard.off) <= 2 * BLOCK


@settings(max_examples=20, deadline=None)
@given(
    drift=st.floats(-2e-4, 2e-4),
    period=st.sampled_from([32, 64, 128, 256]),
    buffer=st.sampled_from([USUAL, 4096, ROOMY]),
    lates_s=st.lists(st.floats(0.0, 1.0), max_size=12),
)
def test_whatever_the_lateness_the_count_stays_with_the_card(
    drift: float, period: int, buffer: int, lates_s: list[float]
) -> None:
    """Each loss may be told wrong by a burst or two, and one below 20 ms not at all; the sum of them never by more."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        reader = Reader(AlsaCard(buffer=buffer, period=period, drift=drift), monkeypatch)
        reader.listen(1.5)
        for late_s in lates_s:
            reader.freeze(late_s)
            reader.listen(1.5)
    untold = sum(late_s < 0.03 for late_s in lates_s)
    assert reader.heard.overflows <= reader.card.overflows
    assert reader.card.overflows - reader.heard.overflows <= untold
    for_each = 2 * max(period, BLOCK) + 0.001 * RATE
    assert abs(reader.heard.off) <= reader.card.overflows * for_each + untold * 0.03 * RATE
