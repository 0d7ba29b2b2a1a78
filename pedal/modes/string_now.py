"""Readings and note events -> the picture of the string: how high it is bowed, and the highest point it reached.

Heights are cents above a foot: the rest note as it was heard. Until a rest is heard the foot is the nearest semitone;
a pre-bend never rests, so its foot is the fretted note that its first pitch is a bend of. Heard in Watch, where
nobody knows what was meant, it seems to rest where it was bent to, until it is released: then the foot moves under it.
"""

from __future__ import annotations

from collections import deque

from pedal.modes.input_events import Heard, LivePitch
from pedal.modes.screen_model import StringPicture
from pedal.modes.state import PedalState
from pedal.notes.event import End, Fall, Hold, Onset, Rest, Rise
from pedal.pitch.reading import Reading
from pedal.theory.cents import cents_between, hz_of, midi_of
from pedal.theory.scale import CURL_SEMITONES, Key
from pedal.verdicts.aim import Target, next_goal

PEAK_READINGS = 5
"""The notch is the highest median of this many readings (13 ms): one stray reading does not move it."""
SAME_NOTE_CENTS = 70.0
"""A rest this near a rung's fretted note is that note, out of tune by what a neck and a careless hand can do."""


class StringNow:
    """`.hear(event)` follows the string; `.picture(...)` says where it is.

    There is one for all modes: whichever the player moves to, a note that sounds goes on.
    """

    def __init__(self) -> None:
        self._now_hz = 0.0
        self._latest: deque[float] = deque(maxlen=PEAK_READINGS)
        self._peak_hz = 0.0
        self._risen = self._falling = self._released = False
        self.rest_hz: float | None = None
        self.first_hz: float | None = None
        self.sounding = False
        self.goals: frozenset[int] = frozenset()
        """Pitch classes that bends aim at before the key's."""

    def hear(self, heard: Heard) -> None:
        """Take what came from the strings."""
        match heard:
            case Reading(hz=hz):
                self.climb(hz)
            case LivePitch(hz=hz):
                self._move_to(hz)
            case Onset():
                self._begin()
            case Rest(hz=hz):
                self.rest_hz = hz
            case Hold(hz=hz) if self._released:
                self.rest_hz = hz
            case Hold(hz=hz) if self.rest_hz is None:
                self.first_hz = hz
            case Rise():
                self._risen = True
            case Fall():
                self._falling = not self._risen
            case End():
                self.sounding = False
                self._now_hz = 0.0
            case _:
                pass

    def _move_to(self, hz: float) -> None:
        # Between notes the tracker may hear the next one before its onset is certain: it stands on no foot yet.
        self._now_hz = hz if self.sounding else 0.0
        if self._falling and self.rest_hz and hz > 0.0 and cents_between(self.rest_hz, hz) < -SAME_NOTE_CENTS:
            self.first_hz, self.rest_hz, self._released = self.rest_hz, None, True

    def _begin(self) -> None:
        self.sounding = True
        self._risen = self._falling = self._released = False
        self.rest_hz = self.first_hz = None
        self.clear_notch()

    def climb(self, hz: float) -> None:
        """Take the pitch of one more reading; 0.0 if it has none."""
        if hz <= 0.0 or not self.sounding:
            return
        latest = self._latest
        latest.append(hz)
        # A median that is higher than ever has a newest reading that is: the one before would else have been as high.
        if hz > self._peak_hz and len(latest) == PEAK_READINGS:
            self._peak_hz = max(self._peak_hz, sorted(latest)[PEAK_READINGS // 2])

    def clear_notch(self) -> None:
        """Forget the highest point: what is asked for now is another bend."""
        self._latest.clear()
        self._peak_hz = 0.0

    def foot_midi(self, state: PedalState, target: Target | None = None) -> int | None:
        """The note the string stands on now; None before anything was heard.

        A rung that is aimed at stays the foot unless another note was heard to rest.
        """
        if self.rest_hz is not None:
            heard = midi_of(self.rest_hz, a4_hz=state.a4_hz)
            if target and 100.0 * abs(heard - target.rest_midi) <= SAME_NOTE_CENTS:
                return target.rest_midi
            return round(heard)
        if target:
            return target.rest_midi
        if self.first_hz is not None:
            return _bent_from(state.key, midi_of(self.first_hz, a4_hz=state.a4_hz))
        if self._now_hz > 0.0:
            return round(midi_of(self._now_hz, a4_hz=state.a4_hz))
        return None

    def picture(self, state: PedalState, target: Target | None = None) -> StringPicture:
        """The string over its foot, the post at the next note of the key (or the target asked for), a curl's zone."""
        key, bands = state.key, state.bands_now
        foot = self.foot_midi(state, target)
        if foot is None:
            return StringPicture()
        foot_hz = self.rest_hz or hz_of(foot, a4_hz=state.a4_hz)
        asked = target is not None and foot == target.rest_midi
        goal = target.target_midi if target and asked else next_goal(key, self.goals, foot)
        curled = target is None and key.steps_above_tonic(foot) in CURL_SEMITONES
        return StringPicture(
            now_cents=_above(foot_hz, self._now_hz),
            target_cents=None if target and not asked else 100.0 * (goal - foot),
            zone_cents=(bands.zone_low_cents, bands.zone_high_cents) if curled else None,
            peak_cents=_above(foot_hz, self._peak_hz),
            true_cents=bands.true_cents,
        )


def _above(foot_hz: float, hz: float) -> float | None:
    """Whole cents, as figures are said: a dot is worth four, and what the eye cannot see need not be drawn again."""
    return float(round(cents_between(foot_hz, hz))) if hz > 0.0 else None


def _bent_from(key: Key, arrived: float) -> int:
    """The scale note below the scale note that a pre-bend arrived nearest to."""
    scale = (midi for midi in range(round(arrived) - 6, round(arrived) + 7) if key.contains(midi))
    goal = min(scale, key=lambda midi: abs(midi - arrived))
    return next(m for m in range(goal - 1, goal - 13, -1) if key.contains(m))
