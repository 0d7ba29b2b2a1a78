"""Level notes of a sampled guitar, along the neck: nothing is judged of them, even in the key of which they are thirds.

The sound is Debian's timgm6mb-soundfont played by fluidsynth: neither the sound nor the pitch is made here.
"""

from __future__ import annotations

import numpy as np
import pytest

from pedal.chain import Chain
from pedal.theory.spelling import parse_pitch
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict
from tests.grids import grid
from tests.note_names import key_of_third
from tests.sound_server import sampled_guitar

PROGRAMS = [sampled_guitar.STEEL_GUITAR, sampled_guitar.JAZZ_GUITAR, sampled_guitar.CLEAN_GUITAR]


LEADS_S = [0.3, 0.3008, 0.3016]
NOTES = [*range(40, 46), *range(47, 77, 3)]


@pytest.mark.parametrize(
    ("program", "midi", "lead_s"),
    grid(PROGRAMS, NOTES, LEADS_S, each=3),
)
def test_a_level_note_of_the_font_is_heard_as_one(program, midi, lead_s) -> None:
    if sampled_guitar.font() is None:
        pytest.skip("no General MIDI sound font here: install timgm6mb-soundfont")
    note = sampled_guitar.Sounded(midi, ((0.8, 0.0),), velocity=110 if midi % 8 else 70)
    samples, _ = sampled_guitar.render([note], program=program, lead_s=lead_s)
    chain = Chain(sampled_guitar.RATE, Aim(key_of_third(midi)))
    heard = [*chain.push(samples.astype(np.float32)), *chain.finish()]
    (verdict,) = [one for one in heard if isinstance(one, Verdict)]
    assert (verdict.kind, parse_pitch(verdict.rest_note)) == ("steady", midi)
