"""The small marks in the margins: from when to when each stands."""

from __future__ import annotations

import pytest

from pedal.modes.input_events import InputEvent, LivePitch, LogPaused, PartFailed, SwitchTrouble
from pedal.modes.margins import Margins
from pedal.modes.screen_model import Status


def status(*events: InputEvent) -> Status:
    margins = Margins()
    for event in events:
        margins.hear(event)
    return margins.status("watch", "A minor", drone=False)


def quiet(at_s: float, level_db: float = -20.0, **marks: bool) -> LivePitch:
    return LivePitch(at_s, 0.0, level_db, **marks)


@pytest.mark.parametrize(
    ("event", "mark", "last_s"),
    [(quiet(2.0, clipped=True), "clipped", 3.5), (PartFailed(2.0, "drawing"), "fault", 62.0)],
    ids=["clip", "fault"],
)
def test_a_mark_stands_so_long_and_no_longer(event: InputEvent, mark: str, last_s: float) -> None:
    assert getattr(status(event, quiet(last_s - 0.01)), mark)
    assert not getattr(status(event, quiet(last_s)), mark)
    assert not getattr(status(quiet(2.0)), mark)


@pytest.mark.parametrize(
    ("lost_at", "now_s", "count"),
    [((2.0,), 12.0, 1), ((2.0,), 12.1, 0), ((2.0, 3.0), 12.5, 2), ((2.0, 11.9), 21.9, 2), ((2.0, 12.1), 12.2, 1)],
)
def test_lost_blocks_are_counted_until_ten_seconds_went_without_one(lost_at, now_s: float, count: int) -> None:
    assert status(*(quiet(at_s, lost=True) for at_s in lost_at), quiet(now_s)).lost_blocks == count


@pytest.mark.parametrize(("level_db", "silent"), [(-80.1, True), (-80.0, False)])
@pytest.mark.parametrize(("for_s", "long"), [(4.99, False), (5.0, True)])
def test_five_seconds_below_all_hiss_are_silent(level_db: float, silent: bool, for_s: float, long: bool) -> None:
    found = status(quiet(1.0), quiet(2.0, level_db), quiet(3.0, level_db), quiet(2.0 + for_s, level_db))
    assert found.silent_input == (silent and long)


def test_a_sound_in_between_begins_the_silence_anew() -> None:
    assert not status(quiet(1.0, -99.0), quiet(5.0), quiet(5.5, -99.0), quiet(9.0, -99.0)).silent_input


@pytest.mark.parametrize(
    ("troubles", "shown"), [("3 2", 2), ("3 2 well2", 3), ("3 well3", None), ("", None), ("well4", None)]
)
def test_the_lowest_switch_that_gives_trouble_is_named_until_it_is_well(troubles: str, shown: int | None) -> None:
    events = [
        SwitchTrouble(1.0, int(word[-1]), "well" if word.startswith("well") else "stuck") for word in troubles.split()
    ]
    assert status(*events).bad_switch == shown


@pytest.mark.parametrize("paused", [(), (True,), (True, False)])
def test_that_the_log_is_paused_is_shown_while_it_is(paused: tuple[bool, ...]) -> None:
    assert status(*(LogPaused(1.0, one) for one in paused)).log_paused == (paused[-1:] == (True,))
