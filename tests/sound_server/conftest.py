"""Fixtures: a sound server for each test file, takes rendered once, and the live pedal as a process."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import soundfile

from tests.live.true_bend import RATE, a_true_bend
from tests.sound_server.server import SoundServer, missing_programs


@pytest.fixture(scope="module")
def server(request: pytest.FixtureRequest) -> Iterator[SoundServer]:
    """A running sound server; as many guitars as the module's GUITARS says."""
    missing = missing_programs()
    if missing:
        pytest.skip(f"no sound server here: {', '.join(missing)} missing")
    with SoundServer(guitars=getattr(request.module, "GUITARS", 1)) as running:
        yield running


@pytest.fixture
def state(tmp_path: Path) -> Path:
    """A state folder of its own for a pedal."""
    return tmp_path / "state"


@pytest.fixture(scope="module")
def bend(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A take with one true bend of C4 to D4."""
    file = tmp_path_factory.mktemp("takes") / "bend.wav"
    soundfile.write(file, a_true_bend(), RATE, subtype="PCM_16")
    return file
