"""Scale bends: from a note to the one above it in the scale, judged against the rest note as it was heard."""

from __future__ import annotations

from pedal.notes.decoder import HALF_FRET_CENTS
from pedal.notes.note import Note
from pedal.notes.runs import NEAR_FRET_CENTS
from pedal.theory.force import SEMITONES_MOST
from pedal.verdicts.aim import Aim, Target
from pedal.verdicts.judgement import Judgement, above, off, unclear, word_for
from pedal.verdicts.measure import Measure, absolute_cents
from pedal.verdicts.verdict import Kind

STEPS = {
    1: "a half step",
    2: "a whole step",
    3: "one and a half steps",
    4: "two whole steps",
    5: "two and a half steps",
}


def aimed_midi(height: float, rest_midi: int, aim: Aim) -> int:
    """The scale note that a bend of this height was meant for: the next, unless another is nearer by half a fret."""
    following = aim.next_above(rest_midi)

    def miss(midi: int) -> float:
        return abs(height - 100.0 * (midi - rest_midi))

    others = [m for m in range(rest_midi + 1, rest_midi + int(SEMITONES_MOST) + 1) if aim.wants(m)]
    nearest = min(others, key=miss, default=following)
    return nearest if miss(nearest) < miss(following) - HALF_FRET_CENTS else following


def _outside(height: float, rest_midi: int, aim: Aim) -> int | None:
    """The semitone outside the key that a bend of this height came to, None if it came to none."""
    steps = round(height / 100.0)
    near = 1 <= steps <= SEMITONES_MOST and abs(height - 100.0 * steps) <= NEAR_FRET_CENTS
    return rest_midi + steps if near and not aim.key.contains(rest_midi + steps) else None


def judge_bend(note: Note, heights: Measure, aim: Aim) -> Judgement:
    """A bend from a heard rest note."""
    kind: Kind = "bend_release" if note.shape == "rise_fall" else "bend"
    rest = aim.key.spell(heights.rest_midi)
    if aim.target is None:
        target = aimed_midi(heights.bend, heights.rest_midi, aim)
        way = 100.0 * (target - heights.rest_midi)
        if heights.bend < HALF_FRET_CENTS:
            nudge = f"{rest} was nudged up {above(heights.bend)}"
            return unclear(f"{nudge}: too little for a bend, and no place for a curl.")
        if abs(heights.bend - way) > NEAR_FRET_CENTS:
            outside = _outside(heights.bend, heights.rest_midi, aim)
            if outside is not None:
                steps = outside - heights.rest_midi
                name = aim.key.spell(outside)
                return Judgement(kind, "unclear", f"{rest} bent {STEPS[steps]} to {name}, outside the key.")
    else:
        target = aim.target.target_midi
        if heights.rest_midi != aim.target.rest_midi:
            return other_note(heights.rest_midi, aim.target, aim)
    bands = aim.bands.against_drone() if aim.drone else aim.bands
    error = heights.bend - 100.0 * (target - heights.rest_midi)
    word = word_for(error, true_cents=bands.true_cents, near_cents=bands.near_cents)
    reason = f"{rest} bent to {aim.key.spell(target)}: {off(error)}."
    return Judgement(kind, word, reason, target, error, absolute_cents(note.hold_hz or 0.0, target, aim))


def other_note(rest_midi: int, target: Target, aim: Aim) -> Judgement:
    """Not judged: the player fretted another note than the one asked for."""
    return unclear(f"{aim.key.spell(rest_midi)} was played: the target bends from {aim.key.spell(target.rest_midi)}.")
