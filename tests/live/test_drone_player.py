"""The drone on its way out: orders never wait, the stream is open only while needed, and makes way for the input."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from numpy.typing import NDArray

from pedal.errors import DeviceError
from pedal.live.drone_player import DronePlayer
from pedal.modes.drone import SILENCE, DroneOrder, LickOrder
from pedal.ports import StreamFacts
from pedal.synth.drills import lick_of_the_scene
from pedal.theory.pulse import Pulse
from tests.live.doubles import DEADLINE_S

# Written out, and not taken from the code, so that a change of it is seen.
FEWEST = 4

A = DroneOrder((220.0,))
E = DroneOrder((330.0,))


class Sink:
    """A speaker that pulls when it is told to."""

    delay_s = 0.0

    def __init__(self, *, rate: int = 48_000, fault: DeviceError | None = None) -> None:
        self._rate, self._fault = rate, fault
        self.open_now = False

    def open(self, render: Callable[[int], NDArray[np.float32]]) -> StreamFacts:
        if self._fault:
            raise self._fault
        self.render, self.open_now = render, True
        return StreamFacts("speaker", self._rate, 256, 1)

    def close(self) -> None:
        self.open_now = False


class Voice:
    """Says what was ordered; silent as soon as nothing is."""

    def __init__(self, rate: int) -> None:
        self.rate = rate
        self.orders: list[tuple[float, ...]] = []
        self.level_db = 0.0
        self.pulses: list[Pulse] = []
        self.played: list[NDArray[np.float32]] = []
        self.beat_zero: int | None = None
        self.rendered = 0

    def follow(self, pulse: Pulse, level_db: float) -> None:
        self.pulses.append(pulse)
        self.beat_zero, self.level_db = 480, level_db

    @property
    def silent(self) -> bool:
        return not self.pulses and (not self.orders or self.orders[-1] == ())

    def sound(self, hz: tuple[float, ...], level_db: float) -> None:
        self.orders.append(hz)
        self.pulses, self.beat_zero = [], None
        self.level_db = level_db

    def render(self, samples: int) -> NDArray[np.float32]:
        self.rendered += samples
        return np.zeros(samples, np.float32)

    def play(self, samples: NDArray[np.float32]) -> None:
        self.played.append(samples)


class Running:
    def __init__(self, *sinks: Sink) -> None:
        self.sinks, self.voices, self._left = sinks, list[Voice](), list(sinks)
        self.now_s, self.looks = 0.0, 0
        self.drone_player = DronePlayer(
            lambda: self._left.pop(0) if len(self._left) > 1 else self._left[0],
            self._voice,
            rate_hz=48_000,
            clock=self._look,
        )
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self.drone_player.work, args=(self._stop,))
        self._thread.start()

    def _voice(self, rate: int) -> Voice:
        self.voices.append(Voice(rate))
        return self.voices[-1]

    def _look(self) -> float:
        self.looks += 1
        return self.now_s

    def live_through(self, seconds: float, *, order: DroneOrder, pulled: Sink | None = None) -> None:
        """So much time, a tenth of a second after another, each of them seen by the player."""
        for _ in range(round(10 * seconds)):
            self.now_s += 0.1
            if pulled is not None:
                pulled.render(4800)
            seen = self.looks + 6  # of no more than three looks in a round
            while self.looks < seen:
                self.drone_player.order(order)
                threading.Event().wait(0.001)

    def until(self, true: Callable[[], object]) -> None:
        end_s = time.monotonic() + DEADLINE_S
        while not true():
            assert time.monotonic() < end_s, self.drone_player.fault
            threading.Event().wait(0.005)

    def end(self) -> None:
        self._stop.set()
        self._thread.join(DEADLINE_S)
        assert not self._thread.is_alive()


@pytest.fixture
def run() -> Iterator[Callable[..., Running]]:
    running: list[Running] = []

    def begin(*sinks: Sink) -> Running:
        running.append(Running(*sinks))
        return running[-1]

    yield begin
    for one in running:
        one.end()


def test_no_order_no_stream(run: Callable[..., Running]) -> None:
    running = run(Sink())
    running.drone_player.order(SILENCE)
    running.end()
    assert running.voices == []


def test_an_order_opens_the_stream_and_the_next_one_changes_the_chord_in_it(run: Callable[..., Running]) -> None:
    running = run(Sink())
    running.drone_player.order(A)
    running.until(lambda: running.voices and running.voices[0].orders)
    running.drone_player.order(E)
    running.until(lambda: running.voices[0].orders[-1] == E.hz)
    assert len(running.voices) == 1
    assert running.sinks[0].open_now


def test_another_loudness_is_handed_on_to_the_same_voice(run: Callable[..., Running]) -> None:
    running = run(Sink())
    running.drone_player.order(A)
    running.until(lambda: running.voices and running.voices[0].orders)
    running.drone_player.order(DroneOrder(A.hz, -18.0))
    running.until(lambda: running.voices[0].level_db == -18.0)
    assert len(running.voices) == 1


def test_silence_closes_the_stream_once_it_has_faded(run: Callable[..., Running]) -> None:
    running = run(Sink())
    running.drone_player.order(A)
    running.until(lambda: running.sinks[0].open_now)
    running.drone_player.order(SILENCE)
    running.until(lambda: not running.sinks[0].open_now)
    assert running.drone_player.fault == ""


def test_a_speaker_of_another_rate_gets_a_voice_of_its_own(run: Callable[..., Running]) -> None:
    running = run(Sink(rate=44_100))
    running.drone_player.order(A)
    running.until(lambda: running.voices and running.voices[-1].orders)
    assert [voice.rate for voice in running.voices] == [48_000, 44_100]


def test_it_makes_way_while_the_library_starts_anew_and_comes_back_with_its_order(run: Callable[..., Running]) -> None:
    running = run(Sink())
    running.drone_player.order(A)
    running.until(lambda: running.sinks[0].open_now)
    running.drone_player.let_go()
    assert not running.sinks[0].open_now
    running.drone_player.order(E)
    running.drone_player.come_back()
    running.until(lambda: running.sinks[0].open_now)
    running.until(lambda: running.voices[-1].orders[-1:] == [E.hz])


def test_a_missing_speaker_is_said_and_tried_again(run: Callable[..., Running]) -> None:
    running = run(Sink(fault=DeviceError("there is no audio output: plug one in")), Sink())
    running.drone_player.order(A)
    running.until(lambda: running.drone_player.fault)
    assert running.drone_player.fault == "there is no audio output: plug one in"
    running.now_s += 10.0
    running.until(lambda: running.sinks[1].open_now)
    running.until(lambda: running.drone_player.fault == "")


def test_it_falls_silent_before_it_ends(run: Callable[..., Running]) -> None:
    running = run(Sink())
    running.drone_player.order(A)
    running.until(lambda: running.voices and running.voices[0].orders)
    running.end()
    assert running.voices[0].orders[-1] == ()
    assert not running.sinks[0].open_now


BEAT = DroneOrder((), -30.0, Pulse(60, ((220.0,),), 0.5, 3520.0))


def test_where_the_beat_lies_follows_from_when_it_is_made_and_what_the_driver_adds(run: Callable[..., Running]) -> None:
    """480 samples before the first beat, 10 ms; the driver holds 30 ms: it sounds 40 ms after it was asked for."""
    sink = Sink()
    sink.delay_s = 0.03
    running = run(sink)
    assert running.drone_player.beat_zero_s is None
    running.drone_player.order(BEAT)
    running.until(lambda: running.voices and running.voices[0].pulses)
    for block in range(FEWEST):
        assert running.drone_player.beat_zero_s is None
        running.now_s = 5.0 + 0.01 * block
        sink.render(480)
    assert running.drone_player.beat_zero_s == pytest.approx(5.04)
    running.now_s = 5.5  # late once: no beat moves for that
    sink.render(480)
    assert running.drone_player.beat_zero_s == pytest.approx(5.04)


def test_without_an_output_there_is_no_beat_and_the_fault_is_kept(run: Callable[..., Running]) -> None:
    running = run(Sink(fault=DeviceError("no output here: plug one in")))
    running.drone_player.order(BEAT)
    running.until(lambda: running.drone_player.fault)
    assert running.drone_player.beat_zero_s is None
    assert running.drone_player.fault == "no output here: plug one in"


def test_a_lick_is_played_once_and_the_stream_is_closed_after_it(run: Callable[..., Running]) -> None:
    sink = Sink()
    running = run(sink)
    running.drone_player.play(LickOrder(lick_of_the_scene(), level_db=-20.0))
    running.until(lambda: running.voices and running.voices[-1].played)
    (samples,) = running.voices[-1].played
    assert 0.05 < np.abs(samples).max() <= 10 ** (-20 / 20) + 1e-6
    running.until(lambda: not sink.open_now)


def test_a_lick_that_cannot_be_made_is_tried_once(run: Callable[..., Running], monkeypatch: pytest.MonkeyPatch) -> None:
    """Again and again it would end the part that sounds for good, and with it the drone."""
    asked: list[object] = []

    def cannot(*_: object, **__: object) -> None:
        asked.append(True)
        raise ValueError("no such lick")

    monkeypatch.setattr("pedal.synth.lick_sound.sound_of_lick", cannot)
    player = DronePlayer(Sink, Voice, rate_hz=48_000, clock=lambda: 0.0)
    player.play(LickOrder(lick_of_the_scene()))
    stop = threading.Event()
    with pytest.raises(ValueError, match="no such lick"):
        player.work(stop)
    stop.set()
    player.work(stop)
    with player._lock:
        player._obey()
    assert len(asked) == 1


def test_a_lick_without_an_output_is_not_played_some_time_later(run: Callable[..., Running]) -> None:
    gone, back = Sink(fault=DeviceError("no output")), Sink()
    running = run(gone, back)
    running.drone_player.play(LickOrder(lick_of_the_scene()))
    running.until(lambda: running.drone_player.fault)
    running.now_s += 10.0
    running.drone_player.order(A)
    running.until(lambda: back.open_now)
    assert not running.voices[-1].played


def test_stopping_what_does_not_play_opens_nothing(run: Callable[..., Running]) -> None:
    sink = Sink()
    running = run(sink)
    running.drone_player.play(LickOrder(None))
    running.drone_player.order(A)
    running.until(lambda: sink.open_now)
    assert not running.voices[-1].played


GONE = "the audio output has stopped: plug it in again, or choose another output"


def sounding(run: Callable[..., Running], *sinks: Sink, order: DroneOrder) -> Running:
    """The first of these sinks is open, and has asked for some blocks."""
    running = run(*sinks)
    running.drone_player.order(order)
    running.until(lambda: running.voices and not running.voices[0].silent)
    for _ in range(FEWEST):
        sinks[0].render(480)
    return running


def test_an_output_that_asks_for_nothing_more_is_told_and_opened_again(run: Callable[..., Running]) -> None:
    """A device that was unplugged, or whose sound server has ended, says nothing: it just pulls no more."""
    gone, back = Sink(), Sink()
    running = sounding(run, gone, back, order=BEAT)
    assert running.drone_player.beat_zero_s is not None
    running.live_through(1.0, order=BEAT)  # longer than any output was seen to take its time
    assert (gone.open_now, running.drone_player.fault) == (True, "")
    running.live_through(1.5, order=BEAT)
    running.until(lambda: not gone.open_now)
    assert running.drone_player.fault == GONE
    assert running.drone_player.beat_zero_s is None
    assert not back.open_now
    running.live_through(2.5, order=BEAT)
    assert back.open_now
    assert running.drone_player.fault == ""
    assert running.voices[-1].pulses[-1] == BEAT.pulse


def test_an_output_that_pulls_is_kept(run: Callable[..., Running]) -> None:
    sink = Sink()
    running = sounding(run, sink, Sink(), order=A)
    running.live_through(6.0, order=A, pulled=sink)
    assert (sink.open_now, running.drone_player.fault, len(running.voices)) == (True, "", 1)


def test_an_output_is_not_blamed_for_a_frozen_program(run: Callable[..., Running]) -> None:
    sink = Sink()
    running = sounding(run, sink, Sink(), order=A)
    for _ in range(4):
        running.now_s += 60.0
        running.live_through(0.3, order=A)
        running.live_through(0.3, order=A, pulled=sink)
    assert (sink.open_now, running.drone_player.fault, len(running.voices)) == (True, "", 1)


def test_an_output_that_died_is_closed_though_its_drone_cannot_fade(run: Callable[..., Running]) -> None:
    """What is never pulled never falls silent."""

    class Fading(Voice):
        silent = False

    class Faded(Running):
        def _voice(self, rate: int) -> Voice:
            self.voices.append(Fading(rate))
            return self.voices[-1]

    sink = Sink()
    running = Faded(sink)
    running.drone_player.order(A)
    running.until(lambda: sink.open_now)
    running.live_through(2.5, order=SILENCE)
    running.until(lambda: not sink.open_now)
    running.live_through(3.0, order=SILENCE)
    assert (sink.open_now, len(running.voices)) == (False, 1)
    running.end()


def until_closing(running: Running, closing: threading.Event) -> None:
    """Nothing is asked for any more, until the sink is being closed for it."""
    end_s = time.monotonic() + DEADLINE_S
    while not closing.is_set():
        assert time.monotonic() < end_s
        running.now_s += 0.1
        running.drone_player.order(A)
        closing.wait(0.01)


def test_the_library_starts_anew_only_after_a_dead_output_is_closed(run: Callable[..., Running]) -> None:
    closing = threading.Event()

    class Slow(Sink):
        def close(self) -> None:
            closing.set()
            threading.Event().wait(0.1)
            super().close()

    sink = Slow()
    running = sounding(run, sink, Sink(), order=A)
    until_closing(running, closing)
    running.drone_player.let_go()
    assert not sink.open_now


def test_a_dead_output_whose_driver_hangs_over_its_end_holds_nobody_else_up(run: Callable[..., Running]) -> None:
    """Seen on a sound server that hangs. The capture asks the drone to make way, and must not wait for that."""
    thawed, closing = threading.Event(), threading.Event()

    class Hanging(Sink):
        def close(self) -> None:
            closing.set()
            thawed.wait(DEADLINE_S)
            super().close()

    running = sounding(run, Hanging(), Sink(), order=A)
    try:
        until_closing(running, closing)
        making_way = threading.Thread(target=running.drone_player.let_go, daemon=True)
        making_way.start()
        making_way.join(DEADLINE_S / 2)
        assert not making_way.is_alive()
    finally:
        thawed.set()
