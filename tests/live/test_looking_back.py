"""What the last session and the last month say, from the log to Recall's pages."""

from __future__ import annotations

from pathlib import Path

import pytest

from pedal.live.past import looks_back
from pedal.log import open_store
from pedal.log.sharing import import_sessions
from pedal.modes.screen_model import CodeScreen, LookbackScreen, RecallScreen
from pedal.progress.lookback import Lookback
from pedal.review.review import review_of
from pedal.review.selection import Selection
from pedal.verdicts.aim import Bands
from tests.modes.playing import a_pedal, a_verdict, ended, play, press
from tests.progress.invented_month import CLEAN, Habit, entries

DAY_S = 86_400.0
NOW_S = 1_790_000_000.0


FLAT = {"b7→1": Habit(bias=-32.0, scatter=3.0)}


def a_log(
    path: Path, *, players: tuple[str, ...] = ("Ann",), oldest_days: int = 24, habits: dict[str, Habit] = FLAT
) -> Path:
    """A session a day, the last one yesterday; Ann is flat on one target, in all of them."""
    by_session: dict[int, list] = {}
    for session, entry in entries(CLEAN | habits, seed=4):
        by_session.setdefault(session, []).append(entry)
    for session, played in by_session.items():
        begun_s = NOW_S - DAY_S * (len(by_session) - session + 1) * oldest_days / 24
        player = players[session % len(players)]
        store = open_store(path, player=player, wall=lambda at=begun_s: at, monotonic=lambda: 0.0)
        store.append(played)
        store.close()
    return path


def test_the_last_session_and_the_month_are_told_apart(tmp_path: Path) -> None:
    last, month = looks_back(a_log(tmp_path / "log.sqlite"), now_wall_s=NOW_S, player="Ann")
    assert (last.title, last.sessions) == ("last session", 1)
    assert (month.title, month.sessions) == ("last month", 24)
    assert month.tries > 20 * last.tries
    assert month.word.startswith("b7→1 −3")
    assert last.word in ("", month.word) or last.word.startswith("b7→1 −"), "six tries may carry no claim"
    assert month.true_percent is not None and 50 < month.true_percent < 100


def test_what_is_older_than_a_month_is_no_part_of_it(tmp_path: Path) -> None:
    _, month = looks_back(a_log(tmp_path / "log.sqlite", oldest_days=96), now_wall_s=NOW_S, player="Ann")
    assert month.sessions == 7


@pytest.mark.parametrize(
    ("bands", "word"), [(Bands(), "b3 high"), (Bands(zone_high_cents=70.0, zone_near_cents=80.0), "")]
)
def test_a_curl_is_held_against_the_players_own_zone_as_in_the_review(tmp_path: Path, bands: Bands, word: str) -> None:
    log = a_log(tmp_path / "log.sqlite", habits={"b3 curl": Habit(bias=65.0, scatter=2.0)})
    last, month = looks_back(log, now_wall_s=NOW_S, player="Ann", bands=bands)
    assert month.word == word
    assert last.word in ("", word), "six tries may carry no claim"
    advice = review_of(log, Selection(), bands=bands).advice
    assert [one.fault for one in advice] == ([word.removeprefix("b3 ")] if word else [])


def test_two_players_are_never_put_together(tmp_path: Path) -> None:
    _, month = looks_back(a_log(tmp_path / "log.sqlite", players=("Ann", "Ben")), now_wall_s=NOW_S, player="Ben")
    assert month.sessions == 12


def test_a_guest_looks_back_over_what_guests_played_and_nobody_else(tmp_path: Path) -> None:
    log = a_log(tmp_path / "log.sqlite", players=("Ann", ""))
    last, month = looks_back(log, now_wall_s=NOW_S, player="")
    assert (last.sessions, month.sessions) == (1, 12)
    assert looks_back(a_log(tmp_path / "ann.sqlite"), now_wall_s=NOW_S, player="") == ()


def test_a_log_that_was_taken_in_is_not_the_last_session(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It came into the file last, and was played a month ago: by a pupil of another name, or of the same."""
    monkeypatch.setattr("pedal.log.sharing.time.time", lambda: NOW_S)
    owners = a_log(tmp_path / "log.sqlite", players=("",))
    before = looks_back(owners, now_wall_s=NOW_S, player="")
    for name in ("Zoe", ""):
        pupils = tmp_path / f"pupil{name}.sqlite"
        store = open_store(pupils, player=name, wall=lambda: NOW_S - 40 * DAY_S, monotonic=lambda: 0.0)
        store.append([entry for _, entry in entries(CLEAN, seed=5, tries=1)][:3])
        store.close()
        import_sessions(pupils, owners)
    assert looks_back(owners, now_wall_s=NOW_S, player="") == before


def test_a_pedal_without_names_does_not_look_back_over_a_pupils_sessions(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The pupil's pedal knows no names either, and was played after this one."""
    monkeypatch.setattr("pedal.log.sharing.time.time", lambda: NOW_S)
    owners, pupils = a_log(tmp_path / "log.sqlite", players=("",)), tmp_path / "pupil.sqlite"
    before = looks_back(owners, now_wall_s=NOW_S, player="")
    store = open_store(pupils, wall=lambda: NOW_S - 3600.0, monotonic=lambda: 0.0)
    store.append([entry for _, entry in entries(CLEAN, seed=5, tries=1)][:3])
    store.close()
    import_sessions(pupils, owners)
    assert looks_back(owners, now_wall_s=NOW_S, player="") == before


@pytest.mark.parametrize("player", ["Ann Lee", "ann  lee"])
def test_one_player_whose_name_was_written_in_two_ways_is_one_as_in_the_review(tmp_path: Path, player: str) -> None:
    log = a_log(tmp_path / "log.sqlite", players=("Ann Lee", "ann  LEE"))
    _, month = looks_back(log, now_wall_s=NOW_S, player=player)
    assert month.sessions == 24


@pytest.mark.parametrize("content", [None, b"", b"no log at all"])
def test_without_a_log_there_is_nothing_to_say(tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "log.sqlite"
    if content is not None:
        path.write_bytes(content)
    assert looks_back(path, now_wall_s=NOW_S, player="") == ()


def test_recall_walks_from_this_session_to_the_code() -> None:
    from pedal.modes.pedal import Pedal
    from pedal.modes.state import PedalState

    looks = (Lookback("last session", 1, 34, 62, "b7→1 −22"), Lookback("last month", 9, 412, 58))
    pedal = Pedal(PedalState(mode="watch"), looks=looks)
    play(pedal, *ended(a_verdict()), *ended(a_verdict(verdict="flat", error_cents=-40.0)))
    press(pedal, "recall")
    seen = []
    for _ in range(4):
        seen.append(pedal.screen())
        press(pedal, "next_target")
    assert [type(screen) for screen in seen] == [RecallScreen, LookbackScreen, LookbackScreen, CodeScreen]
    assert seen[1].word == "b7→1 −22"
    assert seen[3].text.startswith("UNDERTOE. TODAY: 2 BENDS 50% TRUE. LAST SESSION: 34 BENDS 62% TRUE B7-1 -22.")
    assert seen[3].short == "2 BENDS 50% TRUE"
    assert isinstance(pedal.screen(), RecallScreen), "and round again"
    press(pedal, "previous_target")
    assert isinstance(pedal.screen(), CodeScreen)


def test_before_anything_was_played_the_pages_are_there() -> None:
    pedal = a_pedal(mode="recall")
    press(pedal, "next_target")
    screen = pedal.screen()
    assert isinstance(screen, CodeScreen)
    assert screen.text == "UNDERTOE. TODAY: 0 BENDS."
