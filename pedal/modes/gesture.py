"""Raw edges of footswitches, with their times -> gestures: short, long, double, both, held and let go.

When each gesture answers, and why:

    short   on the release, so that a press that becomes long, held or both is not also short
    long    while the foot is still down, `long_s` after the press; on a switch that also has a held gesture on the
            release, since only then it is known that the foot did not stay
    held    while the foot is still down: after `long_s`, or after `held_s` on a switch that also has a long gesture;
            `let_go` follows when the foot leaves
    double  on the second press; on such a switch a short waits until no second press can come any more
    both    on the second press, if it begins within `both_s` of the first and both are still down

Only gestures that are wished for are looked for: on a switch without a long gesture a slow stamp stays short, and on
one without a double the short does not wait. A switch that stays down longer than `stuck_s`, or whose contact is
noisy, is reported and ignored until it behaves.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from pedal.modes.contact import Change, Contact
from pedal.modes.input_events import Gesture, GestureKind, SwitchTrouble
from pedal.values import frozen

Felt = Gesture | SwitchTrouble


@frozen
class GestureTimes:
    """Seconds; raises `ValueError` unless `0 < debounce_s < both_s < double_s < long_s < held_s < stuck_s`."""

    debounce_s: float = 0.02
    both_s: float = 0.08
    double_s: float = 0.3
    long_s: float = 0.6
    held_s: float = 1.2
    stuck_s: float = 30.0

    def __post_init__(self) -> None:
        rising = (0.0, self.debounce_s, self.both_s, self.double_s, self.long_s, self.held_s, self.stuck_s)
        if any(not low < high for low, high in pairwise(rising)):
            raise ValueError(f"times must rise from debounce_s to stuck_s, got {rising[1:]} s")


@frozen
class Wishes:
    """The gestures that mean something: switches that have a long, held or double, and pairs that have a both."""

    long: frozenset[int]
    held: frozenset[int] = frozenset()
    double: frozenset[int] = frozenset()
    both: frozenset[tuple[int, int]] = frozenset()


@dataclass(slots=True)
class _Foot:
    """One switch: its contact, and what the present press has come to."""

    contact: Contact
    pressed_s: float = 0.0
    spent: bool = True  # the press has had its gesture, or there is no press
    holding: bool = False
    stuck: bool = False
    reported_noisy: bool = False
    tapped_s: float | None = None  # a press that is short unless a second one comes

    @property
    def still(self) -> bool:
        """Only an edge can change anything."""
        contact = self.contact
        waits = contact.moving or contact.noisy or self.tapped_s is not None
        return not waits and (self.stuck or not contact.pressed)


class GestureRecogniser:
    """`.edge(time_s, switch, pressed)` and `.tick(time_s)` give what was felt, in order of time.

    Call `tick` at least as often as an answer may be late. Times that run backwards count as no time passed. `wishes`
    may be changed between calls.
    """

    def __init__(self, wishes: Wishes, times: GestureTimes | None = None) -> None:
        self.wishes = wishes
        self._times = times or GestureTimes()
        self._feet: dict[int, _Foot] = {}
        self._now_s = float("-inf")

    @property
    def still(self) -> bool:
        """Nothing comes of the passing of time: every foot is off, or its switch is known to be stuck."""
        return all(foot.still for foot in self._feet.values())

    def edge(self, time_s: float, switch: int, pressed: bool) -> list[Felt]:
        """A raw edge of a switch (counted from 1): everything that has become certain by then."""
        felt = self.tick(time_s)
        foot = self._feet.setdefault(switch, _Foot(Contact(self._times.debounce_s)))
        foot.contact.edge(self._now_s, pressed)
        return felt + self._distrust(switch, foot)

    def tick(self, time_s: float) -> list[Felt]:
        """Time passes: everything that has become certain by then."""
        self._now_s = max(self._now_s, time_s)
        felt: list[Felt] = []
        for switch in sorted(self._feet, key=lambda switch: self._feet[switch].contact.raw_since_s):
            foot = self._feet[switch]
            if change := foot.contact.settle(self._now_s):
                felt += self._take(switch, foot, change)
            felt += self._distrust(switch, foot)
        for switch, foot in self._feet.items():
            felt += self._wait(switch, foot)
        return felt

    def _take(self, switch: int, foot: _Foot, change: Change) -> list[Felt]:
        if foot.reported_noisy:
            return []
        follow = self._press if change.pressed else self._release
        return follow(switch, foot, change.time_s)

    def _press(self, switch: int, foot: _Foot, time_s: float) -> list[Felt]:
        foot.pressed_s, foot.spent = time_s, False
        tapped_s, foot.tapped_s = foot.tapped_s, None
        if tapped_s is not None and time_s - tapped_s <= self._times.double_s:
            foot.spent = True
            return [Gesture(time_s, "double", (switch,))]
        late: list[Felt] = [Gesture(time_s, "short", (switch,))] if tapped_s is not None else []
        for other, its in self._feet.items():
            pair = (min(switch, other), max(switch, other))
            near = time_s - its.pressed_s <= self._times.both_s
            if pair in self.wishes.both and not its.spent and near:
                foot.spent = its.spent = True
                return [*late, Gesture(time_s, "both", pair)]
        return late

    def _release(self, switch: int, foot: _Foot, time_s: float) -> list[Felt]:
        if foot.stuck:
            foot.stuck, foot.spent = False, True
            return [SwitchTrouble(time_s, switch, "well")]
        felt = self._outstay(switch, foot, time_s)
        if foot.holding:
            foot.holding = False
            return [*felt, Gesture(time_s, "let_go", (switch,))]
        if foot.spent:
            return felt
        foot.spent = True
        lasted_s = time_s - foot.pressed_s
        if switch in self.wishes.long and lasted_s >= self._times.long_s:
            return [Gesture(time_s, "long", (switch,))]
        if switch in self.wishes.double and lasted_s < self._times.double_s:
            foot.tapped_s = foot.pressed_s
            return []
        return [Gesture(time_s, "short", (switch,))]

    def _wait(self, switch: int, foot: _Foot) -> list[Felt]:
        """What time alone decides: a tap that stays single, a foot that stays, a switch that is stuck."""
        if foot.tapped_s is not None and self._now_s > foot.tapped_s + self._times.double_s and not foot.contact.moving:
            tapped_s, foot.tapped_s = foot.tapped_s, None
            return [Gesture(tapped_s + self._times.double_s, "short", (switch,))]
        if not foot.contact.pressed or foot.contact.moving or foot.stuck or foot.reported_noisy:
            return []  # while the contact moves up it is not known whether the foot stayed
        if self._now_s - foot.pressed_s >= self._times.stuck_s:
            foot.stuck = True
            return [*self._give_up(switch, foot), SwitchTrouble(self._now_s, switch, "stuck")]
        return self._outstay(switch, foot, self._now_s)

    def _outstay(self, switch: int, foot: _Foot, until_s: float) -> list[Felt]:
        """The gesture of a foot that was down until then, once it has outstayed its time."""
        has_long, has_held = switch in self.wishes.long, switch in self.wishes.held
        after_s = self._times.held_s if has_long and has_held else self._times.long_s
        if foot.spent or not (has_long or has_held) or until_s - foot.pressed_s < after_s:
            return []
        foot.spent, foot.holding = True, has_held
        kind: GestureKind = "held" if has_held else "long"
        return [Gesture(foot.pressed_s + after_s, kind, (switch,))]

    def _give_up(self, switch: int, foot: _Foot) -> list[Felt]:
        """The press is believed no longer: what was begun by it ends, nothing more comes of it."""
        holding, foot.holding, foot.spent, foot.tapped_s = foot.holding, False, True, None
        return [Gesture(self._now_s, "let_go", (switch,))] if holding else []

    def _distrust(self, switch: int, foot: _Foot) -> list[Felt]:
        """Report a contact that turned noisy, or is quiet again."""
        if foot.contact.noisy == foot.reported_noisy:
            return []
        foot.reported_noisy = foot.contact.noisy
        if foot.contact.noisy:
            foot.stuck = False
            return [*self._give_up(switch, foot), SwitchTrouble(self._now_s, switch, "noisy")]
        return [SwitchTrouble(self._now_s, switch, "well")]
