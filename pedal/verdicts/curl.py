"""Curls: less than a semitone up from the minor third or the flat seventh, into the blue zone, and cut off there."""

from __future__ import annotations

from pedal.notes.decoder import HALF_FRET_CENTS
from pedal.notes.note import Note
from pedal.theory.scale import CURL_SEMITONES
from pedal.verdicts.aim import Aim, Bands
from pedal.verdicts.judgement import ENDINGS, Judgement, above
from pedal.verdicts.measure import Measure
from pedal.verdicts.verdict import Word

OVERDONE_CENTS = 100.0 + HALF_FRET_CENTS
"""In Curl mode a rise up to here is a curl overdone, beyond it the player bent. Further above a pre-bend's target is
another note."""


def is_curl(height: float, rest_midi: int, aim: Aim) -> bool:
    """Whether a rise from this note counts as a curl."""
    if aim.judge_as == "ladder" or aim.key.steps_above_tonic(rest_midi) not in CURL_SEMITONES:
        return False
    if aim.judge_as == "curl":
        return height < OVERDONE_CENTS
    return height < 100.0 and not (aim.wants(rest_midi + 1) and reaches_semitone(height, aim.bands))


def reaches_semitone(height: float, bands: Bands) -> bool:
    """Whether a rise is a bend to the semitone above, if that was aimed at: over all that is true or near of a curl.

    Up to there it is a curl, however near the semitone; and less than half a fret is no bend, however narrow the zone.
    """
    return round(height, 2) > max(bands.zone_near_cents, HALF_FRET_CENTS)


def judge_curl(note: Note, heights: Measure, aim: Aim) -> Judgement:
    """A curl has a zone, not a target: `error_cents` stays None. Released, it is a miss however good its height."""
    name = aim.key.spell(heights.rest_midi)
    height = above(heights.bend)
    if note.ending == "released":
        return Judgement("curl", "released", f"{name} curled up {height} but was released before it was cut off.")
    word, where = _zone(heights.bend, aim.bands)
    if note.ending == "rang_out" and word == "true":
        reason = f"{name} curled up {height}, {where}, but was left to ring: cut it off while it is sharp."
        return Judgement("curl", "near", reason)
    return Judgement("curl", word, f"{name} curled up {height}, {where}, and was {ENDINGS[note.ending]}.")


def _zone(height: float, bands: Bands) -> tuple[Word, str]:
    height = round(height, 2)
    if height < bands.curl_least_cents:
        return "flat", "too little for a curl"
    if height < bands.zone_low_cents:
        return "near", "just under the blue zone"
    if height <= bands.zone_high_cents:
        return "true", "in the blue zone"
    if height <= bands.zone_near_cents:
        return "near", "just over the blue zone"
    return "sharp", "over the blue zone"
