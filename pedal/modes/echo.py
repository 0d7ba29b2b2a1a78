"""Echo: hold a switch and play a model bend; the bends after it are measured against it."""

from __future__ import annotations

import math
from dataclasses import replace

from pedal.modes.bend_profile import BendProfile, Likeness, bend_profile_of, compare
from pedal.modes.input_events import Action, Heard, LivePitch
from pedal.modes.log_entry import LogEntry
from pedal.modes.mode import Mode
from pedal.modes.names import ModeName
from pedal.modes.screen_model import EchoScreen, Status, StringPicture
from pedal.modes.state import PedalState
from pedal.modes.string_now import StringNow
from pedal.notes.event import Onset
from pedal.verdicts.verdict import Verdict


class Echo(Mode):
    """Recording while the switch is held; a model bend that still sounds when the foot leaves is taken when it ends."""

    name: ModeName = "echo"

    def __init__(self, state: PedalState, string: StringNow) -> None:
        self._state = state
        self._string = string
        self._recording = False
        self._owed = False  # the foot has left, the model still sounds
        self._ringing = False  # what sounded already when the foot came down: a copy, and no model
        self._next_s = math.inf  # the pluck after the one that is owed
        self._model: BendProfile | None = None
        self._model_name = ""
        self._likeness: Likeness | None = None

    def move(self, state: PedalState) -> None:
        """The model stays: heights are cents above its own rest note, whatever the key."""
        self._state = state

    def lamp_word(self, verdict: Verdict) -> str:
        """A bend is like its model or not, whatever note of the key it reached."""
        del verdict
        return ""

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """A bend becomes the model while recording; otherwise it is compared and logged.

        One pluck may hold several tones, and the bend need not be the first.
        """
        if isinstance(heard, Onset):
            self._ringing, self._next_s = False, heard.time_s
        if isinstance(heard, LivePitch) and not self._string.sounding:
            self._owed = self._ringing = False
        if not isinstance(heard, Verdict):
            return ()
        profile = bend_profile_of(heard)
        self._owed = self._owed and heard.onset_s < self._next_s
        if (self._recording or self._owed) and not self._ringing:
            if profile:
                self._owed = False
                self._take_model(profile, heard)
            return ()
        if profile and self._model:
            self._likeness = compare(self._model, profile)
            return (self._state.entry("echo", heard),)
        return ()

    def _take_model(self, profile: BendProfile, verdict: Verdict) -> None:
        self._model, self._likeness = profile, None
        self._model_name = f"{verdict.rest_note or verdict.target_note or ''} {profile.height_cents:+.0f}".strip()

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """`model_begin` and `model_end` frame the model; `again` wipes the last comparison and keeps the model."""
        match action:
            case "model_begin":
                self._recording, self._owed, self._likeness = True, False, None
                self._ringing = self._string.sounding
            case "model_end" if self._recording:
                self._recording, self._owed = False, self._string.sounding and not self._ringing
                self._next_s = math.inf
            case "again" | "next_target":
                self._likeness = None
            case _:
                pass
        return ()

    def give_up(self) -> None:
        """The player goes elsewhere: what was being recorded becomes no model, whenever the foot leaves."""
        self._recording = self._owed = self._ringing = False

    def screen(self, status: Status) -> EchoScreen:
        """The model in words, the string with the post at the model's height, and the differences."""
        recording = self._recording or self._owed
        found = None if recording else self._likeness
        return EchoScreen(
            status,
            stage="recording" if recording else "ready" if self._model else "empty",
            model=self._model_name,
            height_cents=found.height_cents if found else None,
            rise_percent=found.rise_percent if found else None,
            hold_percent=found.hold_percent if found else None,
            vibrato_percent=found.vibrato_percent if found else None,
            ending_same=found.ending_same if found else None,
            likeness=round(found.figure) if found else None,
            string=self._drawn(recording=recording),
            unlike=found.unlike if found else "",
            switch=dict(self._state.held_for_model).get("echo", 0),
        )

    def _drawn(self, *, recording: bool) -> StringPicture:
        drawn = self._string.picture(self._state)
        post = self._model.height_cents if self._model and not recording else None
        return replace(drawn, target_cents=post, zone_cents=None)
