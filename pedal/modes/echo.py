"""Echo: hold a switch and play a model bend; the bends after it are measured against it."""

from __future__ import annotations

from dataclasses import replace

from pedal.modes.happening import Action, Heard
from pedal.modes.likeness import Gait, Likeness, compare, gait_of
from pedal.modes.log_entry import LogEntry
from pedal.modes.place import BoardSettings, ModeName
from pedal.modes.rungs import Rung
from pedal.modes.screen_model import EchoScreen, Status, StringPicture
from pedal.modes.string_now import StringNow
from pedal.verdicts.aim import JudgeAs
from pedal.verdicts.verdict import Verdict


class Echo:
    """Recording while the switch is held; a model bend that still sounds when the foot leaves is taken when it ends."""

    name: ModeName = "echo"
    judge_as: JudgeAs = "watch"
    rung: Rung | None = None
    wants_drone = False
    follows_readings = False

    def __init__(self, place: BoardSettings, string: StringNow) -> None:
        self._place = place
        self._string = string
        self._recording = False
        self._owed = False  # the foot has left, the model still sounds
        self._model: Gait | None = None
        self._model_name = ""
        self._likeness: Likeness | None = None

    def move(self, place: BoardSettings) -> None:
        """The model stays: heights are cents above its own rest note, whatever the key."""
        self._place = place

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """A bend becomes the model while recording; otherwise it is compared and logged."""
        if not isinstance(heard, Verdict):
            return ()
        gait = gait_of(heard)
        if self._recording or self._owed:
            self._owed = False
            if gait:
                self._take_model(gait, heard)
            return ()
        if gait and self._model:
            self._likeness = compare(self._model, gait)
            return (self._place.entry("echo", heard),)
        return ()

    def _take_model(self, gait: Gait, verdict: Verdict) -> None:
        self._model, self._likeness = gait, None
        self._model_name = f"{verdict.rest_note or verdict.target_note or ''} {gait.height_cents:+.0f}".strip()

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """`model_begin` and `model_end` frame the model; `again` wipes the last comparison and keeps the model."""
        match action:
            case "model_begin":
                self._recording, self._owed, self._likeness = True, False, None
            case "model_end" if self._recording:
                self._recording, self._owed = False, self._string.sounding
            case "again" | "next_target":
                self._likeness = None
            case _:
                pass
        return ()

    def give_up(self) -> None:
        """The player goes elsewhere: what was being recorded becomes no model, whenever the foot leaves."""
        self._recording = self._owed = False

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
        )

    def _drawn(self, *, recording: bool) -> StringPicture:
        drawn = self._string.picture(self._place)
        post = self._model.height_cents if self._model and not recording else None
        return replace(drawn, target_cents=post, zone_cents=None)
