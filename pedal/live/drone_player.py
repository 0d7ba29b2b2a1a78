"""Drone orders -> the output of the interface, in a thread of its own: opening a stream takes longer than a block."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from pedal.errors import DeviceError
from pedal.live.output_clock import OutputClock
from pedal.live.worker import Mailbox
from pedal.modes.drone import SILENCE, DroneOrder, LickOrder
from pedal.ports import AudioSink
from pedal.synth.lick_voice import Inner

FADE_S = 0.5
"""Longer than the drone's own fade to silence: only then is the stream closed."""
RETRY_S = 2.0
DEAD_S = 2.0
"""An output that pulls nothing for so long is gone. One that ran dry took 0.2 s; one that wakes may take a second."""
CLOSING_S = 1.0
"""So long does the capture wait for a dead output to be closed, which takes moments; a driver may hang over it."""
_PATIENCE_S = 0.1
_LONGEST_LOOK_S = 3 * _PATIENCE_S
_GONE = "the audio output has stopped: plug it in again, or choose another output"


class Voice(Inner, Protocol):
    """What the drone is made by, and a lick over it: orders in, samples out."""

    def play(self, samples: NDArray[np.float32]) -> None:
        """Play these samples once, mono, over the notes; an empty array stops."""


class DronePlayer:
    """Plays the newest order. The stream is open only while something sounds; one that died is opened again.

    `fault` says why nothing sounds that should, "" while all is well.

    make_sink : an output for every attempt.
    make_voice : the drone at a sample rate.
    rate_hz : the rate to begin with; where the device has another, the voice is made anew.
    """

    def __init__(
        self,
        make_sink: Callable[[], AudioSink],
        make_voice: Callable[[int], Voice],
        *,
        rate_hz: int,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.fault = ""
        self._make_sink, self._make_voice, self._rate_hz, self._clock = make_sink, make_voice, rate_hz, clock
        self._orders: Mailbox[DroneOrder] = Mailbox()
        self._lock = threading.Lock()
        self._licks: Mailbox[LickOrder] = Mailbox()
        self._lick: LickOrder | None = None
        self._order = SILENCE
        self._sink: AudioSink | None = None
        self._voice: Voice | None = None
        self._away = False
        self._retry_s = 0.0
        self._asked, self._unasked_s, self._looked_s = False, 0.0, clock()
        self._none_closing = threading.Event()
        self._none_closing.set()
        self._broken: Exception | None = None
        self._output = OutputClock()
        self._beat_zero_s: float | None = None

    @property
    def beat_zero_s(self) -> float | None:
        """When the first beat of the pulse sounds or sounded, on the loop's clock; None while there is none."""
        return self._beat_zero_s

    def order(self, order: DroneOrder) -> None:
        """Hand the newest order over; never waits."""
        self._orders.post(order)

    def play(self, order: LickOrder) -> None:
        """Hand the newest lick over; never waits."""
        self._licks.post(order)

    def let_go(self) -> None:
        """Close the stream, so that the sound library can start anew; from the capturing thread."""
        with self._lock:
            self._away = True
            self._close()
        self._none_closing.wait(CLOSING_S)

    def come_back(self) -> None:
        """The library is up again."""
        with self._lock:
            self._away, self._retry_s = False, 0.0

    def work(self, stop: threading.Event) -> None:
        """Sound what is ordered until told to stop, then fade out; after a fault, with a stream made anew."""
        with self._lock:
            self._close()
        while not stop.is_set():
            order, lick = self._orders.take(_PATIENCE_S), self._licks.take(0.0)
            with self._lock:
                self._lick = lick if lick is not None else self._lick
                if order is not None:
                    self._order = order
                self._raise_what_broke()
                gone = self._gone()
                self._obey()
            if gone is not None:
                try:
                    gone.close()  # without the lock, because its driver may hang over that
                finally:
                    self._none_closing.set()
        with self._lock:
            voice = self._voice if self._sink is not None else None
        if voice is not None:
            voice.sound((), self._order.level_db)
            until_s = self._clock() + FADE_S
            pause = threading.Event()
            while not voice.silent and self._clock() < until_s:
                pause.wait(0.02)
        with self._lock:
            self._close()

    def _raise_what_broke(self) -> None:
        broken, self._broken = self._broken, None
        if broken is not None:
            raise broken

    def _render_of(self, voice: Voice) -> Callable[[int], NDArray[np.float32]]:
        """The voice for the driver's thread, where nobody would hear of a fault: silence, and this part fails of it."""

        def render(samples: int) -> NDArray[np.float32]:
            self._asked = True
            try:
                now_s, rendered = self._clock(), voice.rendered
                made = voice.render(samples)
                self._look(voice, now_s, rendered)
            except Exception as fault:  # noqa: BLE001 - raised again where it is dealt with
                self._broken = fault
                return np.zeros(samples, np.float32)
            return made

        return render

    def _look(self, voice: Voice, now_s: float, rendered: int) -> None:
        """Where the first beat lies by this block, which was made from `now_s` on and sounds after the sink's delay."""
        sink, zero = self._sink, voice.beat_zero
        if sink is not None:
            self._output.asked(now_s, rendered / self._rate_hz, sink.delay_s)
        begun_s = self._output.zero_s
        self._beat_zero_s = None if zero is None or begun_s is None else begun_s + zero / self._rate_hz

    def _gone(self) -> AudioSink | None:
        """The sink, no longer ours and to be closed, where it died: it says nothing then, and just pulls no more.

        Only time counts that this thread lived through: a program that was frozen was asked for nothing meanwhile.
        """
        now_s = self._clock()
        lived_s, self._looked_s = min(now_s - self._looked_s, _LONGEST_LOOK_S), now_s
        well = self._asked or self._sink is None
        self._asked, self._unasked_s = False, 0.0 if well else self._unasked_s + lived_s
        if self._unasked_s < DEAD_S:
            return None
        self.fault, self._retry_s, self._lick = _GONE, now_s + RETRY_S, None
        sink, self._sink, self._voice = self._sink, None, None
        self._forget()
        self._none_closing.clear()
        return sink

    def _obey(self) -> None:
        if self._away or self._clock() < self._retry_s:
            return
        stops = self._lick is not None and self._lick.lick is None
        if stops and self._voice is None:
            self._lick = None
        if self._sink is None and (self._order != SILENCE or self._lick is not None):
            try:
                self._open()
            except DeviceError as fault:
                self.fault, self._retry_s = str(fault), self._clock() + RETRY_S
                self._lick = None  # asked for then, and not some time later
                return
        if self._voice is not None:
            if self._order.pulse is not None:
                self._voice.follow(self._order.pulse, self._order.level_db)
            else:
                self._voice.sound(self._order.hz, self._order.level_db)
            lick, self._lick = self._lick, None  # before it is made: one that cannot be would fail again and again
            if lick is not None:
                self._voice.play(_samples_of(lick, self._rate_hz))
            if self._voice.silent:
                self._close()

    def _open(self) -> None:
        for _ in range(2):  # at the rate to begin with, then at the device's own
            sink, voice = self._make_sink(), self._make_voice(self._rate_hz)
            try:
                facts = sink.open(self._render_of(voice))
            except Exception:
                sink.close()
                raise
            if facts.sample_rate == self._rate_hz:
                self._sink, self._voice, self.fault = sink, voice, ""
                return
            sink.close()
            self._rate_hz = facts.sample_rate
        raise DeviceError("the audio output changes its rate while it is opened: choose another output")

    def _close(self) -> None:
        sink, self._sink, self._voice = self._sink, None, None
        if sink is not None:
            sink.close()
        self._forget()

    def _forget(self) -> None:
        """Nothing is known of an output that is no more."""
        self._output.forget()
        self._beat_zero_s = None


def _samples_of(order: LickOrder, rate_hz: int) -> NDArray[np.float32]:
    """The lick by the plucked string; none to stop."""
    from pedal.synth.lick_sound import sound_of_lick

    if order.lick is None:
        return np.zeros(0, np.float32)
    peak = 10 ** (order.level_db / 20)
    return sound_of_lick(order.lick, sample_rate=rate_hz, tempo=order.tempo, peak=peak, a4_hz=order.a4_hz)
