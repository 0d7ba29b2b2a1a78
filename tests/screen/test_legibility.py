"""Minutes of arc against the handbook's own figures, and what a player with a small panel is told."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from standing import LEAST_MINUTES, PANELS, PREFERRED_MINUTES, screen_arc_minutes, standing_rows

from pedal.screen.drawing import lay_out
from pedal.screen.legibility import PanelSize, arc_minutes, warnings_for
from pedal.screen.samples import samples


@pytest.mark.parametrize(
    ("height_mm", "minutes"),
    [(7.45, 16.0), (9.31, 20.0), (10.24, 22.0)],
)
def test_character_heights_at_standing_distance(height_mm, minutes):
    """6.283 x distance x minutes / 21600, NUREG-0700, at 1.6 m."""
    assert arc_minutes(height_mm, 1.6) == pytest.approx(minutes, abs=0.03)
    assert 6.283 * 1600 * minutes / 21600 == pytest.approx(height_mm, abs=0.01)


@given(st.floats(0.1, 50), st.floats(0.2, 5))
def test_small_angles_are_angles(height_mm, distance_m):
    """Against the exact angle: the rule's error stays far below a tenth of a minute for what we show."""
    exact = math.degrees(math.atan(height_mm / 1000 / distance_m)) * 60
    assert arc_minutes(height_mm, distance_m) == pytest.approx(exact, rel=0.03)


@pytest.mark.parametrize(("height_mm", "distance_m"), [(0, 1.6), (-1, 1.6), (10, 0), (10, -1), (math.nan, 1)])
def test_no_height_and_no_distance_have_no_angle(height_mm, distance_m):
    with pytest.raises(ValueError, match="must be positive"):
        arc_minutes(height_mm, distance_m)


def test_the_large_panel_serves_a_player_on_their_feet():
    assert warnings_for(PANELS["2.42 inch"], 1.6) == []


@pytest.mark.parametrize("name", ["0.91 inch", "0.96 inch", "1.3 inch"])
def test_a_small_panel_is_told_in_one_sentence_with_two_remedies(name):
    (ellipsis,) = warnings_for(PANELS[name], 1.6)
    assert "come within" in ellipsis
    assert "or take a panel" in ellipsis
    assert "\n" not in ellipsis


@pytest.mark.parametrize("name", PANELS)
@given(distance_m=st.floats(0.3, 4.0))
def test_the_remedies_cure_the_warning(name, distance_m):
    panel = PANELS[name]
    ellipsis = warnings_for(panel, distance_m)
    if ellipsis:
        near_m = arc_minutes(24 * panel.height_mm / panel.rows, distance_m) / PREFERRED_MINUTES * distance_m
        assert warnings_for(panel, near_m * 0.999) == []
        needed_mm = panel.height_mm * distance_m / near_m
        assert warnings_for(PanelSize(needed_mm * 1.001, panel.rows), distance_m) == []


def test_a_verdict_figure_that_alone_can_be_read_is_said():
    (ellipsis,) = warnings_for(PanelSize(20.0), 1.6)
    assert "the figure of a verdict is 21 minutes and can be read" in ellipsis


@pytest.mark.parametrize("name", samples())
def test_even_close_to_the_least_the_large_panel_holds_from_two_metres(name):
    """A tall player: 16 minutes are the least that the standard allows (from memory)."""
    assert screen_arc_minutes(samples()[name], PANELS["2.42 inch"], 2.0) >= LEAST_MINUTES


def test_close_screens_ask_nothing_of_a_standing_player():
    assert standing_rows(samples()["watch flat"], density="close") is None
    assert standing_rows(samples()["watch flat"]) == 24


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("watch in time", "C"),
        ("watch late", "C"),
        ("tune in time", "D"),
        ("echo in time", "D"),
        ("blind in time", "F♯"),
        ("lick ready", "G3 B♭3…"),
        ("round lick", "OLD GATE"),
    ],
)
def test_chords_and_names_of_licks_are_read_standing(name, words):
    """The chord in every mode where a bend may follow it; a lick by its name before it is played."""
    canvas = lay_out(samples()[name], density="glance", height=64)
    rows = [one.cap_rows for one in canvas.written if one.words == words and one.standing]
    panel = PANELS["2.42 inch"]
    assert rows and arc_minutes(rows[0] * panel.height_mm / panel.rows, 1.6) >= 20.0
