"""What was lost, in one sentence."""

from __future__ import annotations

import pytest

from pedal.live.counts import Counts

SENTENCES = [
    (Counts(), "nothing was lost"),
    (Counts(dropped_blocks=3), "nothing was lost"),  # the hearing has not come to the gap yet
    (Counts(gaps=1, lost_s=0.3), "0.30 s of sound lost in 1 gap"),
    (Counts(gaps=3, lost_s=1.25, overflows=2, dropped_blocks=1),
     "1.25 s of sound lost in 3 gaps (2 overflows, 1 block dropped)"),
    (Counts(dropped_lines=1, dropped_entries=2, dropped_takes=3),
     "2 log entries lost; 1 printed line lost; 3 takes lost"),
]  # fmt: skip


@pytest.mark.parametrize(("counts", "sentence"), SENTENCES)
def test_the_sentence(counts: Counts, sentence: str) -> None:
    assert counts.sentence() == sentence
    assert (counts.total == 0) is (sentence == "nothing was lost")
