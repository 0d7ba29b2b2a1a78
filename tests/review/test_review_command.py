"""`undertoe review`: what it prints and writes, what it chooses, what it refuses."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import mido
import pytest

from pedal.cli.entry import main
from pedal.log import StoreReader, open_store
from tests.progress.invented_month import CLEAN, entries
from tests.review.conftest import DAY_S, FIRST_DAY_S

Run = Callable[..., tuple[int, str, str]]


def test_the_advice_comes_first_then_tables_that_fit_a_terminal(review: Run) -> None:
    status, said, complaint = review()
    lines = said.splitlines()
    assert (status, complaint) == (0, "")
    assert lines[0].startswith("* Ben: in the last 5 sessions your bends ♭7→1 stop 2")
    assert lines[1].startswith("* Ben: in the last 5 sessions your curls on ♭3 are released")
    assert lines[2].startswith("* Ann: in the last 5 sessions your bends ♭7→1 stop 2")
    assert "The figures below are of Ann, Ben together; --player shows one of them." in lines
    assert "By target" in said and "By string" in said and "By mode" in said
    assert max(len(line) for line in lines if not line.startswith("*")) <= 88
    assert "? the clock was not to be trusted" in said


def test_the_figures_as_json_are_those_of_the_log(review: Run) -> None:
    figures = json.loads(review("--json")[1])
    assert figures["overall"]["tries"] == 24 * 8 * 4
    (seventh,) = [row for row in figures["by"]["target"] if row["name"] == "b7→1"]
    assert seventh["tries"] == 96
    assert seventh["bias_cents"]["low"] < -22.0 < seventh["bias_cents"]["high"]
    assert [session["counter"] for session in figures["sessions"]] == list(range(1, 25))
    assert [advice["rule"] for advice in figures["advice"]] == ["leaning", "released"] * 2
    assert {advice["player"] for advice in figures["advice"]} == {"Ann", "Ben"}


def test_the_csv_has_a_row_a_note_and_every_field_of_the_verdict(review: Run, tmp_path: Path) -> None:
    assert review("--csv", tmp_path / "notes.csv")[:2] == (0, "")
    with (tmp_path / "notes.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 24 * 8 * 4
    assert rows[0]["rest_note"] == "F4" or rows[0]["rest_note"] == "F3"
    assert {row["kind"] for row in rows} == {"bend", "curl", "prebend"}
    assert float(rows[0]["error_cents"]) == pytest.approx(float(rows[0]["bend_cents"]) - 200)


@pytest.mark.parametrize(
    ("words", "tries"),
    [
        (("--session", 3), 32),
        (("--session", -1), 32),
        (("--session", -2, "--target", "b7-1"), 8),
        (("--target", "b7→1"), 192),
        (("--target", "pre-bend b7→1"), 96),
        (("--target", "b3 curl"), 96),
        (("--target", "♭3 curl"), 96),
        (("--target", "♭7→1"), 192),
        (("--target", "pre-bend ♭7→1"), 96),
        (("--key", "G minor pentatonic"), 768),
        (("--key", "A blues"), 0),
        (("--player", "Ben"), 384),
        (("--player", " bEN"), 384),
        (("--player", "Nobody"), 0),
    ],
)
def test_a_choice_narrows_what_is_counted(review: Run, words: tuple[object, ...], tries: int) -> None:
    status, said, _ = review("--json", *words)
    assert (status, json.loads(said)["overall"]["tries"]) == (0, tries)


@pytest.mark.parametrize(
    ("words", "counter"),
    [
        (("--player", "Ann", "--session", -1), 23),
        (("--player", "Ben", "--session", -1), 24),
        (("--player", "ben", "--session", -10), 6),
        (("--player", "Ann", "--session", 3), 3),
        (("--since", datetime.fromtimestamp(FIRST_DAY_S + 22.5 * DAY_S).isoformat(), "--session", -2), 23),
        (("--since", datetime.fromtimestamp(FIRST_DAY_S + 5 * DAY_S).isoformat(), "--session", 6), 6),
    ],
)
def test_the_last_session_is_the_last_of_what_else_was_chosen(
    review: Run, words: tuple[object, ...], counter: int
) -> None:
    """The sixth is Ben's and has no date: it is since a day when Ann's before it is."""
    (session,) = json.loads(review("--json", *words)[1])["sessions"]
    assert session["counter"] == counter


def test_an_undated_session_is_since_a_day_by_whoever_played_before_it(review: Run) -> None:
    day = datetime.fromtimestamp(FIRST_DAY_S + 5 * DAY_S).isoformat()
    sessions = json.loads(review("--json", "--player", "Ben", "--since", day)[1])["sessions"]
    assert [session["counter"] for session in sessions] == list(range(6, 25, 2))


@pytest.mark.parametrize(
    "words",
    [
        ("--player", "Ann", "--session", 2),
        ("--player", "Nobody", "--session", -1),
        ("--since", datetime.fromtimestamp(FIRST_DAY_S + 30 * DAY_S).isoformat()),
        ("--since", datetime.fromtimestamp(FIRST_DAY_S + 30 * DAY_S).isoformat(), "--session", -1),
        ("--key", "A blues"),
    ],
)
def test_a_choice_without_a_bend_says_that_it_is_the_choice(
    review: Run, tmp_path: Path, words: tuple[object, ...]
) -> None:
    said = "No bend in what was chosen has been judged."
    assert review(*words)[:2] == (0, f"{said}\n")
    assert json.loads(review("--json", *words)[1])["silence"] == said
    assert review("--html", tmp_path / "page.html", *words)[0] == 0
    assert said in (tmp_path / "page.html").read_text()


@pytest.mark.parametrize(
    ("name", "said"), [("Annn", "no session is of 'Annn': the log knows Ann, Ben"), (" ann", ""), ("BEN", "")]
)
def test_a_name_that_the_log_does_not_know_is_told_from_one_without_a_bend(review: Run, name: str, said: str) -> None:
    assert review("--player", name)[2].strip() == (f"undertoe: {said}" if said else "")


@pytest.mark.parametrize(("days", "first"), [(20, 20), (5, 5), (6, 7), (7, 7)])
def test_since_a_day_keeps_the_order_of_sessions_where_a_clock_failed(review: Run, days: int, first: int) -> None:
    """The sixth session has no date: it is in when the fifth is, out when only the seventh is."""
    day = datetime.fromtimestamp(FIRST_DAY_S + days * DAY_S).isoformat()
    counters = [session["counter"] for session in json.loads(review("--json", "--since", day)[1])["sessions"]]
    assert counters == list(range(first, 25))


@pytest.mark.parametrize(
    ("words", "status", "complaint"),
    [
        (
            ("--since", "yesterday"),
            2,
            "--since 'yesterday' is no date: give one such as 2026-11-01, or days such as 30d",
        ),
        (("--key", "H minor"), 2, "--key: 'H minor' is no key"),
        (("--session", "99"), 2, "--session 99 is not in the log, which holds 24: -1 is the last one"),
        (("--session", "-25"), 2, "--session -25 is not in the log, which holds 24: -1 is the last one"),
        (("--session", "-13", "--player", "Ann"), 2, "--session -13 is more than the 12 that were chosen: -1 is"),
        (("--plot", "picture.doc"), 2, "the name must end in one of .png, .svg, .pdf"),
        (("--csv", "notes.csv", "--plot", "picture.doc"), 2, "the name must end in one of .png, .svg, .pdf"),
        (("--html", "nowhere/page.html"), 1, "nowhere/page.html cannot be written: No such file or directory"),
        (("--csv", "nowhere/notes.csv"), 1, "nowhere/notes.csv cannot be written"),
        (("--midi", "nowhere/notes.mid"), 1, "nowhere/notes.mid cannot be written"),
        (("--export", "nowhere/log.jsonl"), 1, "nowhere/log.jsonl cannot be written"),
        (("--import", "nowhere/log.jsonl"), 1, "nowhere/log.jsonl cannot be read"),
        (("--export", "log.jsonl", "--target", "b7-1"), 2, "--export gives whole sessions"),
        (("--key", "A blues", "--plot", "picture.png"), 1, "There is nothing to draw"),
        (("--key", "A blues", "--midi", "notes.mid"), 1, "No note chosen has its pitch trace"),
    ],
)
def test_a_refusal_is_one_sentence_with_its_status(
    review: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], status: int, complaint: str
) -> None:
    monkeypatch.chdir(tmp_path)
    found, said, complained = review(*words)
    assert (found, said) == (status, "")
    assert complaint in complained
    assert complained.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "both"),
    [
        (("--export", "a.jsonl", "--csv", "b.csv"), "--export and --csv"),
        (("--export", "a.jsonl", "--html", "b.html"), "--export and --html"),
        (("--export", "a.jsonl", "--plot", "b.png"), "--export and --plot"),
        (("--export", "a.jsonl", "--midi", "b.mid"), "--export and --midi"),
        (("--export", "a.jsonl", "--json"), "--export and --json"),
        (("--import", "log.jsonl", "--export", "a.jsonl"), "--import and --export"),
        (("--import", "log.jsonl", "--csv", "b.csv"), "--import and --csv"),
        (("--import", "log.jsonl", "--forget", "0"), "--import and --forget"),
        (("--import", "log.jsonl", "--session", "0"), "--import and --session"),
        (("--import", "log.jsonl", "--player", "Ann"), "--import and --player"),
        (("--forget", "1", "--html", "b.html"), "--forget and --html"),
        (("--forget", "1", "--export", "a.jsonl", "--json"), "--forget and --json"),
        (("--forget", "1", "--since", "30d"), "--forget and --since"),
    ],
)
def test_two_jobs_that_cannot_both_be_done_are_refused_before_one_is(
    review: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], both: str
) -> None:
    """Before even the log is looked for: here there is none."""
    monkeypatch.chdir(tmp_path)
    complaint = f"undertoe: {both} do not go together: leave one of them out\n"
    assert review(*words, log=Path("log.sqlite")) == (2, "", complaint)
    assert list(tmp_path.iterdir()) == []


def test_two_outputs_into_one_file_are_refused(review: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The table was gone, and the status 0."""
    monkeypatch.chdir(tmp_path)
    complaint = "undertoe: --csv and --html would write over each other: give each a file of its own\n"
    assert review("--csv", "all", "--html", "./all", log=Path("log.sqlite")) == (2, "", complaint)
    assert list(tmp_path.iterdir()) == []


def test_no_log_yet_says_how_to_get_one(review: Run, tmp_path: Path) -> None:
    status, said, complaint = review(log=tmp_path / "log.sqlite")
    assert (status, said) == (1, "")
    assert "There is no log at" in complaint and "play with `undertoe live`" in complaint


def test_an_empty_log_says_so(review: Run, tmp_path: Path) -> None:
    open_store(tmp_path / "log.sqlite").close()
    assert review(log=tmp_path / "log.sqlite") == (0, "No bend has been judged yet.\n", "")


@pytest.mark.parametrize(
    ("name", "magic"),
    [
        ("plot.png", b"\x89PNG"),
        ("plot.svg", b"<?xml"),
        ("plot.pdf", b"%PDF"),
        ("PLOT.PNG", b"\x89PNG"),  # as cameras and old disks write it; `read --plot` takes it too
    ],
)
def test_the_plot_is_a_picture_in_the_format_of_its_ending(
    review: Run, tmp_path: Path, name: str, magic: bytes
) -> None:
    assert review("--session", -1, "--plot", tmp_path / name)[0] == 0
    assert (tmp_path / name).read_bytes().startswith(magic)


def test_without_matplotlib_the_plot_says_what_to_do(
    review: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    status, _, complaint = review("--csv", tmp_path / "notes.csv", "--plot", tmp_path / "plot.png")
    assert status == 2
    assert (
        f"--plot needs matplotlib: {sys.executable} -m pip install matplotlib; or --html, which needs no" in complaint
    )
    assert not list(tmp_path.glob("notes.*"))


def test_the_midi_file_holds_every_note_that_has_a_trace(review: Run, tmp_path: Path) -> None:
    assert review("--session", -1, "--midi", tmp_path / "notes.mid")[0] == 0
    messages = list(mido.MidiFile(tmp_path / "notes.mid"))
    assert sum(message.type == "note_on" for message in messages) == 32


def test_without_mido_the_notes_are_refused_before_any_file_is_written(
    review: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "mido", None)
    status, _, complaint = review("--csv", tmp_path / "notes.csv", "--midi", tmp_path / "notes.mid")
    assert status == 2
    assert f"--midi needs mido: {sys.executable} -m pip install mido; or --csv, which needs nothing" in complaint
    assert not list(tmp_path.glob("notes.*"))


def test_the_log_and_the_bands_are_those_of_the_settings(
    month: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Curls of 38 cents are over a zone that ends at 30; `log.path` names the log as it does for the pedal."""
    settings = tmp_path / "mine.yaml"
    settings.write_text(f"log:\n  path: {month}\nbands:\n  zone_high_cents: 30\n  zone_near_cents: 35\n")
    assert main(["review", "--config", str(settings), "--json"]) == 0
    figures = json.loads(capsys.readouterr().out)
    assert figures["overall"]["tries"] == 24 * 8 * 4
    assert ("outside the zone", "b3 curl") in {(one["rule"], one["target"]) for one in figures["advice"]}


def test_an_export_taken_in_twice_is_the_same_log(review: Run, tmp_path: Path, month: Path) -> None:
    export, other = tmp_path / "ann.jsonl", tmp_path / "other.sqlite"
    assert "12 sessions with 384 notes written" in review("--export", export, "--player", "Ann")[1]
    assert "12 new sessions, 384 new notes" in review("--import", export, log=other)[1]
    assert "0 new sessions, 0 new notes" in review("--import", export, log=other)[1]
    assert "12 new sessions, 384 new notes" in review("--import", month, log=other)[1], "Ben's, from the log itself"
    with StoreReader(month) as before, StoreReader(other) as after:
        first = {s.uid: list(before.entries(s.id, with_traces=True)) for s in before.sessions()}
        second = {s.uid: list(after.entries(s.id, with_traces=True)) for s in after.sessions()}
    assert first == second
    trace, same = (kept[next(iter(first))][0].verdict.trace for kept in (first, second))
    assert (trace.hz == same.hz).all()


def test_a_session_that_went_on_after_an_export_is_completed(review: Run, tmp_path: Path) -> None:
    source, other = tmp_path / "log.sqlite", tmp_path / "other.sqlite"
    played = [entry for _, entry in entries(CLEAN, seed=1, tries=1)][:8]
    store = open_store(source)
    store.append(played[:5])
    review("--export", tmp_path / "early.jsonl", log=source)
    store.append(played[5:])
    store.close()
    review("--export", tmp_path / "late.jsonl", log=source)
    assert "1 new session, 5 new notes" in review("--import", tmp_path / "early.jsonl", log=other)[1]
    assert "0 new sessions, 3 new notes" in review("--import", tmp_path / "late.jsonl", log=other)[1]


HEAD = '{"undertoe_log": 1}\n'
SESSION = (
    f'{{"uid": "{"a" * 32}", "pedal_uid": "{"b" * 32}", "counter": 1, "player": "", '
    '"begun_wall_s": 1.0, "wall_shift_s": 0, "wall_doubtful": 0}\n'
)
ENTRY = (
    '{"number": 1, "mode": "watch", "key": "G", "drone": 0, "a4_hz": 440, "tuning": "E2", '
    '"time_s": 1, "skipped": 1%s}\n'
)
JUDGED = (
    '"onset_s": 1, "end_s": 2, "shape": "rise", "kind": "bend", "ending": "cut", "vibrato_hz": 0, "vibrato_cents": 0, '
    '"verdict": "true"'
)


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("", "line 1 is no JSON"),
        ("notes\n", "line 1 is no JSON"),
        ('{"undertoe_log": 2}\n', 'it begins without {"undertoe_log": 1}'),
        (HEAD + "[1]\n", "line 2 is no flat JSON object"),
        (HEAD + ENTRY % "", "an entry comes before any session"),
        (HEAD + '{"uid": "a"}\n', "uid must be 32 hexadecimal digits"),
        (HEAD + SESSION + '{"number": 1}\n', "mode is missing"),
        (HEAD + SESSION + ENTRY % ', "string": "third"', "string must be 1 to 24, it is 'third'"),
        (HEAD + SESSION + ENTRY % ', "points": "!"', "Only base64 data is allowed"),
        (HEAD + SESSION + ENTRY % ', "points": "AAAA"', "no pitch trace"),
        (HEAD + SESSION + ENTRY % f', "rest_note": "<b>", {JUDGED}', "rest_note must be a pitch such as Bb3"),
    ],
)
def test_what_is_no_export_changes_nothing(review: Run, tmp_path: Path, text: str, cause: str) -> None:
    (tmp_path / "file.jsonl").write_text(text)
    status, said, complaint = review("--import", tmp_path / "file.jsonl", log=tmp_path / "log.sqlite")
    assert (status, said) == (1, "")
    assert cause in complaint and "nothing was taken from it" in complaint
    with StoreReader(tmp_path / "log.sqlite") as log:
        assert log.sessions() == []
