"""The choice of cells that `make test` runs."""

from __future__ import annotations

import pytest

from tests.grids import grid


def run_by_make_test(cells: list) -> list[tuple[str, tuple]]:
    return [(cell.id, cell.values) for cell in cells if not cell.marks]


def test_cells_on_the_diagonals_and_the_hardest_are_run_and_all_are_there() -> None:
    cells = grid([1, 2, 3], {"low": 40, "high": 70}, each=2, hardest=[(2, 40)])
    assert len(cells) == 6
    assert run_by_make_test(cells) == [
        ("1-low", (1, 40)), ("2-low", (2, 40)), ("2-high", (2, 70)), ("3-low", (3, 40))
    ]  # fmt: skip


def test_a_value_that_would_never_be_run_is_refused() -> None:
    with pytest.raises(AssertionError, match="in no cell that make test runs: .*'2'"):
        grid([0, 1, 2], [0], each=3)


def test_a_hardest_cell_that_is_none_is_refused() -> None:
    with pytest.raises(AssertionError, match="no cell of this grid"):
        grid([0, 1], [0, 1], each=2, hardest=[(2, 0)])
