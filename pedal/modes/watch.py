"""Watch: the player plays anything in the key; the string is drawn live, and each bend leaves one verdict."""

from __future__ import annotations

from pedal.modes.band import Band
from pedal.modes.face import face_of
from pedal.modes.happening import Action, Heard
from pedal.modes.log_entry import LogEntry
from pedal.modes.place import BoardSettings, ModeName
from pedal.modes.rungs import Rung
from pedal.modes.screen_model import Status, VerdictFace, WatchScreen
from pedal.modes.string_now import StringNow
from pedal.verdicts.aim import JudgeAs, next_goal
from pedal.verdicts.verdict import Verdict

GLANCE_S = 3.0
"""A bend's verdict outlives plain notes played after it for this long: the glance comes after the phrase."""


class Watch:
    """No target: any note of the key."""

    name: ModeName = "watch"
    judge_as: JudgeAs = "watch"
    rung: Rung | None = None
    wants_drone = False
    follows_readings = False

    def __init__(self, place: BoardSettings, string: StringNow, band: Band | None = None) -> None:
        self._place = place
        self._string, self._band = string, band or Band()
        self._face: VerdictFace | None = None
        self._bend_ended_s = float("-inf")

    def move(self, place: BoardSettings) -> None:
        """Another key or A4 gives the same string other names."""
        self._place = place

    def hear(self, heard: Heard) -> tuple[LogEntry, ...]:
        """A bend (or what failed to be one) is shown and logged, a plain note only shown."""
        if not isinstance(heard, Verdict):
            return ()
        if heard.kind == "steady":
            if heard.end_s - self._bend_ended_s > GLANCE_S:
                self._face = face_of(heard)
            return ()
        self._face = self._band.told(self._place, heard, face_of(heard))
        self._bend_ended_s = heard.end_s
        return (self._place.entry("watch", heard),)

    def command(self, action: Action) -> tuple[LogEntry, ...]:
        """`again` and `next_target` wipe the verdict."""
        if action in ("again", "next_target"):
            self._face, self._bend_ended_s = None, float("-inf")
        return ()

    def screen(self, status: Status) -> WatchScreen:
        """The string, the note it stands on, where it may go, the last verdict."""
        key = self._place.key
        foot = self._string.foot_midi(self._place)
        return WatchScreen(
            status,
            note=None if foot is None else key.spell(foot),
            target=None if foot is None else key.spell(next_goal(key, self._string.goals, foot)),
            string=self._string.picture(self._place),
            verdict=self._face,
        )
