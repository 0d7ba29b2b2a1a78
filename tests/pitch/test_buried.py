"""A held note that sinks into the hum is told by its partials alone: from where, and how far they must stand out."""

from __future__ import annotations

import pytest

from pedal.pitch.gate import Gate


@pytest.mark.parametrize(
    ("over_noise", "over_floor", "buried"),
    [
        (1.6, 5.9, True), (1.5, 5.9, False), (0.0, 5.9, False), (1.6, 6.0, False), (1.6, 60.0, False), (1.6, 0.0, True),
    ],
)  # fmt: skip
def test_a_note_is_buried_below_six_floors_while_its_partials_stand_out_by_half(
    over_noise: float, over_floor: float, buried: bool
) -> None:
    gate = Gate()
    gate.floor = 0.25
    gate.loudest = over_floor * gate.floor
    assert gate.buried(over_noise) == buried
