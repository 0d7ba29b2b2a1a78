"""What of the log teaches the order by need."""

from __future__ import annotations

from dataclasses import replace

import pytest
from playing import a_verdict

from pedal.modes.history import History, spot_of
from pedal.modes.state import PedalState

# Written out, and not taken from the code, so that a change of it is seen.
RECENT = 8

PLACE = PedalState()
RUNG = PLACE.rungs()[0]


def entries(*errors: float | None, mode: str = "ladder", **changes: object) -> list:
    return [PLACE.entry(mode, a_verdict(error_cents=error, **changes), rung=RUNG) for error in errors]


def test_errors_are_kept_by_spot_and_mode():
    history = History(entries(-30.0, 5.0))
    assert [one.error_cents for one in history.tries("ladder")[spot_of(RUNG)]] == [-30.0, 5.0]
    assert spot_of(RUNG) not in history.tries("blind")


def test_a_player_whose_name_was_written_otherwise_is_the_same():
    history = History([replace(one, player=name) for one in entries(-30.0) for name in ("ann", "Bo", None)], "Ann")
    assert [one.error_cents for one in history.tries("ladder")[spot_of(RUNG)]] == [-30.0]


def test_only_the_latest_are_kept():
    history = History(entries(*map(float, range(3 * RECENT))))
    assert [one.error_cents for one in history.tries("ladder")[spot_of(RUNG)]] == list(range(2 * RECENT, 3 * RECENT))


@pytest.mark.parametrize("target", ["Gb4", "F#4", "E##4"])
def test_a_note_is_the_same_however_it_is_spelled(target: str):
    history = History([replace(entry, target_note=target) for entry in entries(-30.0)])
    ((spot, tries),) = history.tries("ladder").items()
    assert (spot, len(tries)) == ((RUNG.string, RUNG.fret, 66), 1)


@pytest.mark.parametrize(
    "lines",
    [
        entries(None),
        entries(40.0, verdict="unclear"),
        [PLACE.skipped("ladder", RUNG, time_s=1.0)],
        [PLACE.entry("watch", a_verdict(), rung=None)],
        [replace(entry, target_note="H4") for entry in entries(-30.0)],
    ],
    ids=["no error", "could not be judged", "skipped", "no known spot", "no note"],
)
def test_what_teaches_nothing_is_passed_over(lines: list):
    history = History(lines)
    assert not history.tries("ladder")
    assert not history.tries("watch")
