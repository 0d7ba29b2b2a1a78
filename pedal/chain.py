"""Samples in, what was heard out: pitch, notes and verdicts joined. The one path for live, file, demo and tests."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pedal.notes.edges import Edges
from pedal.notes.event import End, NoteEvent, Onset
from pedal.notes.listener import Listener
from pedal.notes.note import Note
from pedal.pitch import Reading, hop_samples, make_tracker
from pedal.pitch.intake import tamed
from pedal.verdicts.aim import Aim
from pedal.verdicts.fret import GuitarOffset
from pedal.verdicts.judge import judge
from pedal.verdicts.struck_again import struck_again
from pedal.verdicts.verdict import Verdict

__all__ = ["Chain", "Heard", "hop_samples"]

_NOTHING = np.zeros(0, np.float32)

Heard = Reading | NoteEvent | Verdict


class Chain:
    """The way of a sound. `.push(samples)` takes any length: blocks are cut anew, so borders change no verdict.

    guitar : what is known of it already, and goes on learning here; nothing if left out.
    """

    def __init__(self, sample_rate: int, aim: Aim, guitar: GuitarOffset | None = None) -> None:
        self.aim = aim
        self._hop = hop_samples(sample_rate)
        self._tracker = make_tracker(sample_rate, self._hop)
        self._edges = Edges(self._hop)
        self._listener = Listener(sample_rate, self._hop, self._tracker.thinned)
        self._guitar = GuitarOffset() if guitar is None else guitar
        self._before: Note | None = None
        self._tuned = False
        self._waiting = _NOTHING
        self._lost = 0

    @property
    def now_hz(self) -> float:
        """The pitch at this instant, 0.0 if none."""
        return self._tracker.now_hz

    def push(self, samples: NDArray[np.float32], *, lost_samples: int = 0) -> list[Heard]:
        """Everything that was heard in these samples, in order."""
        return self.hear(tamed(samples) if len(samples) else samples, lost_samples=lost_samples)

    def hear(self, samples: NDArray[np.float32], *, lost_samples: int = 0) -> list[Heard]:
        """`push` of samples that were tamed already."""
        if lost_samples:  # what waited for a full hop lies before the gap: it is lost as well
            self._lost += lost_samples + len(self._waiting)
            self._waiting = samples
        else:
            self._waiting = np.concatenate([self._waiting, samples]) if len(self._waiting) else samples
        waiting = self._waiting
        whole = len(waiting) - len(waiting) % self._hop
        self._waiting = waiting[whole:].copy() if whole < len(waiting) else _NOTHING
        return self._hear(waiting[:whole]) if whole else []

    def finish(self) -> list[Heard]:
        """The sound is over: end and judge what still sounds."""
        return self._judge(self._listener.finish())

    def _hear(self, samples: NDArray[np.float32]) -> list[Heard]:
        lost, self._lost = self._lost, 0
        if lost:
            self._edges.forget()
        heard: list[Heard] = []
        readings, hear = self._tracker.hear(samples, lost_samples=lost), self._listener.hear
        for reading, edge in zip(readings, self._edges.of(samples), strict=True):
            heard.append(reading)
            if events := hear(reading, edge, lost_samples=lost):
                heard += self._judge(events)
            lost = 0
        return heard

    def _judge(self, events: list[NoteEvent]) -> list[Heard]:
        heard: list[Heard] = []
        for event in events:
            if isinstance(event, End):
                note = self._before = struck_again(event.note, self._before, self.aim, self._guitar)
                heard += [replace(event, note=note), judge(note, self.aim, self._guitar)]
                if not self._tuned and self.aim.judge_as not in ("blind", "tune"):
                    # In Blind a held pre-bend stands where the hand put it, in Tune a string where the peg did.
                    self._guitar.learn(note, a4_hz=self.aim.a4_hz)
            else:
                if isinstance(event, Onset):
                    self._tuned = self.aim.judge_as == "tune"
                    if self._tuned:
                        self._guitar.forget()
                heard.append(event)
        return heard
