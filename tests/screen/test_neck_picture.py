"""The drawing of the neck: every mark in its place, its arrow as long as the travel and the way the string goes."""

from __future__ import annotations

import pytest

from pedal.screen.line_art import Disc, Path, Square, Words
from pedal.screen.neck_picture import NeckMark, NeckSheet, neck_picture


def mark(string: int, fret: int, **changed) -> NeckMark:
    plain = {"degree": "1", "target": "C4", "semitones": 2, "travel_mm": 10.0, "force_n": 8.0, "grade": "firm"}
    return NeckMark(string, fret, **plain | {"curl": False, "pulled": string > 3} | changed)


def drawn(*marks: NeckMark, capo: int = 0):
    notes = ("E4", "B3", "G3", "D3", "A2", "E2")
    return neck_picture(NeckSheet("title", "subtitle", notes, (0.010, 0.013, 0.017, 0.026, 0.036, 0.046), capo, marks))


def arrow(one: NeckMark, capo: int = 0) -> float:
    """Signed length of its shaft, downwards positive: the only upright line that starts on the string of the mark."""
    art = drawn(one, capo=capo)
    y = 120.0 + 74.0 * (one.string - 1)
    shafts = [
        shape.points
        for shape in art.shapes
        if isinstance(shape, Path) and len(shape.points) == 2 and shape.points[0][0] == shape.points[1][0]
    ]
    ((_, tip),) = [(start, end) for start, end in shafts if start[1] == y]
    return tip[1] - y


def test_upper_strings_go_down_the_page_and_lower_ones_up() -> None:
    assert arrow(mark(1, 5)) > 0 > arrow(mark(6, 5))


def test_an_arrow_is_as_long_as_the_travel() -> None:
    assert arrow(mark(2, 5, travel_mm=18.0)) == pytest.approx(2 * arrow(mark(2, 5, travel_mm=9.0)))


@pytest.mark.parametrize(
    ("grade", "kind"), [("light", Disc), ("firm", Disc), ("heavy", Disc), ("not_with_this_set", Square)]
)
def test_each_grade_has_a_shape_of_its_own(grade: str, kind: type) -> None:
    spots = [shape for shape in drawn(mark(3, 5, grade=grade)).shapes if isinstance(shape, kind) and shape.y == 268.0]
    assert len(spots) == 1
    others = {"light", "firm", "heavy", "not_with_this_set"} - {grade}
    for other in others:
        for shape in drawn(mark(3, 5, grade=other)).shapes:
            assert shape != spots[0]


def test_a_wave_is_drawn_for_a_curl_only() -> None:
    def waves(one: NeckMark) -> int:
        return sum(isinstance(shape, Path) and len(shape.points) > 10 for shape in drawn(one).shapes)

    assert waves(mark(3, 3, curl=True)) == waves(mark(3, 3)) + 1


def test_spots_stand_in_order_between_their_frets() -> None:
    art = drawn(*(mark(3, fret, degree=str(fret)) for fret in (3, 5, 6)))
    across = {shape.text: shape.x for shape in art.shapes if isinstance(shape, Words) and shape.y == 268.0}
    assert across["3"] < across["5"] < across["6"]
    wires = sorted(
        shape.points[0][0] for shape in art.shapes if isinstance(shape, Path) and shape.points[0][1] == 120.0 - 14
    )
    assert len(wires) == 5
    assert wires[0] < across["3"] < wires[1]
    assert wires[2] < across["5"] < wires[3] < across["6"] < wires[4]


def test_a_capo_is_named_where_it_sits() -> None:
    assert any(isinstance(shape, Words) and shape.text == "capo 2" for shape in drawn(mark(1, 3), capo=2).shapes)
    assert not any(isinstance(shape, Words) and shape.text.startswith("capo") for shape in drawn(mark(1, 3)).shapes)
