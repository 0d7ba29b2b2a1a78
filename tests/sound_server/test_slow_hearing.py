"""A hearing ten times slower than here loses nothing: a board for little money, as far as a desk can be one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.live.true_bend import a_true_bend, write
from tests.sound_server.pedal_process import PedalProcess, true_bends, until
from tests.sound_server.server import SoundServer

pytestmark = [pytest.mark.sound_server, pytest.mark.soak]
BENDS = 8


def test_ten_times_slower_nothing_is_lost_and_every_bend_is_true(
    server: SoundServer, state: Path, tmp_path: Path
) -> None:
    take = write(tmp_path / "bends.wav", np.tile(a_true_bend(), BENDS))
    words = ("--input", "guitar_in", "--headless", "--json", "--no-drone")
    slow = "tests.sound_server.slow_pedal"
    with PedalProcess(server.environment, state, *words, program=("-m", slow, "live")) as pedal:
        pedal.until_said("listening to")
        server.play(take)
        until(lambda: true_bends(pedal) >= BENDS, what=f"{BENDS} true bends; it said {pedal.said!r}")
        assert len(pedal.lines) == BENDS
        assert pedal.stop()[0] == 0
        print("\n" + pedal.said)
        assert "at the end: nothing was lost" in pedal.said
        assert pedal.said.count("listening to") == 1
