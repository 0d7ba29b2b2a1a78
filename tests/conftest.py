"""Shared by all tests: one seeded generator, and the folder of the repository."""

from __future__ import annotations

import os
from pathlib import Path

# As the Makefile does: threads that spin while they wait make a test last fifty times as long on a busy machine.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import pytest
from hypothesis import settings

REPOSITORY = Path(__file__).resolve().parent.parent

# A busy machine is no fault of a property: none is judged by the clock.
settings.register_profile("without_a_clock", deadline=None)
settings.load_profile("without_a_clock")


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(7)
