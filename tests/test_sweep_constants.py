"""The sweep over named numbers: it changes the one that it says, and knows which are no number of their own."""

from __future__ import annotations

import pytest

from bench.sweep_constants import changed, numbers_of, suite_of, with_value
from tests.test_sources import REPOSITORY, files_of

MODULE = """'''\u00e9'''
A, B = 1.0, (2, 4)
\"\"\"Why.\"\"\"
C: float = (
    3e-9
)

class Bands:
    low: float = 15.0
"""


@pytest.mark.parametrize(
    ("name", "value", "was", "becomes"),
    [("A", 1.3, "1.0,", "1.3,"), ("B", (3, 5), "(2, 4)", "(3, 5)"), ("C", 4e-9, "3e-9", "4e-09")],
)
def test_one_number_is_changed_and_nothing_else(name: str, value: object, was: str, becomes: str) -> None:
    assert with_value(MODULE, name, value) == MODULE.replace(was, becomes)


def test_a_band_is_found_in_its_class_and_what_is_not_there_nowhere() -> None:
    assert with_value(MODULE, "Bands.low", 10.5) == MODULE.replace("15.0", "10.5")
    with pytest.raises(ValueError, match="D is given no value"):
        with_value(MODULE, "D", 1.0)


@pytest.mark.parametrize(
    ("value", "larger", "smaller"),
    [(10.0, 13.0, 7.0), (2, 3, 1), (-26, -18, -34), (10, 13, 7), ((1, 10.0), (2, 13.0), (0, 7.0))],
)
def test_whole_numbers_stay_whole_and_change_by_one_at_least(value: object, larger: object, smaller: object) -> None:
    assert (changed(value, 1.3), changed(value, 0.7)) == (larger, smaller)


def test_what_is_worked_out_from_others_is_left_alone() -> None:
    names = {n.name: n for room in ("leak", "pitch", "verdicts") for file in files_of(room) for n in numbers_of(file)}
    assert {"PATIENCE", "Bands.true_cents", "HOP_S"} <= names.keys()
    assert not {"FIRST_TICKS", "SHORTEST_LAG", "OVERDONE_CENTS"} & names.keys()


def test_each_file_has_tests_that_are_there() -> None:
    for file in (*files_of("leak"), *files_of("pitch"), *files_of("verdicts")):
        paths = [each for each in suite_of(str(file.relative_to(REPOSITORY))) if each.startswith("tests/")]
        assert paths
        assert all((REPOSITORY / path).exists() for path in paths)
