"""When a rendered sample sounds: held against a recording of a driver that ran dry and then told delays of its own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from pedal.live.output_clock import OutputClock

RATE = 48_000
RECORDED = Path(__file__).parent / "data" / "output_that_ran_dry.csv"
FIRST_BEAT_S = 256 / RATE
BEFORE_S, AFTER_S = 0.0743, 0.1877
"""Where the clicks of the pulse were found in what came in: see the file's head."""
RAN_DRY_S = 1.3
KNOWN_AFTER_S = 0.6


def test_an_output_that_ran_dry_is_known_where_it_is_though_its_driver_tells_otherwise() -> None:
    clock = OutputClock()
    worst_told_s = 0.0
    for now_s, rendered, delay_s in np.loadtxt(RECORDED, delimiter=",", comments=("#", "now_s")):
        clock.asked(now_s, rendered / RATE, delay_s)
        if clock.zero_s is None:
            assert now_s < 0.1, "the first clicks are heard by then"
            continue
        beat_s = clock.zero_s + FIRST_BEAT_S
        if now_s < RAN_DRY_S:
            assert beat_s == pytest.approx(BEFORE_S, abs=0.01)
        elif now_s > RAN_DRY_S + KNOWN_AFTER_S:
            assert beat_s == pytest.approx(AFTER_S, abs=0.01)
            worst_told_s = max(worst_told_s, abs(now_s + delay_s - rendered / RATE + FIRST_BEAT_S - AFTER_S))
    assert worst_told_s > 0.25, "what the driver told would have been far off"


def test_one_late_ask_moves_nothing_and_a_driver_that_asks_late_for_good_moves_all() -> None:
    clock = OutputClock()
    for block in range(40):
        late_s = 0.03 if block == 20 else 0.0
        clock.asked(5.0 + 0.04 * block + late_s, 0.04 * block, 0.1 - late_s)
        assert clock.zero_s == (None if block < 3 else pytest.approx(5.1))
    for block in range(40, 80):
        clock.asked(5.2 + 0.04 * block, 0.04 * block, 0.7)
    assert clock.zero_s == pytest.approx(5.3)


def test_a_delay_that_a_driver_changes_its_mind_about_is_followed_in_the_end() -> None:
    clock = OutputClock()
    for block in range(600):
        clock.asked(0.04 * block, 0.04 * block, 0.1 if block < 100 else 0.12)
    assert clock.zero_s == pytest.approx(0.12)


def test_before_the_first_ask_nothing_is_known() -> None:
    clock = OutputClock()
    assert clock.zero_s is None
    clock.asked(0.0, 0.0, 0.1)
    clock.forget()
    assert clock.zero_s is None


def test_a_server_that_changes_its_buffer_for_another_program_moves_nothing() -> None:
    """It asks 12 ms earlier and tells of 12 ms more: PulseAudio, when a recorder came and went."""
    clock = OutputClock()
    for block in range(100):
        moved_s = 0.012 if 30 <= block < 60 else 0.0
        clock.asked(0.04 * block - moved_s, 0.04 * block, 0.1 + moved_s)
        assert clock.zero_s == (None if block < 3 else pytest.approx(0.1))


def test_the_first_ask_of_a_dry_output_teaches_nothing_of_the_way() -> None:
    """The middle of the ten delays before it stands: those of 100 to 119 ms here, of which the last ten have 115."""
    clock = OutputClock()
    for block in range(20):
        clock.asked(0.04 * block, 0.04 * block, 0.1 + 0.001 * block)
    for block in range(20, 40):
        clock.asked(0.2 + 0.04 * block, 0.04 * block, 0.7)
    assert clock.zero_s == pytest.approx(0.2 + 0.115, abs=1e-6)


@pytest.mark.parametrize(("later_s", "dry"), [(0.0199, False), (0.0201, True)])
def test_twenty_ms_later_for_good_is_dry_and_not_believed_for_twenty_seconds(later_s: float, dry: bool) -> None:
    clock = OutputClock()
    for block in range(20):
        clock.asked(0.04 * block, 0.04 * block, 0.1)
    heard = []
    for block in range(20, 620):
        clock.asked(later_s + 0.04 * block, 0.04 * block, 0.3)
        heard.append(clock.zero_s)
    told, true = pytest.approx(later_s + 0.3), pytest.approx(later_s + 0.1)
    assert heard[15] == (true if dry else told)
    assert heard[480] == (true if dry else told), "19 s later"
    assert heard[-1] == told
