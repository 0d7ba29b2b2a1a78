"""Level notes that were plucked hard on a wooden box are level notes: no hand moves a string as its thump does."""

from __future__ import annotations

from dataclasses import replace

import pytest
from curves import tell_notes_of
from thumps import THUMPS

from pedal.notes.bins import Bins
from pedal.pitch.reading import Reading
from pedal.verdicts.aim import Aim
from pedal.verdicts.judge import judge
from tests.note_names import key_of_third


@pytest.mark.parametrize("moved_ms", [-6, -3, 0, 3, 6])
@pytest.mark.parametrize("name", THUMPS)
def test_nothing_is_judged_where_only_the_box_thumped(name, moved_ms) -> None:
    """`moved_ms`: a pluck is not heard to the millisecond."""
    thump = replace(THUMPS[name], from_ms=THUMPS[name].from_ms + moved_ms)
    heard = thump.readings()
    end_s = max(r.heard_s for r in heard if r.hz)
    (note,) = tell_notes_of(0.0, end_s, heard, stopped=False, polyphonic=False)
    key = key_of_third(thump.midi)
    verdict = judge(note, Aim(key))
    assert (verdict.kind, verdict.rest_note) == ("steady", key.spell(thump.midi))


def test_a_doubtful_reading_of_the_pluck_weighs_less_and_one_of_the_note_as_much_as_ever() -> None:
    def weight(at_s: float, confidence: float) -> float:
        bins = Bins(0.0)
        bins.hear(Reading(at_s, 220.0, confidence, -20.0, at_s))
        ((_, found),) = bins.flush()
        return found

    assert weight(0.012, 0.88) < 0.25 * weight(0.012, 0.99)
    assert weight(0.4, 0.88) == pytest.approx(weight(0.4, 0.99))
