"""The gestures of a lead guitarist as strokes: curl, bend, pre-bend, vibrato, slide, hammer-on, two strings at once.

Each says by construction what a fair judge must say of it; the bands are the pedal's defaults.
"""

from __future__ import annotations

from dataclasses import replace

from pedal.synth.score import Ending, Expected, Leg, Shake, Stroke, Word
from pedal.theory.neck import PLAIN_NECK, Neck
from pedal.theory.scale import Key
from pedal.theory.zone import BLUE_ZONE, Height
from pedal.values import frozen


@frozen
class Hand:
    """A hand on a neck in a key: turns gestures into strokes.

    true_cents, near_cents : the bands by which its bends will be judged.
    """

    key: Key
    neck: Neck = PLAIN_NECK
    true_cents: float = 10.0
    near_cents: float = 25.0

    def steady(self, at_s: float, string: int, fret: int, *, seconds: float = 0.55, ring: bool = False) -> Stroke:
        """A note that stays where it is; left to fade if `ring`."""
        expected = Expected("steady", ending="rang_out" if ring else "cut")
        return self._stroke(at_s, string, fret, (Leg(seconds, 0),), expected, ring=ring)

    def curl(self, at_s: float, string: int, fret: int, cents: float, *, rest_s: float = 0.3) -> Stroke:
        """Pushed into the blue zone and cut off there."""
        expected = Expected("curl", curl_word(cents), "cut_sharp", cents)
        legs = (Leg(rest_s, 0), Leg(0.22, cents), Leg(0.38, cents))
        return self._stroke(at_s, string, fret, legs, expected)

    def curl_released(self, at_s: float, string: int, fret: int, cents: float) -> Stroke:
        """A curl released before it was cut off: a miss, however good its height."""
        legs = (Leg(0.3, 0), Leg(0.22, cents), Leg(0.3, cents), Leg(0.16, 0), Leg(0.28, 0))
        return self._stroke(at_s, string, fret, legs, Expected("curl", "released", "released", cents))

    def bend(
        self,
        at_s: float,
        string: int,
        fret: int,
        error_cents: float = 0.0,
        *,
        hold_s: float = 0.7,
        rise_s: float = 0.28,
        shake: Shake | None = None,
    ) -> Stroke:
        """A bend to the next scale note, `error_cents` off, held and cut off; `shake` counts from the arrival."""
        height, expected = self._target(string, fret, error_cents, "cut_sharp")
        rest_s = 0.32
        legs = (Leg(rest_s, 0), Leg(rise_s, height), Leg(hold_s, height))
        shake = replace(shake, after_s=rest_s + rise_s + shake.after_s) if shake else None
        return replace(self._stroke(at_s, string, fret, legs, expected), shake=shake)

    def bend_and_release(self, at_s: float, string: int, fret: int, error_cents: float = 0.0) -> Stroke:
        """A bend to the note above it in the scale that comes down again and is left to fade."""
        height, expected = self._target(string, fret, error_cents, "released")
        legs = (Leg(0.3, 0), Leg(0.26, height), Leg(0.55, height), Leg(0.22, 0), Leg(0.6, 0))
        return self._stroke(at_s, string, fret, legs, replace(expected, kind="bend_release"), ring=True)

    def prebend(self, at_s: float, string: int, fret: int, error_cents: float = 0.0, *, hold_s: float = 0.9) -> Stroke:
        """Bent before it is plucked, held, and cut off: only who knows the target can tell it from a level note."""
        height, expected = self._target(string, fret, error_cents, "cut")
        stroke = self._stroke(at_s, string, fret, (Leg(hold_s, height),), replace(expected, kind="prebend"))
        return replace(stroke, start_cents=height)

    def prebend_and_release(self, at_s: float, string: int, fret: int, error_cents: float = 0.0) -> Stroke:
        """Bent before it is plucked, held, then released to the fretted note."""
        height, expected = self._target(string, fret, error_cents, "released")
        legs = (Leg(0.65, height), Leg(0.24, 0), Leg(0.6, 0))
        stroke = self._stroke(at_s, string, fret, legs, replace(expected, kind="prebend_release"), ring=True)
        return replace(stroke, start_cents=height)

    def slide(self, at_s: float, string: int, fret: int, frets: int) -> Stroke:
        """Up the string in fret-sized stairs: no bend."""
        legs = (Leg(0.4, 0), Leg(0.7, 100.0 * frets, "stairs"))
        return self._stroke(at_s, string, fret, legs, Expected("slide", "unclear"), ring=True)

    def hammer_on(self, at_s: float, string: int, fret: int, frets: int) -> Stroke:
        """A second finger comes down: the pitch jumps. No bend."""
        legs = (Leg(0.4, 0), Leg(0.6, 100.0 * frets, "jump"))
        return self._stroke(at_s, string, fret, legs, Expected("steady", "unclear"), ring=True)

    def two_strings(self, at_s: float, string: int, fret: int, other_string: int, other_fret: int) -> Stroke:
        """Two strings struck together: nothing can be judged."""
        stroke = self._stroke(at_s, string, fret, (Leg(0.9, 0),), Expected("unclear", "unclear"), ring=True)
        return replace(stroke, second_midi=self.neck.midi(other_string, other_fret))

    def _target(self, string: int, fret: int, error_cents: float, ending: Ending) -> tuple[float, Expected]:
        """Height of a bend to the next scale note, and what is to be said of it."""
        midi = self.neck.midi(string, fret)
        target = self.key.next_above(midi)
        height = 100.0 * (target - midi) + error_cents
        word = bend_word(error_cents, true_cents=self.true_cents, near_cents=self.near_cents)
        return height, Expected("bend", word, ending, height, error_cents, target)

    def _stroke(
        self, at_s: float, string: int, fret: int, legs: tuple[Leg, ...], expected: Expected, *, ring: bool = False
    ) -> Stroke:
        return Stroke(at_s, string, fret, self.neck.midi(string, fret), legs, expected, choke=not ring)


def bend_word(error_cents: float, *, true_cents: float = 10.0, near_cents: float = 25.0) -> Word:
    """The verdict on a bend that arrives `error_cents` off."""
    if abs(error_cents) <= true_cents:
        return "true"
    if abs(error_cents) <= near_cents:
        return "near"
    return "flat" if error_cents < 0 else "sharp"


def curl_word(cents: float) -> Word:
    """The verdict on a curl that is cut off `cents` above its rest note."""
    return _CURL_WORDS[BLUE_ZONE.height(cents)]


_CURL_WORDS: dict[Height, Word] = {
    "too_low": "flat",
    "near_below": "near",
    "inside": "true",
    "near_above": "near",
    "too_high": "sharp",
}
