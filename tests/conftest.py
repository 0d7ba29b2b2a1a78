"""Shared by all tests: one seeded generator, and the folder of the repository."""

from __future__ import annotations

from pathlib import Path

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
