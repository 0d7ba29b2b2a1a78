"""Files from others: what a forged export or a hostile log may not do. Each was an attack that worked."""

from __future__ import annotations

import base64
import json
import os
import sqlite3
import struct
import threading
import tracemalloc
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import mido
import numpy as np
import pytest

from pedal.cli.entry import main
from pedal.errors import StoreError
from pedal.log import StoreReader, open_store
from pedal.log.schema import APPLICATION_ID, VERSION
from pedal.log.trace_blob import TraceBlobError, decode_trace, encode_trace
from pedal.modes.log_entry import LogEntry
from pedal.notes.note import Trace

Build = Callable[..., LogEntry]
Said = Callable[..., tuple[int, str, str]]
NOW_S = 1_790_000_000.0
HEAD = {"undertoe_log": 1}
SESSION = {
    "uid": "c" * 32, "pedal_uid": "d" * 32, "counter": 1, "player": "Ben", "begun_wall_s": 1_780_000_000.0,
    "wall_shift_s": 0.0, "wall_doubtful": 0,
}  # fmt: skip
ENTRY = {
    "number": 1, "mode": "watch", "key": "G minor pentatonic", "drone": 0, "a4_hz": 440.0,
    "tuning": "E2 A2 D3 G3 B3 E4", "time_s": 3.0, "skipped": 0, "onset_s": 1.0, "end_s": 2.0,
    "rest_note": "F4", "rest_cents": 2.0, "degree": "b7", "shape": "rise", "kind": "bend",
    "target_note": "G4", "target_degree": "1", "bend_cents": 180.0,
    "error_cents": -20.0, "absolute_cents": -18.0, "peak_cents": 182.0, "overshoot_cents": 1.0, "rise_s": 0.3,
    "hold_s": 0.5, "final_cents": 180.0, "ending": "cut", "vibrato_hz": 0.0, "vibrato_cents": 0.0, "verdict": "near",
    "reason": "Twenty cents flat.", "rest_heard": 1, "begun_by": "pluck", "vibrato_side": None,
    "vibrato_evenness": None,
    "lick": "The climb", "lick_pass": 2, "lick_note": 5, "lick_mark": "near", "beat_ms": -12.5, "chord": "C7",
}  # fmt: skip


@contextmanager
def at_most(mb: float) -> Iterator[None]:
    """Fails where more memory is taken at once than so many megabytes."""
    tracemalloc.start()
    try:
        yield
    finally:
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
    assert peak < mb, f"{peak:.0f} MB were taken"


@pytest.fixture
def log(tmp_path: Path, an_entry: Build) -> Path:
    """The owner's log: one session of three notes."""
    path = tmp_path / "log.sqlite"
    store = open_store(path, wall=lambda: NOW_S, monotonic=lambda: 0.0)
    store.append([an_entry(), an_entry(), an_entry()])
    store.close()
    return path


@pytest.fixture
def say(log: Path, capsys: pytest.CaptureFixture[str]) -> Said:
    """`say("--import", path)`: `undertoe review` on the owner's log; status, words, complaint."""

    def run(*words: object) -> tuple[int, str, str]:
        status = main(["review", "--log", str(log), *map(str, words)])
        said = capsys.readouterr()
        return status, said.out, said.err

    return run


@pytest.fixture
def forged(tmp_path: Path) -> Callable[..., Path]:
    """`forged(session, entry, entry…)`: an export that holds these objects, or raw lines."""

    def write(*lines: dict[str, object] | str | bytes) -> Path:
        path = tmp_path / "forged.jsonl"
        with path.open("wb") as file:
            for line in (HEAD, *lines):
                raw = json.dumps(line) if isinstance(line, dict) else line
                file.write((raw if isinstance(raw, bytes) else raw.encode()) + b"\n")
        return path

    return write


def own(log: Path) -> dict[str, object]:
    """The owner's session as an export would hold it."""
    with StoreReader(log) as reader:
        (session,) = reader.sessions()
    return SESSION | {"uid": session.uid, "pedal_uid": session.pedal_uid, "counter": session.counter}


def held(log: Path) -> list[tuple[int, int]]:
    """(session, notes) of a log."""
    with StoreReader(log) as reader:
        return [(session.id, session.entries) for session in reader.sessions()]


def play_on(log: Path, entry: LogEntry) -> tuple[int, bool]:
    """Counter and doubt of a session that is played a minute later."""
    store = open_store(log, wall=lambda: NOW_S + 60, monotonic=lambda: 0.0)
    store.append([entry])
    store.close()
    with StoreReader(log) as reader:
        newest = reader.sessions()[-1]
    return newest.counter, newest.wall_doubtful


# ---- what a forged export did to the owner's own sessions


def test_a_forged_counter_does_not_stop_the_logging(
    log: Path, say: Said, forged: Callable[..., Path], an_entry: Build
) -> None:
    status, _, complaint = say("--import", forged(own(log) | {"uid": "e" * 32, "counter": 2**63 - 1}, ENTRY))
    assert status == 1 and "counter must be 1 to 1e+07" in complaint
    assert play_on(log, an_entry()) == (2, False)


def test_a_log_that_already_holds_such_a_counter_is_written_on(log: Path, an_entry: Build) -> None:
    with sqlite3.connect(log) as file:
        file.execute("UPDATE session SET counter = ?", (2**63 - 1,))
    file.close()
    store = open_store(log, wall=lambda: NOW_S)
    store.append([an_entry()])
    store.close()
    assert held(log) == [(2, 1)]  # the other one is left out when the log is looked at


def test_a_session_that_claims_to_be_the_owners_is_refused(
    log: Path, say: Said, forged: Callable[..., Path], an_entry: Build
) -> None:
    status, said, complaint = say("--import", forged(own(log) | {"uid": "e" * 32, "counter": 9}, ENTRY))
    assert (status, said) == (1, "")
    assert "of this pedal's own, which its log does not hold" in complaint and "--restore" in complaint
    assert held(log) == [(1, 3)]
    assert play_on(log, an_entry())[0] == 2


def test_no_note_is_put_into_the_owners_session(log: Path, say: Said, forged: Callable[..., Path]) -> None:
    status, _, complaint = say("--import", forged(own(log), ENTRY | {"number": 77}))
    assert status == 1 and "--restore" in complaint
    assert held(log) == [(1, 3)]


def test_a_note_restored_into_the_running_session_does_not_stop_it(
    log: Path, say: Said, forged: Callable[..., Path], an_entry: Build
) -> None:
    store = open_store(log, wall=lambda: NOW_S + 60, monotonic=lambda: 0.0)
    store.append([an_entry()])
    with StoreReader(log) as reader:
        running = reader.sessions()[-1]
    mine = SESSION | {"uid": running.uid, "pedal_uid": running.pedal_uid, "counter": running.counter}
    assert say("--import", forged(mine, ENTRY | {"number": 2}), "--restore")[0] == 0
    store.append([an_entry(), an_entry()])
    store.close()
    assert held(log) == [(1, 3), (2, 4)]


def test_the_owners_own_export_is_taken_back_when_it_is_said_to_be(log: Path, say: Said, tmp_path: Path) -> None:
    say("--export", tmp_path / "own.jsonl")
    assert say("--forget", 1)[0] == 0
    assert say("--import", tmp_path / "own.jsonl")[0] == 1
    assert "1 new session, 3 new notes" in say("--import", tmp_path / "own.jsonl", "--restore")[1]


def test_ones_own_sessions_in_anothers_file_are_passed_over(
    log: Path, say: Said, tmp_path: Path, forged: Callable[..., Path]
) -> None:
    say("--export", tmp_path / "own.jsonl")
    lines = (tmp_path / "own.jsonl").read_text().splitlines()[1:]
    assert "1 new session, 1 new note" in say("--import", forged(*lines, SESSION, ENTRY))[1]


def test_a_session_cannot_take_anothers_name(log: Path, say: Said, forged: Callable[..., Path]) -> None:
    say("--import", forged(SESSION, ENTRY))
    status, _, complaint = say("--import", forged(SESSION | {"counter": 2}, ENTRY | {"number": 2}))
    assert status == 1 and "is another one here" in complaint


# ---- clocks


def test_a_date_to_come_is_refused(log: Path, say: Said, forged: Callable[..., Path]) -> None:
    status, _, complaint = say("--import", forged(SESSION | {"begun_wall_s": 3_976_214_400.0}, ENTRY))
    assert status == 1 and "lies ahead of this machine's clock" in complaint


def test_where_this_clock_was_never_set_such_a_date_is_doubted(
    log: Path, say: Said, forged: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("time.time", lambda: 40.0)
    assert say("--import", forged(SESSION, ENTRY))[0] == 0
    with StoreReader(log) as reader:
        assert reader.sessions()[-1].wall_doubtful


def test_a_date_before_this_program_is_doubted(log: Path, say: Said, forged: Callable[..., Path]) -> None:
    assert say("--import", forged(SESSION | {"begun_wall_s": 1.2e9}, ENTRY))[0] == 0
    with StoreReader(log) as reader:
        assert reader.sessions()[-1].wall_doubtful


# ---- values


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("uid", "\x1b]0;owned\x07"), ("uid", "C" * 32), ("uid", 7), ("pedal_uid", ""), ("counter", 0),
        ("counter", 1.5), ("counter", True), ("counter", 10**400), ("player", "\x1b[2J"), ("player", "A\u202eB"),
        ("player", "\ud800"), ("player", "x" * 5000), ("player", None), ("begun_wall_s", 1e18),
        ("begun_wall_s", float("nan")), ("begun_wall_s", -5e9), ("begun_wall_s", "1"), ("wall_shift_s", float("inf")),
        ("wall_shift_s", -6e9), ("wall_doubtful", 2),
    ],
)  # fmt: skip
def test_a_session_outside_the_ranges_is_refused(
    log: Path, say: Said, forged: Callable[..., Path], name: str, value: object
) -> None:
    status, said, complaint = say("--import", forged(SESSION | {name: value}, ENTRY))
    assert (status, said, complaint.count("\n")) == (1, "", 1)
    assert name in complaint and "nothing was taken from it" in complaint
    assert "\x1b" not in complaint and "\u202e" not in complaint
    assert held(log) == [(1, 3)]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("number", 0), ("number", 2**70), ("number", "1"), ("time_s", float("inf")), ("time_s", None),
        ("onset_s", float("nan")), ("onset_s", None), ("end_s", None), ("end_s", 1e8), ("end_s", 0.5),
        ("rest_cents", 1e9), ("error_cents", 3e8), ("error_cents", -3e8), ("error_cents", "0"), ("a4_hz", 0.0),
        ("a4_hz", float("nan")), ("mode", "sudo"), ("key", "H minor"), ("key", "G " + "x" * 90), ("tuning", "\n"),
        ("rest_note", "C" + "9" * 5000), ("rest_note", "C9\u0661"), ("target_note", "<b>"), ("degree", "=1+1"),
        ("target_degree", "$x$"), ("kind", "bendy"), ("verdict", "TRUE"), ("ending", 3), ("shape", None),
        ("vibrato_hz", None), ("rise_s", -1.0), ("string", 99), ("fret", -1), ("position", 10**30), ("drone", "on"),
        ("skipped", None), ("reason", "\x9b31m"), ("reason", "x" * 100_000), ("points", 5),
    ],
)  # fmt: skip
def test_an_entry_outside_the_ranges_is_refused(
    log: Path, say: Said, forged: Callable[..., Path], name: str, value: object
) -> None:
    changed = {key: one for key, one in (ENTRY | {name: value}).items() if one is not None}
    status, said, complaint = say("--import", forged(SESSION, changed))
    assert (status, said, complaint.count("\n")) == (1, "", 1)
    assert "nothing was taken from it" in complaint
    assert held(log) == [(1, 3)]


def test_what_a_pedal_writes_passes_the_door(log: Path, say: Said, forged: Callable[..., Path]) -> None:
    skipped = {name: ENTRY[name] for name in ("number", "mode", "key", "drone", "a4_hz", "tuning", "time_s")}
    assert "2 new notes" in say("--import", forged(SESSION, ENTRY, skipped | {"number": 2, "skipped": 1}))[1]


@pytest.mark.parametrize(
    "line",
    [
        "[" * 100_000,
        '{"uid": ' * 100_000,
        '{"number": ' + "9" * 5000 + "}",
        '{"number": [1]}',
        b"\xff\xfe",
        '"a"',
        "{}",
    ],
    ids=["brackets", "objects", "digits", "nested", "no text", "a word", "nothing"],
)
def test_a_line_that_is_no_record_is_one_sentence(
    log: Path, say: Said, forged: Callable[..., Path], line: str | bytes
) -> None:
    status, said, complaint = say("--import", forged(SESSION, line))
    assert (status, said, complaint.count("\n")) == (1, "", 1)


# ---- memory


def bomb(points: int, unpacked: int) -> bytes:
    """A trace that says it has so many points and unpacks to so many bytes."""
    return struct.pack("<BddI", 1, 0.0, 440.0, points) + zlib.compress(bytes(unpacked), 9)


@pytest.mark.parametrize("points", [40, 20_000_000])
def test_a_trace_that_unpacks_to_a_hundred_megabytes_takes_none_of_them(points: int) -> None:
    blob = bomb(points, 100_000_000)
    with at_most(4), pytest.raises(TraceBlobError):
        decode_trace(blob)


@pytest.mark.parametrize("first_hz", [0.0, -440.0, float("nan"), float("inf"), 1e300])
def test_a_trace_without_a_pitch_is_refused(first_hz: float) -> None:
    with pytest.raises(TraceBlobError, match="begins at"):
        decode_trace(struct.pack("<BddI", 1, 0.0, first_hz, 1) + zlib.compress(bytes(5)))


def test_a_trace_of_no_points_is_refused() -> None:
    with pytest.raises(TraceBlobError, match="0 points"):
        decode_trace(struct.pack("<BddI", 1, 0.0, 440.0, 0) + zlib.compress(b""))


def test_the_longest_note_that_the_ear_lets_through_passes() -> None:
    time_s = np.arange(0, 60, 0.01)
    trace = Trace(time_s, 440.0 + time_s, -time_s)
    assert len(decode_trace(encode_trace(trace)).hz) == 6000


def test_a_line_without_an_end_is_not_read_to_its_end(log: Path, say: Said, forged: Callable[..., Path]) -> None:
    path = forged(SESSION, b'{"reason": "' + b"x" * 30_000_000)
    with at_most(12):
        status, _, complaint = say("--import", path)
    assert status == 1 and "line 3 is longer than" in complaint


def test_an_export_keeps_to_the_logs_bound(
    log: Path, forged: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The owner's traces are not what makes room for a stranger's."""
    noise = np.random.default_rng(3)
    heavy = [ENTRY | {"number": n, "points": base64.b64encode(noisy_trace(noise)).decode()} for n in range(1, 400)]
    (tmp_path / "small.yaml").write_text("log:\n  max_mb: 1\n")
    status = main(
        [
            "review",
            "--log",
            str(log),
            "--config",
            str(tmp_path / "small.yaml"),
            "--import",
            str(forged(SESSION, *heavy)),
        ]
    )
    assert status == 1 and "log.max_mb" in capsys.readouterr().err
    assert held(log) == [(1, 3)]


def noisy_trace(noise: np.random.Generator) -> bytes:
    time_s = np.arange(0, 20, 0.01)
    return encode_trace(
        Trace(time_s, 440.0 * 2 ** (noise.normal(0, 500, len(time_s)) / 1200), noise.normal(-40, 9, len(time_s)))
    )


def test_a_strangers_traces_go_before_the_owners(
    log: Path, say: Said, forged: Callable[..., Path], an_entry: Build
) -> None:
    points = base64.b64encode(noisy_trace(np.random.default_rng(4))).decode()
    assert say("--import", forged(SESSION, *(ENTRY | {"number": n, "points": points} for n in range(1, 60))))[0] == 0
    store = open_store(log, wall=lambda: NOW_S + 60, most_bytes=300_000)
    store.append([an_entry()])
    store.close()
    with StoreReader(log) as reader:
        traced = {
            s.player: sum(e.verdict.trace is not None for e in reader.entries(s.id, with_traces=True))
            for s in reader.sessions()
        }
    assert traced[""] >= 1 and traced["Ben"] == 0
    with StoreReader(log) as reader:
        assert all(e.verdict.trace is not None for e in reader.entries(1, with_traces=True)), "the owner's went"


def test_a_pipe_given_as_an_export_is_refused_at_once(log: Path, say: Said, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    done = threading.Event()

    def unblock() -> None:  # only so that a hang fails instead of hanging the suite
        if not done.wait(20):
            with (tmp_path / "pipe").open("wb"):
                pass

    threading.Thread(target=unblock, daemon=True).start()
    status, _, complaint = say("--import", tmp_path / "pipe")
    done.set()
    assert status == 1 and "is no file" in complaint


# ---- a log that was poisoned before there was a door


def poison(log: Path, statement: str, *values: object) -> None:
    with sqlite3.connect(log) as file:
        file.execute(statement, values)
    file.close()


@pytest.mark.parametrize(
    "values",
    ["rest_cents = 1e9", "error_cents = 3e8", "time_s = 9e999", "rest_note = 'C99'", "kind = 'x'", "end_s = NULL"],
)
def test_a_note_that_no_pedal_wrote_is_left_out_and_told(log: Path, say: Said, tmp_path: Path, values: str) -> None:
    poison(log, f"UPDATE entry SET {values} WHERE number = 2")
    status, said, complaint = say("--json")
    assert status == 0 and json.loads(said)["overall"]["tries"] == 2
    assert "session 1 holds 1 note that no pedal writes" in complaint
    assert say("--html", tmp_path / "page.html")[0] == 0
    assert say("--csv", tmp_path / "page.csv")[0] == 0


@pytest.mark.parametrize("values", ["begun_wall_s = 1e18", "begun_wall_s = 9e999", "uid = 'x'", "counter = -4"])
def test_a_session_that_no_pedal_wrote_is_left_out_and_can_be_forgotten(log: Path, say: Said, values: str) -> None:
    poison(log, f"UPDATE session SET {values}")
    status, _, complaint = say()
    assert status == 0 and "session 1 holds" in complaint and "--forget 1" in complaint
    assert say("--forget", 1)[0] == 0
    assert say() == (0, "No bend has been judged yet.\n", "")


def test_a_poisoned_trace_is_no_trace(log: Path, say: Said, tmp_path: Path) -> None:
    poison(log, "UPDATE trace SET points = ? WHERE number = 1", bomb(7, 50_000_000))
    poison(
        log,
        "UPDATE trace SET points = ? WHERE number = 2",
        struct.pack("<BddI", 1, 0.0, 0.0, 1) + zlib.compress(bytes(5)),
    )
    with at_most(30):
        assert say("--html", tmp_path / "page.html")[0] == 0
    assert say("--midi", tmp_path / "notes.mid")[0] == 0


# ---- forgetting


def test_forgetting_takes_a_session_with_all_that_belongs_to_it(
    log: Path, say: Said, forged: Callable[..., Path]
) -> None:
    say("--import", forged(SESSION, ENTRY))
    status, said, complaint = say("--forget", 2)
    assert (status, complaint) == (0, "") and "session 2" in said and "1 note" in said
    assert held(log) == [(1, 3)]
    status, _, complaint = say("--forget", 2)
    assert status == 2 and "--forget 2 is not in the log" in complaint
    with sqlite3.connect(log) as file:
        assert file.execute("SELECT count(*) FROM trace").fetchone() == (3,)
        assert file.execute("PRAGMA foreign_key_check").fetchall() == []
    file.close()


def test_the_running_session_may_be_forgotten_and_playing_goes_on(log: Path, say: Said, an_entry: Build) -> None:
    store = open_store(log, wall=lambda: NOW_S + 60, monotonic=lambda: 0.0)
    store.append([an_entry()])
    assert say("--forget", 2)[0] == 0
    store.append([an_entry()])
    store.close()
    assert [entries for _, entries in held(log)] == [3, 1]


def test_what_is_forgotten_with_an_export_can_be_taken_back(
    log: Path, say: Said, forged: Callable[..., Path], tmp_path: Path
) -> None:
    say("--import", forged(SESSION, ENTRY))
    copy = tmp_path / "copy.jsonl"
    status, said, complaint = say("--forget", 1, "--export", copy)
    assert (status, complaint) == (0, "")
    assert said.splitlines() == [
        f"{copy}: 1 session with 3 notes written",
        f"{log}: session 1 with 3 notes is forgotten",
    ]
    assert held(log) == [(2, 1)]
    assert "1 new session, 3 new notes" in say("--import", copy, "--restore")[1]


def test_a_note_whose_curve_is_damaged_is_exported_without_it(log: Path, say: Said, tmp_path: Path) -> None:
    """Its verdict is sound; a flipped bit of the curve took the whole note, and with `--forget` its only copy."""
    poison(log, "UPDATE trace SET points = ? WHERE number = 2", b"no curve")
    copy = tmp_path / "copy.jsonl"
    status, said, _ = say("--forget", 1, "--export", copy)
    assert (status, said.splitlines()[0]) == (0, f"{copy}: 1 session with 3 notes written")
    assert held(log) == []
    assert "1 new session, 3 new notes" in say("--import", copy, "--restore")[1]
    with StoreReader(log) as reader:
        notes = list(reader.entries(reader.sessions()[0].id, with_traces=True))
    assert [note.verdict.error_cents for note in notes] == [-21.75] * 3
    assert [note.verdict.trace is None for note in notes] == [False, True, False]


def test_a_session_of_which_the_copy_would_lack_notes_is_not_forgotten(log: Path, say: Said, tmp_path: Path) -> None:
    poison(log, "UPDATE entry SET error_cents = 1e9 WHERE number = 2")
    copy = tmp_path / "copy.jsonl"
    status, said, complaint = say("--forget", 1, "--export", copy)
    assert (status, said) == (1, f"{copy}: 1 session with 2 notes written\n")
    assert "Of the 3 notes of session 1 the copy holds 2: nothing is forgotten." in complaint
    assert held(log) == [(1, 2)]
    assert say("--forget", 1)[0] == 0


@pytest.mark.parametrize(
    ("session", "copy", "status", "cause"),
    [
        (1, "nowhere/copy.jsonl", 1, "nowhere/copy.jsonl cannot be written"),
        (1, "log.sqlite", 2, "log.sqlite is what is read"),
        (2, "copy.jsonl", 2, "--forget 2 is not in the log"),
        (-1, "copy.jsonl", 2, "--forget -1 is not in the log"),
        (7, "copy.jsonl", 2, "--export cannot keep session 7, which holds what no pedal writes"),
    ],
)
def test_nothing_is_forgotten_where_the_copy_fails(
    log: Path, say: Said, tmp_path: Path, session: int, copy: str, status: int, cause: str
) -> None:
    poison(log, "INSERT INTO session VALUES (7, 'x', 'd', 1, '', 0, 0, 0)")
    found, said, complaint = say("--forget", session, "--export", tmp_path / copy)
    assert (found, said, complaint.count("\n")) == (status, "", 1)
    assert cause in complaint
    with sqlite3.connect(log) as file:
        assert file.execute("SELECT id FROM session").fetchall() == [(1,), (7,)]
    file.close()
    assert not (tmp_path / "copy.jsonl").exists()


# ---- a log that is damaged


NO_DATABASE = b"not a database, whatever its name says" * 30


def test_nothing_of_a_damaged_log_is_forgotten(log: Path, say: Said) -> None:
    log.write_bytes(NO_DATABASE)
    complaint = f"undertoe: The log {log} cannot be used: file is not a database: name another file with --log.\n"
    assert say("--forget", 1) == (1, "", complaint)
    assert log.read_bytes() == NO_DATABASE
    assert [path.name for path in log.parent.iterdir()] == [log.name]


@pytest.mark.parametrize("sound", [True, False], ids=["an export", "no export"])
def test_a_damaged_log_that_an_import_sets_aside_is_told(
    log: Path, say: Said, forged: Callable[..., Path], *, sound: bool
) -> None:
    log.write_bytes(NO_DATABASE)
    status, _, complaint = say("--import", forged(SESSION, ENTRY) if sound else forged("{}"))
    assert status == (0 if sound else 1)
    remark = "file is not a database): it is kept as log.damaged-1.sqlite, and a fresh one was begun."
    assert complaint.splitlines()[0] == f"undertoe: The log {log} was damaged ({remark}"
    assert complaint.count("\n") == (1 if sound else 2)


# ---- hostile SQLite files


def looks_like_a_log(path: Path, script: str) -> Path:
    file = sqlite3.connect(path)
    file.executescript(script)
    file.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    file.execute(f"PRAGMA user_version = {VERSION}")
    file.commit()
    file.close()
    return path


ENDLESS = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i AS"
HOSTILE = {
    "endless view": f"CREATE VIEW session AS {ENDLESS} id FROM n; CREATE VIEW entry AS {ENDLESS} number FROM n;",
    "huge printf": "CREATE VIEW session AS SELECT printf('%.*c', 900000000, 'x') AS id; CREATE TABLE entry (number);",
    "nothing": "CREATE TABLE stamps (name);",
}


@pytest.mark.parametrize("kind", HOSTILE)
@pytest.mark.parametrize("how", ["read", "import"])
def test_a_file_that_is_not_built_like_a_log_is_refused(
    log: Path, say: Said, tmp_path: Path, kind: str, how: str
) -> None:
    path = looks_like_a_log(tmp_path / "hostile.sqlite", HOSTILE[kind])
    with at_most(20):
        status, said, complaint = say("--import", path) if how == "import" else say("--log", path)
    assert (status, said, complaint.count("\n")) == (1, "", 1)
    assert "is not built like a log" in complaint


@pytest.mark.parametrize(
    "script",
    [
        "CREATE TRIGGER t AFTER INSERT ON session BEGIN DELETE FROM entry; END;",
        "CREATE VIEW more AS SELECT * FROM session;",
        "CREATE INDEX i ON entry (time_s);",
        "DROP VIEW log; CREATE VIEW log AS SELECT 1;",
    ],
    ids=["trigger", "view", "index", "another view"],
)
def test_what_is_added_to_a_log_is_noticed(log: Path, say: Said, script: str) -> None:
    file = sqlite3.connect(log)
    file.executescript(script)
    file.close()
    before = log.read_bytes()
    assert "is not built like a log" in say()[2]
    with pytest.raises(StoreError, match="is not built like a log"):
        open_store(log)
    assert log.read_bytes() == before


def test_words_of_numbers_in_a_log_without_strict_types(log: Path, say: Said, tmp_path: Path) -> None:
    """STRICT is only a word in the schema: bytes written past it are read as they are."""
    path = tmp_path / "loose.sqlite"
    path.write_bytes(log.read_bytes())
    file = sqlite3.connect(path)
    file.execute("PRAGMA writable_schema = ON")
    file.execute("UPDATE sqlite_schema SET sql = replace(sql, 'STRICT, WITHOUT ROWID', 'WITHOUT ROWID')")
    file.commit()
    file.close()
    file = sqlite3.connect(path)
    file.execute("UPDATE entry SET error_cents = 'flat' WHERE number = 1")
    file.execute("UPDATE entry SET bend_cents = x'00' WHERE number = 2")
    file.commit()
    file.execute("PRAGMA writable_schema = ON")
    file.execute("UPDATE sqlite_schema SET sql = replace(sql, 'WITHOUT ROWID', 'STRICT, WITHOUT ROWID')")
    file.commit()
    file.close()
    status, said, complaint = say("--log", path, "--json")
    assert status == 0 and json.loads(said)["overall"]["tries"] == 1
    assert "2 notes that no pedal writes" in complaint
    assert say("--import", path)[0] == 1


def test_a_statement_without_an_end_is_interrupted(log: Path) -> None:
    """Nothing in a log can hold one, since its shape is looked at: the second line of defence, tried by itself."""
    endless = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT count(*) FROM n"
    with StoreReader(log) as reader, pytest.raises(StoreError, match="interrupted"):
        reader._limit._most = 3
        list(reader._rows(endless))


def test_a_huge_word_is_refused_by_a_limit(log: Path) -> None:
    with StoreReader(log) as reader, pytest.raises(StoreError, match="too big"):
        list(reader._rows("SELECT zeroblob(900000000)"))


# ---- a second round of attacks


def test_sessions_without_notes_keep_to_the_bound_as_well(
    log: Path, forged: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "small.yaml").write_text("log:\n  max_mb: 1\n")
    many = (SESSION | {"uid": f"{n:032x}", "player": "x" * 80} for n in range(6000))
    words = ["review", "--log", str(log), "--config", str(tmp_path / "small.yaml"), "--import", str(forged(*many))]
    assert main(words) == 1
    assert "log.max_mb" in capsys.readouterr().err
    assert held(log) == [(1, 3)]


def test_a_log_of_more_sessions_than_a_life_has_is_refused(
    log: Path, say: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pedal.log.reader._MOST_SESSIONS", 2)
    for number in (2, 3):
        more = "INSERT INTO session SELECT ?, ?, pedal_uid, counter, player, begun_wall_s, 0, 0 FROM session LIMIT 1"
        poison(log, more, number, f"{number:032x}")
    for words in ((), ("--import", log)):
        status, said, complaint = say(*words)
        assert (status, said) == (1, "") and "holds more sessions than any pedal makes" in complaint


def test_a_session_that_took_the_place_of_a_forgotten_one_is_not_written_to(
    log: Path, say: Said, forged: Callable[..., Path], an_entry: Build
) -> None:
    """SQLite gives the number of a row that was deleted to the next one."""
    store = open_store(log, wall=lambda: NOW_S + 60, monotonic=lambda: 0.0)
    store.append([an_entry()])
    say("--forget", 2)
    say("--import", forged(SESSION, ENTRY))
    assert held(log) == [(1, 3), (2, 1)], "the stranger's session is the second now"
    store.append([an_entry()])
    store.close()
    assert held(log) == [(1, 3), (2, 1), (3, 1)]


@pytest.mark.parametrize("first_hz", [1.0, 11.0, 11_900.0, 99_000.0])
def test_a_pitch_beyond_all_midi_notes_is_no_traceback(log: Path, say: Said, tmp_path: Path, first_hz: float) -> None:
    points = struct.pack("<BddI", 1, 0.0, first_hz, 1) + zlib.compress(bytes(5))
    poison(log, "UPDATE trace SET points = ?", points)
    status, _, complaint = say("--midi", tmp_path / "notes.mid")
    assert status in (0, 1) and "Traceback" not in complaint
    assert say("--html", tmp_path / "page.html")[0] == 0


def test_notes_that_run_backwards_make_a_midi_file_that_ends(log: Path, say: Said, tmp_path: Path) -> None:
    poison(log, "UPDATE entry SET onset_s = 900.0 - 100.0 * number, end_s = 901.0 - 100.0 * number")
    assert say("--midi", tmp_path / "notes.mid")[0] == 0
    assert sum(message.type == "note_on" for message in mido.MidiFile(tmp_path / "notes.mid")) == 3
