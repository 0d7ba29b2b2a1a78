"""Blocks and switch edges -> what the pedal answers: frames, log entries, memory, drone orders, verdict lines.

One thread holds the chain and the pedal's state; nothing here waits for a screen, a disk or a terminal.
"""

from __future__ import annotations

import gc
import queue
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from pedal.chain import Heard
from pedal.live.arrivals import Arrivals
from pedal.live.beat_finder import BeatFinder, delay_heard_ms
from pedal.live.capture import Arrival, Began, Gone, Over, joined
from pedal.live.ear import Ear
from pedal.live.look_ahead import LookAhead
from pedal.live.messages import EntrySink, Frame, Output, Samples, SwitchEdge, Takes
from pedal.live.worker import Mailbox
from pedal.modes.feet import Feet
from pedal.modes.input_events import (
    BeatsBegan,
    Command,
    DelayHeard,
    DevicesFound,
    InputEvent,
    LivePitch,
    LogPaused,
    PartFailed,
    SwitchTrouble,
)
from pedal.modes.pedal import DroneOrder, Pedal
from pedal.modes.screen_model import MenuScreen, MessageScreen
from pedal.notes.event import Onset
from pedal.pitch import Reading
from pedal.ports import Block
from pedal.verdicts.verdict import Verdict

CLIPPED = 0.998
"""The largest 16-bit sample is 0.99997; converters of a cheaper kind stop a little earlier."""
FRAME_S = 1 / 30
QUICK_FRAME_S = 1 / 64
"""While the string moves: standing still, it looks the same at half of that."""
QUICK_DELAY_S = 0.012
"""Only on a panel that is this quick, half its own scan included; a full I2C frame takes longer."""
FEET_S = 0.01
_PATIENCE_S = 0.05
_SWEEP_S = 60.0
NOTICE_S, _NOTICE_AFTER_S = 5.0, 3.0
"""How long a notice is shown, and how long the string must have been silent: never over a bend or its fresh verdict."""


class Engine:
    """The loop's middle. `judged_blocks` rises as long as sound is being judged: the watchdog looks at it.

    output : None where there is none, and so nothing of it comes back.
    use_device : called when another audio input was chosen in the menu.
    make_takes : keeps takes of a stream at a sample rate; None keeps none.
    script : commands at times of the sound, for a performance that brings its own foot.
    delay_s : from a frame's leaving here to its light on the panel.
    live : the sound comes at its own time, and is taken in just before a frame is due; else it is taken block by block.
    """

    def __init__(
        self,
        pedal: Pedal,
        arrivals: Arrivals[Arrival],
        *,
        feet: Feet,
        edges: queue.Queue[SwitchEdge],
        frames: Mailbox[Frame],
        log_writer: EntrySink,
        tell: Callable[[Verdict], None],
        output: Output | None = None,
        use_device: Callable[[], None] = lambda: None,
        make_takes: Callable[[int], Takes] | None = None,
        script: tuple[Command, ...] = (),
        delay_s: Callable[[], float] = lambda: 0.0,
        live: bool = False,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.remarks: list[str] = []
        self.judged_blocks = 0
        self.gaps = self.overflows = 0
        self.lost_s = 0.0
        """Sound that went missing while there was an input."""
        self._pedal, self._arrivals, self._edges = pedal, arrivals, edges
        self._feet, self._mode = feet, ""
        self._frames, self._log_writer, self._tell, self._output = frames, log_writer, tell, output
        self._script, self._clock = list(script), clock
        self._look_ahead, self._delay_s, self._live = LookAhead(), delay_s, live
        self._beats = BeatFinder(lambda: _beat_heard_s(output, pedal.settings.delay_ms), clock)
        self._learned_delay = False
        self._use_device, self._device = use_device, pedal.settings.device
        self._make_takes: Callable[[int], Takes] | None = make_takes
        self._takes: Takes | None = None
        self._kept = self._looked = 0
        self._ear: Ear | None = None
        # What was taken in and not dealt with yet outlives a fault: only what it failed over is lost.
        self._in_hand: deque[Arrival] = deque()
        self._heard: deque[Heard] = deque()
        self._failed: deque[str] = deque()
        self._begun = self._over = False
        self._heard_s = 0.0
        self._shift_s = 0.0
        self._level_db = -120.0
        self._notices: deque[tuple[MessageScreen, float]] = deque()
        self._message: MessageScreen | None = None
        self._message_until_s = 0.0
        self._frame_due_s = 0.0
        self._posted: Frame | None = None
        self._feet_due_s = float("inf")
        self._awake_until_s = float("-inf")
        self._sweep_due_s = clock() + _SWEEP_S
        self._word = ""
        self._log_paused = False

    def work(self, stop: threading.Event) -> None:
        """Judge what arrives until told to stop or the take is over; then judge what still sounds.

        Called again after a fault, it goes on with what came next.
        """
        self._look_at_mode()
        if not self._begun:
            self._begun = True
            self._order(self._pedal.drone)
        self._pass_on()
        while not self._over and not (stop.is_set() and self._arrivals.empty() and not self._in_hand):
            self._take_in()
            while self._in_hand and not self._over:
                self._take(self._in_hand[0])
            self._take_feet()
            self._show()
        self._finish()
        if entries := self._pedal.leave():
            self._log_writer.keep(entries)
        self._show(at_once=True)
        self._log_writer.remember(self._pedal.memory())

    def failed(self, part: str) -> None:
        """A part of the loop failed and is started again: the mark goes up; from any thread."""
        self._failed.append(part)

    def notice(self, title: str, sentence: str) -> None:
        """Show a sentence for a few seconds, once the string is silent; from any thread."""
        self.show_notice(MessageScreen(title, (sentence,)))

    def show_notice(self, page: MessageScreen, for_s: float = NOTICE_S) -> None:
        """The same with a page of several sentences, that takes longer to read."""
        self._notices.append((page, for_s))

    def _take_in(self) -> None:
        """The next arrival; of a live input all up to now, once something is due.

        A frame is then as fresh as with a look at each block, and waking a thread 375 times a second costs this process
        more than judging what it finds.
        """
        if self._in_hand:
            return
        if self._live:
            self._arrivals.rest(min(self._frame_due_s, self._feet_due_s) - self._clock())
            self._in_hand.extend(joined(self._arrivals.all_now()))
        elif (arrival := self._arrivals.get(_PATIENCE_S)) is not None:
            self._in_hand.append(arrival)

    def _take(self, arrival: Arrival) -> None:
        """The first of those in hand. A block that is failed over is spent; a stream without its ear would be deaf."""
        if isinstance(arrival, Began):
            self._begin(arrival)
        self._in_hand.popleft()
        match arrival:
            case Block():
                self._hear(arrival)
            case Gone(sentence=sentence):
                self._message_until_s = float("inf")
                self._message = MessageScreen("NO INPUT", (sentence,))
                self.remarks.append(sentence)
            case Over():
                self._over = True
            case _:
                pass

    def _begin(self, began: Began) -> None:
        """A stream of the same rate goes on in the same chain, so that times never run backwards."""
        facts, rate = began.facts, began.facts.sample_rate
        self.remarks.append(f"listening to {facts.device}, channel {facts.channel}, at {rate} Hz")
        if facts.remark:
            self.remarks.append(facts.remark)
        missed = round(began.missed_s * rate)
        if self._ear is None or rate != self._ear.rate:
            self._finish()
            missed += round(self._heard_s * rate)
            self._ear = Ear(rate, self._pedal.aim, drone=self._output is not None)
            self._takes = self._make_takes(rate) if self._make_takes is not None else None
            self._kept = self._looked = 0
            self._heard_s = 0.0
        if missed:
            self._push(np.zeros(0, np.float32), missed)
        self._ear.begin_anew(self._pedal.drone)  # its stream began anew as well, and does so now
        self._message = None
        if facts.inputs:
            self._step(DevicesFound(self._heard_s, facts.inputs))

    def _hear(self, block: Block) -> None:
        if block.lost_samples and self._ear is not None:
            self.gaps, self.lost_s = self.gaps + 1, self.lost_s + block.lost_samples / self._ear.rate
            self.overflows += block.overflows
        self._push(block.samples, block.lost_samples)
        self.judged_blocks += 1
        if self._message is not None and self._message_until_s == float("inf"):
            self._message = None
        ear = self._ear
        if ear is None:
            return
        hz = self._look_ahead.ahead(self._heard_s, ear.now_hz, self._delay_s())
        clipped, lost = _is_clipped(block.samples), block.lost_samples > 0
        # By count: what was lost, was missed while there was no input, or failed before it was told.
        after_hole, self._looked = ear.heard - len(block.samples) != self._looked, ear.heard
        self._step(LivePitch(self._heard_s, hz, self._level_db, clipped, lost, after_hole))
        if hz > 0:
            self._awake_until_s = self._heard_s + FRAME_S

    def _push(self, samples: Samples, lost: int) -> None:
        ear = self._ear
        if ear is None:
            return
        self._heard_s += (len(samples) + lost) / ear.rate
        self._shift_s = self._heard_s - self._clock()
        self._beats.heard(self._heard_s)
        self._play_script()
        ear.aim = self._pedal.aim
        samples = ear.clean(samples, lost_samples=lost)
        if self._takes is not None:
            lost, self._kept = ear.heard - len(samples) - self._kept, ear.heard
            self._takes.push(samples, lost_samples=lost)
        self._heard.extend(ear.judge(samples))
        self._pass_on()

    def _pass_on(self) -> None:
        """What was heard, to whom it concerns."""
        waiting, step = self._heard, self._pedal.step
        while waiting:
            heard = waiting.popleft()
            if isinstance(heard, Reading):  # 375 a second, and nothing follows from one
                self._level_db = heard.level_db
                step(heard)
                continue
            if isinstance(heard, Onset):
                self._word = ""
            elif isinstance(heard, Verdict):
                self._judged(heard)
            self._step(heard)

    def _finish(self) -> None:
        if self._ear is None:
            return
        self._heard.extend(self._ear.finish())
        self._pass_on()
        if self._takes is not None:
            self._takes.close()

    def _judged(self, verdict: Verdict) -> None:
        self._tell(verdict)
        if self._takes is not None:
            self._takes.verdict(verdict)
        self._word = self._pedal.lamp_word(verdict)
        self._frame_due_s = 0.0

    def _take_feet(self) -> None:
        """Edges at once; the passing of time, which only feet that were there can feel, a hundred times a second.

        How long a foot was down is told on the clock, for the sound may stand still or catch up meanwhile; what it
        asked for is told on the sound's time.
        """
        now_s = self._clock()
        while not self._edges.empty():
            edge = self._edges.get_nowait()
            self._feet_due_s = now_s
            for command in self._feet.edge(edge.time_s, edge.switch, edge.pressed, mode=self._mode):
                self._obey(replace(command, time_s=command.time_s + self._shift_s))
        if now_s >= self._feet_due_s:
            self._feet_due_s = float("inf") if self._feet.still else now_s + FEET_S
            for command in self._feet.tick(now_s, mode=self._mode):
                self._obey(replace(command, time_s=command.time_s + self._shift_s))

    def _obey(self, command: Command | SwitchTrouble) -> None:
        self._step(command)
        self._look_at_mode()
        self._word = ""
        self._frame_due_s = 0.0
        self._awake_until_s = self._heard_s + FRAME_S

    def _look_at_mode(self) -> None:
        menu = isinstance(self._pedal.screen(), MenuScreen)
        self._mode = "menu" if menu else self._pedal.settings.mode

    def _play_script(self) -> None:
        while self._script and self._script[0].time_s <= self._heard_s:
            self._obey(self._script.pop(0))

    def _order(self, order: DroneOrder) -> None:
        if self._output is not None:
            self._output.order(order)
            if self._ear is not None:
                self._ear.expect(order)

    def _step(self, event: InputEvent) -> None:
        answer = self._pedal.step(event)
        if answer.entries:
            self._log_writer.keep(answer.entries)
        if answer.play is not None:
            if self._output is not None:
                self._output.play(answer.play)
            else:
                self.notice("NO OUTPUT", "The pedal has no output to play the lick on.")
        if answer.licks:
            self._log_writer.keep_licks(answer.licks)
        if answer.remember:
            self._log_writer.remember(self._pedal.memory())
            if self._pedal.settings.device != self._device:
                self._device = self._pedal.settings.device
                self._use_device()
        if answer.drone is not None:
            self._order(answer.drone)

    def _look_at_beat(self) -> None:
        """Where the pulse lies, told when it is known anew."""
        pulse = self._pedal.drone.pulse
        moved = self._beats.moved(pulse)
        if moved is not None:
            self._step(BeatsBegan(self._heard_s, moved.zero_s, moved.beat_s))
            if self._ear is not None:
                self._ear.lies(moved.grid, heard=self._learned_delay)
            self._learned_delay = False
        self._learn_delay()

    def _learn_delay(self) -> None:
        """What the drivers hide of the way out and back, where the clicks are heard to come back."""
        told_s, heard_s = self._beats.told_s, self._ear.clicks_from_s if self._ear is not None else None
        if told_s is None or heard_s is None:
            return
        state = self._pedal.settings
        delay_ms = delay_heard_ms(state.delay_ms, heard_s - told_s, known=state.delay_heard)
        if delay_ms is not None:
            self._learned_delay = True
            self._step(DelayHeard(self._heard_s, delay_ms))

    def _show(self, *, at_once: bool = False) -> None:
        """A frame, if one is due; and what may be done between frames."""
        now_s = self._clock()
        if now_s < self._frame_due_s and not at_once:
            return
        quick = self._look_ahead.moving and self._delay_s() <= QUICK_DELAY_S
        each_s = QUICK_FRAME_S if quick else FRAME_S
        # From when it was due: the lateness of every frame would add up.
        on_time = now_s - self._frame_due_s < each_s
        self._frame_due_s = (self._frame_due_s if on_time else now_s) + each_s
        self._change_message(now_s)
        self._look_at_beat()
        if self._log_writer.paused != self._log_paused:
            self._log_paused = not self._log_paused
            self._step(LogPaused(self._heard_s, self._log_paused))
        while self._failed:
            self._step(PartFailed(self._heard_s, self._failed.popleft()))
        awake = self._heard_s < self._awake_until_s
        if self._message is not None and self._message_until_s == float("inf"):
            self._awake_until_s = float("-inf")  # without an input its time stands still: awake for this frame only
        # The menu stays in sight: it may hold the remedy.
        model = self._pedal.screen() if self._message is None or self._mode == "menu" else self._message
        frame = Frame(model, awake, self._word, self._pedal.settings.density)
        if frame != self._posted:
            self._posted = frame
            self._frames.post(frame)
        self._sweep(now_s, quiet=not awake)

    def _change_message(self, now_s: float) -> None:
        """One that was shown long enough goes, the next one comes in a silence; a string that sounds again ends it."""
        lasting = self._message_until_s == float("inf")
        silent = self._heard_s >= self._awake_until_s + _NOTICE_AFTER_S
        if self._message is not None and (now_s >= self._message_until_s or not (lasting or silent)):
            self._message = None
        if self._message is None and self._notices and silent:
            self._message, for_s = self._notices.popleft()
            self._message_until_s = now_s + for_s

    def _sweep(self, now_s: float, *, quiet: bool) -> None:
        """Collect garbage in silence: the collector is off, so that it never comes in the middle of a bend."""
        if now_s >= self._sweep_due_s + (0.0 if quiet else 10 * _SWEEP_S):
            self._sweep_due_s = now_s + _SWEEP_S
            gc.collect()


def _is_clipped(samples: Samples) -> bool:
    """Whether the input touched full scale."""
    if not len(samples):
        return False
    highest, lowest = samples[samples.argmax()], samples[samples.argmin()]  # `max` and `min` take twice as long
    return float(highest) >= CLIPPED or float(lowest) <= -CLIPPED


def _beat_heard_s(output: Output | None, delay_ms: float) -> float | None:
    """When the first beat comes back by the input."""
    zero_s = None if output is None else output.beat_zero_s
    return None if zero_s is None else zero_s + delay_ms / 1000
