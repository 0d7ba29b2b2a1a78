"""What the pedal learns of earlier days: the oldest session first, every note as long ago as it was, before now."""

from __future__ import annotations

from pathlib import Path

import pytest

from bench.large_log import make
from pedal.live.past import entries_before, looks_back
from pedal.log import StoreReader, open_store
from pedal.log.sharing import export_sessions, import_sessions
from pedal.log.wall_clock import RELEASE_S
from pedal.modes.log_entry import LogEntry

# Written out, and not taken from the code, so that a change of it is seen.
MOST_SESSIONS, LOOKED_AT = 20, 60

NOW_S = 1_800_000_000.0


def session(log: Path, begun_wall_s: float, *times_s: float) -> None:
    store = open_store(log, wall=lambda: begun_wall_s, monotonic=lambda: 0.0)
    store.append([LogEntry(time_s, "ladder", "G minor pentatonic", None, skipped=True) for time_s in times_s])
    store.close()


class Run:
    """A pedal that runs, from being switched on: what it logs, by clocks that are moved by hand."""

    def __init__(self, log: Path, on_wall_s: float) -> None:
        self._on_wall_s, self._time_s = on_wall_s, 0.0
        self._store = open_store(log, wall=lambda: on_wall_s + self._time_s, monotonic=lambda: 9.0 + self._time_s)

    def play(self, *notes: tuple[float, str]) -> Run:
        """One note after the other, each so many seconds after it was switched on and of a player."""
        for self._time_s, player in notes:
            skipped = LogEntry(self._time_s, "ladder", "G minor pentatonic", None, skipped=True, player=player)
            self._store.append([skipped])
        return self

    def unplug(self) -> None:
        self._store.close()


def ages(log: Path, player: str, *, now_wall_s: float = NOW_S) -> list[float]:
    """How many minutes ago a player's notes were played, as the pedal has it."""
    return [
        round(-entry.time_s / 60, 1)
        for entry in entries_before(log, now_wall_s=now_wall_s)
        if (entry.player or "") == player
    ]


def test_a_pedal_that_stood_on_before_the_first_note_makes_no_note_older(tmp_path: Path) -> None:
    """Else the heavy bends of a minute ago would be out of the hour that spares the hand."""
    log = tmp_path / "log.sqlite"
    Run(log, NOW_S - 66 * 60).play((60 * 60, ""), (65 * 60, "")).unplug()
    assert ages(log, "") == [6, 1]


def test_players_who_take_turns_stay_in_the_hour_they_played_in(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    Run(log, NOW_S - 60 * 60).play((600, "Ann"), (1500, "Ben"), (3300, "Ann"), (3420, "Cal"), (3540, "")).unplug()
    assert [ages(log, name) for name in ("Ann", "Ben", "Cal", "")] == [[50, 5], [35], [3], [1]]


def test_the_log_of_a_pupil_that_was_taken_in_moves_nothing_of_the_owners(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.log.sharing.time.time", lambda: NOW_S)
    pupils, log = tmp_path / "pupil.sqlite", tmp_path / "log.sqlite"
    Run(pupils, NOW_S - 31 * 86_400).play((60, "Zoe")).unplug()
    Run(log, NOW_S - 1200).play((600, "")).unplug()
    import_sessions(pupils, log)
    assert ages(log, "") == [10]
    assert ages(log, "Zoe") == [31 * 1440 - 1]


def test_a_session_that_began_before_now_and_ends_after_it_was_played_before_now(tmp_path: Path) -> None:
    """The clock was put back by a few minutes; of its own notes Round counts those that are older than now."""
    log = tmp_path / "log.sqlite"
    Run(log, NOW_S - 60).play((30, ""), (300, "")).unplug()
    past = entries_before(log, now_wall_s=NOW_S)
    assert past[0].time_s == pytest.approx(-30)
    assert -1.0 < past[1].time_s < 0.0


def test_no_log_is_no_past(tmp_path: Path) -> None:
    assert entries_before(tmp_path / "none.sqlite", now_wall_s=NOW_S) == []


def test_earlier_days_lie_as_far_back_as_they_were(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    session(log, NOW_S - 7200, 1.0, 61.0)
    session(log, NOW_S - 3600, 5.0)
    assert [entry.time_s for entry in entries_before(log, now_wall_s=NOW_S)] == pytest.approx([-7200, -7140, -3600])


@pytest.mark.parametrize("clock_s", [0.0, NOW_S + 1e6], ids=["never set", "ahead of now"])
def test_a_clock_that_cannot_be_right_does_not_bring_the_past_into_the_future(tmp_path: Path, clock_s: float) -> None:
    log = tmp_path / "log.sqlite"
    session(log, clock_s, 1.0, 2.0)
    session(log, NOW_S - 3600, 5.0)
    past = [entry.time_s for entry in entries_before(log, now_wall_s=NOW_S)]
    assert past == sorted(past)
    assert len(past) == 3
    assert past[-1] < 0


def test_only_the_newest_sessions_are_read(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    for number in range(MOST_SESSIONS + 5):
        session(log, NOW_S - 86_400 * (MOST_SESSIONS + 5 - number), float(number))
    past = entries_before(log, now_wall_s=NOW_S)
    assert len(past) == MOST_SESSIONS


def test_a_log_of_years_is_not_read_for_the_newest_sessions(tmp_path: Path) -> None:
    """SQLite's own steps are counted: a few in a hundred of what all sessions take, and fewer to know who played."""
    make(tmp_path / "log.sqlite", sessions=400, notes=20)
    steps = []
    with StoreReader(tmp_path / "log.sqlite") as reader:
        count = [0]

        def step() -> int:
            count[0] += 1
            return 0

        reader._connection.set_progress_handler(step, 100)
        played = [id_ for id_, _, _ in reader.players()]
        steps.append(count[0])
        for wanted in (played[-MOST_SESSIONS:], None):
            count[0] = 0
            assert len(reader.sessions(wanted)) == len(wanted or played)
            steps.append(count[0])
    who, newest, everything = steps
    assert newest < 0.08 * everything
    assert who < 0.02 * everything


def test_the_past_asks_for_no_more_than_the_newest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log = tmp_path / "log.sqlite"
    for number in range(MOST_SESSIONS + 3):
        session(log, NOW_S - 86_400 * (MOST_SESSIONS + 3 - number), 1.0)
    asked: list[int] = []
    sessions = StoreReader.sessions
    monkeypatch.setattr(StoreReader, "sessions", lambda self, only: asked.extend(only) or sessions(self, only))
    entries_before(log, now_wall_s=NOW_S)
    assert asked == list(range(4, MOST_SESSIONS + 4))


@pytest.mark.parametrize("player", ["", "Nn"], ids=["nameless", "named"])
def test_what_comes_from_other_pedals_crowds_out_nothing_of_this_one(tmp_path: Path, player: str) -> None:
    """The fault: a teacher who took in a pupil's twenty evenings had no past any more, and nothing to look back on."""
    own, theirs, now_s = tmp_path / "own.sqlite", tmp_path / "theirs.sqlite", RELEASE_S + 20 * 86_400
    Run(own, now_s - 9 * 86_400).play((10.0, "Tt")).unplug()
    for day in range(LOOKED_AT + 5):
        Run(theirs, now_s - 8 * 86_400 + 3600 * day).play((10.0, player)).unplug()
    import_sessions(theirs, own)
    assert len(ages(own, "Tt", now_wall_s=now_s)) == 1
    assert len(ages(own, player, now_wall_s=now_s)) == (MOST_SESSIONS if player else 0)
    assert [one.sessions for one in looks_back(own, now_wall_s=now_s, player="Tt")] == [1]


@pytest.mark.parametrize("as_export", [True, False], ids=["export", "log"])
@pytest.mark.parametrize("played_meanwhile", [False, True], ids=["unplayed", "played"])
def test_a_card_that_is_written_anew_goes_on_where_the_old_one_was(
    tmp_path: Path, *, as_export: bool, played_meanwhile: bool
) -> None:
    """The fault: the player's own past was another pedal's, and of nobody named there nothing counted here."""
    old, new, now_s = tmp_path / "old.sqlite", tmp_path / "new.sqlite", RELEASE_S + 20 * 86_400
    Run(old, now_s - 9 * 86_400).play((10.0, ""), (20.0, "")).unplug()
    Run(old, now_s - 8 * 86_400).play((10.0, "")).unplug()
    if played_meanwhile:
        Run(new, now_s - 86_400).play((10.0, "")).unplug()
    file = tmp_path / "export.jsonl" if as_export else old
    with StoreReader(old) as reader:
        uid = reader.pedal_uid()
        if as_export:
            export_sessions(old, file, reader.sessions())
    said: list[str] = []
    assert import_sessions(file, new, restoring=True, remark=said.append) == (2, 3)
    assert said == ["This log goes on as the pedal that wrote the file."]
    assert len(ages(new, "", now_wall_s=now_s)) == 3 + played_meanwhile
    Run(new, now_s - 3600).play((10.0, "")).unplug()
    with StoreReader(new) as reader:
        assert {one.pedal_uid for one in reader.sessions()} == {uid}
        assert [one.counter for one in sorted(reader.sessions(), key=lambda one: one.begun_wall_s)] == list(
            range(1, 4 + played_meanwhile)
        )
    assert import_sessions(file, new, restoring=True, remark=said.append) == (0, 0)
    assert len(said) == 1


def test_a_log_that_was_played_before_the_file_stays_its_own(tmp_path: Path) -> None:
    """A pupil's export, said by mistake to be one's own, makes no teacher's pedal the pupil's."""
    own, theirs, now_s = tmp_path / "own.sqlite", tmp_path / "theirs.sqlite", RELEASE_S + 20 * 86_400
    Run(own, now_s - 9 * 86_400).play((10.0, "")).unplug()
    Run(theirs, now_s - 8 * 86_400).play((10.0, "")).unplug()
    said: list[str] = []
    import_sessions(theirs, own, restoring=True, remark=said.append)
    assert said == []
    assert len(ages(own, "", now_wall_s=now_s)) == 1


def test_what_pupils_without_names_played_is_not_the_past_of_a_pedal_without_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The pupil played last, on a pedal of their own: neither asked for by need nor counted as heavy here."""
    monkeypatch.setattr("pedal.log.sharing.time.time", lambda: NOW_S)
    pupils, log = tmp_path / "pupil.sqlite", tmp_path / "log.sqlite"
    Run(pupils, NOW_S - 600).play((60, ""), (120, "Zoe")).unplug()
    Run(log, NOW_S - 1200).play((120, "")).unplug()
    import_sessions(pupils, log)
    assert ages(log, "") == [18]
    assert ages(log, "Zoe") == [8]
