"""Grids of cases: a choice in which each value occurs for `make test`, every cell for `make soak`."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from typing import Any

import pytest

Dimension = Sequence[Any] | Mapping[str, Any]
"""Values, or values by what a cell with them is called."""


def grid(*dimensions: Dimension, each: int, hardest: Sequence[tuple[Any, ...]] = ()) -> list[Any]:
    """All cells of a grid, for `parametrize`; what is on no `each`-th diagonal and none of the `hardest` is `wide`."""
    named = [list(values.items() if isinstance(values, Mapping) else _named(values)) for values in dimensions]
    cells, in_passing = [], []
    for places in itertools.product(*(range(len(values)) for values in named)):
        names, cell = zip(*(values[place] for place, values in zip(places, named, strict=True)), strict=True)
        now = sum(places) % each == 0 or cell in hardest
        in_passing += [cell] if now else []
        cells.append(pytest.param(*cell, id="-".join(names), marks=() if now else pytest.mark.wide))
    for place, values in enumerate(named):
        missing = [name for name, value in values if value not in [cell[place] for cell in in_passing]]
        assert not missing, f"in no cell that make test runs: {missing}"
    assert all(cell in in_passing for cell in hardest), "no cell of this grid"
    return cells


def _named(values: Sequence[Any]) -> list[tuple[str, Any]]:
    plain = all(isinstance(value, str | int | float) for value in values)
    return [(str(value if plain else place), value) for place, value in enumerate(values)]
