"""What an echo names as unlike is what was changed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedal.modes.bend_profile import BendProfile, compare

MODEL = BendProfile(200.0, 0.25, 1.0, 5.5, 20.0, "cut_sharp")


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({}, ""),
        ({"height_cents": 203.0}, ""),
        ({"height_cents": 160.0}, "TOO LOW"),
        ({"height_cents": 225.0}, "TOO HIGH"),
        ({"rise_s": 0.8}, "SLOW RISE"),
        ({"rise_s": 0.06}, "FAST RISE"),
        ({"hold_s": 3.0}, "LONG HOLD"),
        ({"hold_s": 0.3}, "SHORT HOLD"),
        ({"vibrato_hz": 0.0, "vibrato_cents": 0.0}, "NO VIBRATO"),
        ({"vibrato_cents": 60.0}, "WIDE SHAKE"),
        ({"vibrato_hz": 9.0}, "FAST SHAKE"),
        ({"ending": "released"}, "RELEASED"),
        ({"ending": "rang_out"}, "RANG OUT"),
        ({"height_cents": 150.0, "ending": "released"}, "TOO LOW"),
    ],
)
def test_the_greatest_difference_is_named(changed: dict[str, float | str], named: str) -> None:
    assert compare(MODEL, replace(MODEL, **changed)).unlike == named  # type: ignore[arg-type]


def test_vibrato_where_the_model_has_none_is_named() -> None:
    plain = replace(MODEL, vibrato_hz=0.0, vibrato_cents=0.0)
    assert compare(plain, MODEL).unlike == "VIBRATO"
