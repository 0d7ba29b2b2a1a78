"""Grids of cases: a choice in which each value occurs for `make test`, every cell for `make soak`."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

import pytest


def grid(*dimensions: Sequence[Any], each: int, hardest: Sequence[tuple[Any, ...]] = ()) -> list[Any]:
    """All cells of a grid, for `parametrize`; but for `each` so many-th one and the `hardest` they are `wide`."""
    every = list(itertools.product(*dimensions))
    in_passing = [*every[::each], *hardest]
    for place, values in enumerate(dimensions):
        missing = [value for value in values if value not in [cell[place] for cell in in_passing]]
        assert not missing, f"in no cell that make test runs: {missing}"
    assert all(cell in every for cell in hardest), "no cell of this grid"
    return [pytest.param(*cell, marks=() if cell in in_passing else pytest.mark.wide) for cell in every]
