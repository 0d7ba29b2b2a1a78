"""A sampled guitar in a made room, a third of it echo: what wanders after a string was stopped is no bend."""

from __future__ import annotations

import numpy as np
import pytest

from bench.real_strings import loud, room
from pedal.chain import Chain
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict
from tests.sound_server.sampled_guitar import CLEAN_GUITAR, RATE, STEEL_GUITAR, SampledGuitar, Sounded


def verdict_on(note: Sounded, program: int, key: str) -> Verdict:
    """The first, on the note alone."""
    guitar = SampledGuitar(program)
    sound = guitar.play(note)
    guitar.close()
    heard_in_it = room(loud(sound))
    chain = Chain(RATE, Aim(parse_key(key)))
    heard = chain.push(np.concatenate([np.zeros(RATE // 3), heard_in_it]).astype(np.float32)) + chain.finish()
    return next(h for h in heard if isinstance(h, Verdict))


@pytest.mark.parametrize(
    ("program", "midi", "key"),
    [(CLEAN_GUITAR, 43, "E minor pentatonic"), (STEEL_GUITAR, 52, "Db minor pentatonic")],
    ids=["told as a curl of 21 cents", "told as a curl of 14 cents"],
)
def test_a_level_note_is_level(program: int, midi: int, key: str) -> None:
    verdict = verdict_on(Sounded(midi, [(1.0, 0.0)]), program, key)
    assert (verdict.kind, verdict.ending) == ("steady", "cut")


@pytest.mark.parametrize("midi", [46, 58, 65])
@pytest.mark.parametrize("cents", [30.0, 70.0])
def test_a_curl_is_as_high_as_it_was_played_and_cut_off_sharp(midi: int, cents: float) -> None:
    """Flat thirds and sevenths of G. The echo of where the string was moves what is heard, by up to 6 cents here."""
    verdict = verdict_on(Sounded(midi, [(0.3, 0.0), (0.15, cents), (0.4, cents)]), CLEAN_GUITAR, "G minor pentatonic")
    assert (verdict.kind, verdict.ending) == ("curl", "cut_sharp")
    assert verdict.bend_cents == pytest.approx(cents, abs=7.0)
