"""The twelve bars of the demo, played with takes kept: what was heard against the score, and each take judged again."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import mir_eval
import numpy as np
import pytest
import soundfile

from pedal.chain import Chain
from pedal.live.worker import Worker
from pedal.synth.scene import Scene
from pedal.synth.score import hz_curve
from pedal.synth.twelve_bars import twelve_bars
from pedal.takes import TakeKeeper, TakeWriting
from pedal.takes.keeper import BEFORE_S
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict

RATE, BLOCK = 48_000, 512


@dataclass(frozen=True)
class Evening:
    scene: Scene
    verdicts: list[Verdict]
    takes: list[Path]


@pytest.fixture(scope="module")
def evening(tmp_path_factory: pytest.TempPathFactory) -> Evening:
    folder, scene = tmp_path_factory.mktemp("takes"), twelve_bars()
    chain = Chain(RATE, Aim(scene.key))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("pedal.takes.writing.WAITING_TAKES", 1000)  # the bars are over in seconds, the disk may be slow
        writing = TakeWriting(folder, most_bytes=10**9)
    worker = Worker("takes", writing.work)
    worker.start()
    keeper = TakeKeeper(writing, sample_rate=RATE)
    verdicts = []
    for block in scene.blocks(sample_rate=RATE, block_samples=BLOCK, rng=np.random.default_rng(7)):
        keeper.push(block)
        for heard in chain.push(block):
            if isinstance(heard, Verdict):
                verdicts.append(heard)
                keeper.verdict(heard)
    keeper.close()
    assert worker.stop(60.0)
    assert writing.dropped == 0
    return Evening(scene, verdicts, sorted(folder.iterdir()))


def test_every_note_of_the_score_is_heard_where_it_was_played(evening: Evening) -> None:
    """mir_eval's note-level comparison: onset within 50 ms and pitch within a quarter-tone (MIREX), both ways."""
    strokes = evening.scene.strokes
    played = np.array([(stroke.at_s, stroke.end_s) for stroke in strokes])
    played_hz = np.array([np.median(hz_curve(stroke, evening.scene.guitar, RATE)) for stroke in strokes])
    heard = np.array([(verdict.onset_s, verdict.end_s) for verdict in evening.verdicts])
    heard_hz = np.array([np.median(verdict.trace.hz) for verdict in evening.verdicts])
    precision, recall, f1, overlap = mir_eval.transcription.precision_recall_f1_overlap(
        played, played_hz, heard, heard_hz, offset_ratio=None
    )
    print(f"mir_eval over {len(strokes)} notes: precision {precision:.3f}, recall {recall:.3f}, overlap {overlap:.3f}")
    # Of two strings at once no pitch is told, and a slide's or hammer-on's middle pitch is a matter of taste.
    assert recall >= 21 / 24
    assert precision >= 21 / 24
    plucked = np.array([verdict.begun_by == "pluck" for verdict in evening.verdicts])
    onsets = mir_eval.onset.f_measure(played[:, 0], heard[plucked, 0], window=0.05)[0]
    assert onsets == 1.0


def test_every_take_gives_the_verdict_it_gave(evening: Evening) -> None:
    assert len(evening.takes) == len(evening.verdicts)
    worst = 0.0
    for verdict, path in zip(evening.verdicts, evening.takes, strict=True):
        samples, rate = soundfile.read(path, dtype="float32")
        chain = Chain(rate, Aim(evening.scene.key))
        again = [v for v in [*chain.push(samples), *chain.finish()] if isinstance(v, Verdict)]
        same = min(again, key=lambda v: abs(v.onset_s - BEFORE_S))
        assert (same.kind, same.verdict, same.ending) == (verdict.kind, verdict.verdict, verdict.ending), path.name
        if verdict.error_cents is not None:
            worst = max(worst, abs(same.error_cents - verdict.error_cents))
    print(f"errors of {len(evening.takes)} takes judged again differ by at most {worst:.2f} cents")
    assert worst < 0.1, "takes are cut where the chain measures"
