"""Shared by all tests: one seeded generator, and the folder of the repository."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

REPOSITORY = Path(__file__).resolve().parent.parent


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(7)
