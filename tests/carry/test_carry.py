"""A stick: what the pedal puts on it, what it takes from it, and what a stranger's stick can not do."""

from __future__ import annotations

import errno
import io
import json
import os
import subprocess
import sys
import tarfile
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from pedal import wiring
from pedal.carry import giving, sinks, taking
from pedal.carry.giving import give, own_folder, pedals_folder
from pedal.carry.sinks import SPARED_BYTES, FolderSink, TarSink
from pedal.carry.taking import CARGOES, MOST_LOOKED_AT, MOST_TAKEN, take
from pedal.cli.entry import main
from pedal.errors import StoreError
from pedal.live.lick_folder import LickFolder
from pedal.live.news import FILE, News, heard, tell
from pedal.log import open_store
from pedal.log.reader import Session
from pedal.log.sharing import export_sessions, import_sessions
from pedal.modes.log_entry import LogEntry
from pedal.settings import card as the_card
from pedal.settings.card import STICK
from pedal.settings.load import load
from pedal.settings.parts import Settings
from tests.log.conftest import a_trace, an_entry  # noqa: F401 - fixtures

An = Callable[..., LogEntry]


class Pedal:
    """A pedal with a log of three notes and two takes, and a stick with our folder on it."""

    def __init__(self, folder: Path, an_entry: An) -> None:  # noqa: F811
        self.state, self.stick, self.base = folder / "state", folder / "stick", folder / "etc.yaml"
        self.base.write_text(f"state: {{folder: {self.state}}}\n")
        self.settings: Settings = load(self.base)
        store = open_store(self.settings.log.path, most_bytes=1 << 30)
        store.append([an_entry(time_s=float(n)) for n in range(3)])
        store.close()
        self.settings.takes.folder.mkdir()
        for n in (1, 2):
            (self.settings.takes.folder / f"take-{n:06}-B-true.wav").write_bytes(b"RIFF" * 1000 * n)
        self.ours = self.stick / "undertoe"
        self.ours.mkdir(parents=True)

    @property
    def target(self) -> Path:
        return self.ours / pedals_folder(self.settings)

    def carry(self, *more: str) -> int:
        return main(["carry", str(self.stick), "--config", str(self.base), *more])


@pytest.fixture
def pedal(tmp_path: Path, an_entry: An) -> Pedal:  # noqa: F811
    return Pedal(tmp_path, an_entry)


def test_log_page_and_takes_go_over_and_can_be_read_back(
    pedal: Pedal, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert pedal.carry() == 0
    assert capsys.readouterr().out == "Copied: 1 session and 2 takes.\n"
    assert sorted(file.name for file in pedal.target.rglob("*") if file.is_file()) == [
        "log.jsonl", "review.html", "take-000001-B-true.wav", "take-000002-B-true.wav",
    ]  # fmt: skip
    assert import_sessions(pedal.target / "log.jsonl", tmp_path / "other.sqlite") == (1, 3)
    assert "<html" in (pedal.target / "review.html").read_text()
    assert not list(pedal.state.glob(".carry*")), "nothing is left aside"


def test_a_take_that_is_there_is_not_copied_again(pedal: Pedal, capsys: pytest.CaptureFixture[str]) -> None:
    pedal.carry()
    capsys.readouterr()
    pedal.carry()
    assert capsys.readouterr().out == "Copied: 1 session.\n"


def test_a_log_elsewhere_goes_over_where_there_is_no_state_folder_yet(
    pedal: Pedal, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The fault: a traceback, since the copy was made below a folder that only the pedal itself makes."""
    fresh = tmp_path / "fresh/state"
    pedal.base.write_text(f"state: {{folder: {fresh}}}\nlog: {{path: {pedal.settings.log.path}}}\n")
    assert pedal.carry() == 0
    assert capsys.readouterr().out == "Copied: 1 session.\n"


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EACCES])
@pytest.mark.parametrize("call", ["mkdir", "mkdtemp"])
def test_a_state_folder_that_takes_no_copy_is_one_sentence(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], code: int, call: str
) -> None:
    def refused(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(giving, "private_folder", refused) if call == "mkdir" else monkeypatch.setattr(
        "tempfile.mkdtemp", refused
    )
    assert pedal.carry() == 1
    said = capsys.readouterr().err
    assert said.startswith("undertoe: ") and said.endswith(f": {os.strerror(code)}.\n") and "Traceback" not in said


def test_two_pedals_share_a_stick(pedal: Pedal, tmp_path: Path, an_entry: An) -> None:  # noqa: F811
    (tmp_path / "two").mkdir()
    second = Pedal(tmp_path / "two", an_entry)
    assert pedals_folder(pedal.settings) != pedals_folder(second.settings)


def test_a_stick_without_our_folder_is_left_alone(pedal: Pedal, capsys: pytest.CaptureFixture[str]) -> None:
    pedal.ours.rmdir()
    assert pedal.carry() == 2
    assert 'has no folder "undertoe"' in capsys.readouterr().err
    assert list(pedal.stick.iterdir()) == []


def test_a_link_in_place_of_our_folder_is_not_followed(pedal: Pedal, tmp_path: Path) -> None:
    """Security: a stick may be of a file system that knows links."""
    pedal.ours.rmdir()
    (tmp_path / "elsewhere").mkdir()
    pedal.ours.symlink_to(tmp_path / "elsewhere")
    assert own_folder(pedal.stick) is None
    assert pedal.carry() == 2


def test_what_finds_no_room_is_told_and_the_newest_takes_come_first(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    real = sinks._free_bytes
    full = [SPARED_BYTES + 200_000, SPARED_BYTES + 200_000, SPARED_BYTES + 8_000, SPARED_BYTES + 3_999]
    monkeypatch.setattr(sinks, "_free_bytes", lambda folder: full.pop(0) if real(folder) else 0)
    assert pedal.carry() == 1
    assert "1 session and 1 take; no room for 1 take" in capsys.readouterr().out
    assert (pedal.target / "takes/take-000002-B-true.wav").exists()


def test_a_full_stick_is_one_sentence_and_keeps_what_it_held(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    pedal.carry()
    before = (pedal.target / "log.jsonl").read_bytes()
    monkeypatch.setattr(sinks, "_free_bytes", lambda _: 0)
    assert pedal.carry() == 1
    assert "There is no room for log.jsonl" in capsys.readouterr().err
    assert (pedal.target / "log.jsonl").read_bytes() == before


@pytest.mark.parametrize(
    ("written_by", "there"),
    [("pedal.carry.sinks.shutil.copyfileobj", {"log.jsonl", "review.html", "takes"}), ("pathlib.Path.replace", set())],
    ids=["in a take", "in the export"],
)
def test_a_stick_that_is_pulled_out_is_one_sentence(
    pedal: Pedal,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    written_by: str,
    there: set[str],
) -> None:
    def gone(*_: object, **__: object) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(written_by, gone)
    assert pedal.carry() == 1
    error = capsys.readouterr().err
    assert "cannot be written: Input/output error" in error and "Traceback" not in error
    assert {file.name for file in pedal.target.iterdir()} == there, "and no half file"
    assert not list(pedal.target.glob("takes/*"))


@pytest.mark.parametrize("when", ["before it is looked at", "before it is read"])
def test_a_take_that_the_pedal_removes_meanwhile_is_passed_over(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], when: str
) -> None:
    oldest, holds, add = pedal.settings.takes.folder / "take-000001-B-true.wav", FolderSink.holds, FolderSink.add

    def adds(sink: FolderSink, name: str, file: Path) -> None:
        add(sink, name, file)
        if when == "before it is looked at" and "000002" in name:
            oldest.unlink()

    def is_held(sink: FolderSink, name: str, size: int) -> bool:
        if name.endswith(oldest.name):
            oldest.unlink()
        return holds(sink, name, size)

    monkeypatch.setattr(FolderSink, "add", adds)
    monkeypatch.setattr(FolderSink, "holds", is_held)
    assert pedal.carry() == 0
    assert capsys.readouterr().out == "Copied: 1 session and 1 take.\n"


def test_what_goes_onto_a_stick_is_made_on_the_stick(pedal: Pedal, monkeypatch: pytest.MonkeyPatch) -> None:
    """The fault: an export is twice its log, and made beside it filled the log's own disk; nothing went over then."""
    made: list[Path] = []

    def export(log: Path, file: Path, chosen: list[Session]) -> tuple[int, int]:
        made.append(file)
        return export_sessions(log, file, chosen)

    monkeypatch.setattr("pedal.log.sharing.export_sessions", export)
    halves = pedal.target / ".carry-0badcafe"
    halves.mkdir(parents=True)
    (halves / "log.jsonl").write_text("half")
    assert pedal.carry() == 0
    assert [pedal.target in file.parents for file in made] == [True]
    assert sorted(file.name for file in pedal.target.iterdir()) == ["log.jsonl", "review.html", "takes"]


def test_a_stick_that_is_full_in_the_midst_of_the_export_keeps_the_one_before(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    pedal.carry()
    before = (pedal.target / "log.jsonl").read_bytes()

    def export(log: Path, file: Path, chosen: list[Session]) -> tuple[int, int]:
        file.write_text("half")
        raise StoreError(f"{file} cannot be written: No space left on device.")

    monkeypatch.setattr("pedal.log.sharing.export_sessions", export)
    assert pedal.carry() == 1
    assert "No space left on device" in capsys.readouterr().err
    assert (pedal.target / "log.jsonl").read_bytes() == before
    assert not list(pedal.target.glob(".*")), "nothing is left aside"


def test_what_was_taken_is_told_though_the_stick_is_too_full_to_give(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    told: list[News] = []
    monkeypatch.setattr("pedal.live.news.tell", lambda _, news: told.append(news))
    (pedal.ours / "homework.yaml").write_text(HOMEWORK)
    monkeypatch.setattr(sinks, "_free_bytes", lambda _: 0)
    assert pedal.carry() == 1
    said = capsys.readouterr()
    assert said.out == "Taken: homework.\n"
    assert said.err.startswith("undertoe: There is no room for log.jsonl")
    (news,) = told
    assert news.anew
    assert news.sentences[0] == "Taken: homework."
    assert news.sentences[1].startswith("There is no room")


def test_the_panel_says_when_the_stick_may_be_pulled_whatever_was_refused(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault: of a stick with three bad licks the panel named these, and never said that all was copied."""
    told: list[News] = []
    monkeypatch.setattr("pedal.live.news.tell", lambda _, news: told.append(news))
    (pedal.ours / "licks").mkdir()
    for name in ("a", "b", "c"):
        (pedal.ours / f"licks/{name}.lick").write_text("no lick\n")
    (pedal.ours / "homework.yaml").write_text(HOMEWORK)
    assert pedal.carry() == 1
    first, *others = told[0].sentences
    assert first.startswith("3 faults; the first: a.lick, line 1")
    assert others == ["Taken: homework.", "Copied: 1 session and 2 takes."]


def test_of_two_sticks_at_once_the_second_waits_and_both_are_whole(
    pedal: Pedal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault: the second took what the first was making for what a power cut had left, and removed it."""
    made: list[Path] = []
    second = threading.Thread(target=lambda: give(pedal.settings, FolderSink(tmp_path / "second")))

    def export(log: Path, file: Path, chosen: object) -> tuple[int, int]:
        made.append(file.parent)
        if len(made) == 1:
            second.start()
            second.join(0.5)  # it would be done by now
            assert len(made) == 1
        return export_sessions(log, file, chosen)

    monkeypatch.setattr("pedal.log.sharing.export_sessions", export)
    assert give(pedal.settings, FolderSink(tmp_path / "first")).sessions == 1
    second.join(60)
    assert len(made) == 2
    for folder in ("first", "second"):
        assert {path.name for path in (tmp_path / folder).iterdir()} == {"log.jsonl", "review.html", "takes"}


def test_what_a_pulled_stick_holds_of_half_files_is_removed(pedal: Pedal) -> None:
    pedal.carry()
    halves = [pedal.target / ".log.jsonl.0badcafe.part", pedal.target / "takes/.take-000001-B-true.wav.12345678.part"]
    for half in halves:
        half.write_bytes(b"half")
    assert pedal.carry() == 0
    assert not any(half.exists() for half in halves)


def test_the_archive_holds_the_same_and_takes_nothing(pedal: Pedal) -> None:
    (pedal.ours / "licks").mkdir()
    (pedal.ours / "licks/one.lick").write_text(A_LICK)
    stream = io.BytesIO()
    sink = TarSink(pedal.ours, stream)
    give(pedal.settings, sink)
    sink.close()
    with tarfile.open(fileobj=io.BytesIO(stream.getvalue())) as archive:
        members = {member.name: member for member in archive.getmembers()}
        assert set(members) == {
            "log.jsonl",
            "review.html",
            "takes/take-000001-B-true.wav",
            "takes/take-000002-B-true.wav",
        }
        assert all(member.isreg() and (member.uid, member.uname) == (0, "") for member in members.values())
    assert not (pedal.state / "licks").exists()


def test_the_archive_goes_to_standard_output(pedal: Pedal, tmp_path: Path) -> None:
    words = [sys.executable, "-m", "pedal.cli.entry", "carry", str(pedal.stick), "--tar", "--config", str(pedal.base)]
    done = subprocess.run(words, capture_output=True, check=True, timeout=120)
    with tarfile.open(fileobj=io.BytesIO(done.stdout)) as archive:
        assert len(archive.getmembers()) == 4
    assert done.stderr.decode() == "undertoe: Copied: 1 session and 2 takes.\n"


A_LICK = "undertoe lick 1\nkey G minor pentatonic\nb3 1/2\n1 1\n"
HOMEWORK = "times: 5\ntargets:\n  - bend: 2/8\n"


def test_a_text_that_is_no_lick_stays_on_the_stick_and_says_which_line(pedal: Pedal) -> None:
    (pedal.ours / "licks").mkdir()
    (pedal.ours / "licks/turn.lick").write_text(A_LICK.replace("1/2", "1/0"))
    taken = take(pedal.ours, pedal.settings, base=pedal.base)
    assert taken.things == ()
    assert taken.faults[0].startswith("turn.lick, line 3: '1/0' is no length")


HOMEWORK = "times: 5\ntargets:\n  - bend: 2/8\n"


def test_homework_and_licks_come_in_and_are_news_once(pedal: Pedal, capsys: pytest.CaptureFixture[str]) -> None:
    (pedal.ours / "homework.yaml").write_text(HOMEWORK)
    (pedal.ours / "licks").mkdir()
    (pedal.ours / "licks/turn.lick").write_bytes(A_LICK.encode("utf-16"))
    assert pedal.carry() == 0
    assert "Taken: homework, 1 lick.\n" in capsys.readouterr().out
    assert (pedal.state / "homework.yaml").read_text() == HOMEWORK
    assert (pedal.state / "licks/turn.lick").read_text() == A_LICK, "kept as plain UTF-8"
    assert (pedal.state / "licks/turn.lick").stat().st_mode & 0o777 == 0o600
    found = wiring.homework(pedal.base, pedal.settings, now_wall_s=time.time())
    assert found is not None and len(found.tasks) == 1, "the pedal has it from now on"
    pedal.carry()
    assert "Taken" not in capsys.readouterr().out


@pytest.mark.parametrize("again", [False, True], ids=["first time", "the same again"])
def test_homework_of_a_stick_comes_last_whatever_the_clock_says(pedal: Pedal, again: bool) -> None:
    """A pedal without a network may stand at an earlier time at each start, and a file beside its settings be ahead."""
    (pedal.ours / "homework.yaml").write_text(HOMEWORK)
    beside = pedal.base.parent / "homework.yaml"
    if again:
        assert take(pedal.ours, pedal.settings, base=pedal.base).things == ("homework",)
    beside.write_text("targets:\n  - curl: 3/5\n  - bend: 2/8\n")
    ahead_s = time.time() + 86_400.0
    os.utime(beside, (ahead_s, ahead_s))
    assert take(pedal.ours, pedal.settings, base=pedal.base).things == ("homework",)
    found = wiring.homework(pedal.base, pedal.settings, now_wall_s=time.time())
    assert found is not None and len(found.tasks) == 1
    assert take(pedal.ours, pedal.settings, base=pedal.base).things == (), "news once"


def test_homework_with_a_slip_is_refused_with_its_line(pedal: Pedal, capsys: pytest.CaptureFixture[str]) -> None:
    (pedal.ours / "homework.yaml").write_text("targets:\n  - bend: 9/99\n")
    assert pedal.carry() == 1
    assert "homework.yaml:2: " in capsys.readouterr().out
    assert not (pedal.state / "homework.yaml").exists()


@pytest.mark.parametrize("name", ["..lick", ".hidden.lick", "a\nb.lick", "-rf.lick", "a" * 70 + ".lick", "\u202e.lick"])
def test_no_name_means_another_file_or_forges_a_line(pedal: Pedal, name: str) -> None:
    (pedal.ours / "licks").mkdir()
    (pedal.ours / "licks" / name).write_text(A_LICK)
    taken = take(pedal.ours, pedal.settings, base=pedal.base)
    assert taken.things == ()
    assert not (pedal.state / "licks").exists()
    assert all("\n" not in fault and "\u202e" not in fault for fault in taken.faults)


def test_ten_thousand_files_are_not_looked_at(pedal: Pedal, monkeypatch: pytest.MonkeyPatch) -> None:
    (pedal.ours / "licks").mkdir()
    for n in range(10_000):
        (pedal.ours / "licks" / f"{n:05}.lick").touch()
    looked: list[str] = []
    real = os.scandir

    class Counted:
        def __init__(self, place: Path) -> None:
            self.entries = real(place)

        def __enter__(self) -> Counted:
            return self

        def __exit__(self, *_: object) -> None:
            self.entries.close()

        def __iter__(self) -> Counted:
            return self

        def __next__(self) -> os.DirEntry[str]:
            looked.append("")
            return next(self.entries)

    monkeypatch.setattr(taking.os, "scandir", Counted)
    taken = take(pedal.ours, pedal.settings, base=pedal.base)
    assert len(looked) <= MOST_LOOKED_AT + 1
    assert any(f"more than {MOST_TAKEN} files" in fault for fault in taken.faults)
    assert len(taken.faults) <= MOST_TAKEN + 1


@pytest.mark.parametrize("how", ["link", "pipe", "folder", "large", "zeros", "list"])
def test_what_is_no_small_plain_text_does_not_come_in(pedal: Pedal, tmp_path: Path, how: str) -> None:
    """Security: a link would bring a file of the pedal's own, a pipe would hold it for ever."""
    file = pedal.ours / "homework.yaml"
    (tmp_path / "secret").write_text(HOMEWORK)
    match how:
        case "link":
            file.symlink_to(tmp_path / "secret")
        case "pipe":
            os.mkfifo(file)
        case "folder":
            file.mkdir()
        case "large":
            file.write_text("a: 1\n" * 20_000)
        case "zeros":
            file.write_bytes(b"\x00" * 100)
        case _:
            file.write_text("- one\n")
    assert take(pedal.ours, pedal.settings, base=pedal.base).things == ()
    assert not (pedal.state / "homework.yaml").exists()


def test_settings_of_a_stick_come_in_by_the_door(pedal: Pedal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(the_card, "CARD", tmp_path / "card")
    monkeypatch.setattr(the_card, "SERVICE_FILE", pedal.base)
    (pedal.ours / "undertoe.yaml").write_text("capo: 2\nlog: {max_mb: 1}\n")
    taken = take(pedal.ours, pedal.settings, base=pedal.base)
    assert not taken.settings
    assert "undertoe.yaml:2: log.max_mb: does not count here" in taken.faults[0]
    (pedal.ours / "undertoe.yaml").write_text("capo: 2\n")
    assert take(pedal.ours, pedal.settings, base=pedal.base).settings
    assert (pedal.state / STICK).exists()


def test_homework_may_be_for_a_player_whom_the_same_stick_brings(
    pedal: Pedal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(the_card, "CARD", tmp_path / "card")
    monkeypatch.setattr(the_card, "SERVICE_FILE", pedal.base)
    (pedal.ours / "undertoe.yaml").write_text("players: {names: [Ann]}\n")
    (pedal.ours / "homework.yaml").write_text(f"for: Ann\n{HOMEWORK}")
    taken = take(pedal.ours, pedal.settings, base=pedal.base)
    assert (taken.sentence, taken.faults) == ("Taken: settings, homework.", ())


def test_a_lick_in_capitals_is_there_once_it_is_taken(pedal: Pedal) -> None:
    (pedal.ours / "licks").mkdir()
    (pedal.ours / "licks/RIFF.LICK").write_text(A_LICK)
    assert take(pedal.ours, pedal.settings, base=pedal.base).things == ("1 lick",)
    assert len(LickFolder(pedal.state / "licks").load()) == 1


def test_a_lick_that_the_pedal_would_not_read_is_not_taken(pedal: Pedal) -> None:
    (pedal.ours / "licks").mkdir()
    (pedal.ours / "licks/long.lick").write_text(A_LICK + 110 * ("# " + 190 * "x" + "\n"))
    taken = take(pedal.ours, pedal.settings, base=pedal.base)
    assert taken.things == ()
    assert taken.faults == ("long.lick is larger than 20 kB: no lick is",)


def test_news_reach_the_pedal_that_runs_and_no_other(tmp_path: Path) -> None:
    program = (
        "import signal, sys; from pathlib import Path; from pedal.live import one_at_a_time as one\n"
        "signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGHUP}); one.hold(Path(sys.argv[1]))\n"
        "print('held', flush=True); print(signal.sigwait({signal.SIGHUP}), flush=True)\n"
    )
    assert not tell(tmp_path, News(("Copied.",)))
    words = [sys.executable, "-c", program, str(tmp_path)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as pedal:
        assert pedal.stdout is not None
        pedal.stdout.readline()
        assert tell(tmp_path, News(("Copied: 1 session.",), anew=True))
        assert pedal.stdout.readline() == "1\n"
    assert heard(tmp_path) == News(("Copied: 1 session.",), anew=True)
    assert heard(tmp_path) is None, "once"


@pytest.mark.parametrize("raw", [b"", b"[]", b"{}", b'{"sentences": 1, "anew": 2}', b"\xff", b"[" * 4096])
def test_damaged_news_are_none(tmp_path: Path, raw: bytes) -> None:
    (tmp_path / FILE).write_bytes(raw)
    assert heard(tmp_path) is None


def test_news_are_few_short_and_clean(tmp_path: Path) -> None:
    (tmp_path / FILE).write_text(json.dumps({"sentences": ["\x1b[2J" + "x" * 999] * 9, "anew": False}))
    news = heard(tmp_path)
    assert news is not None and len(news.sentences) == 3
    assert all(len(sentence) <= 210 and "\x1b" not in sentence for sentence in news.sentences)


def test_a_folder_that_is_gone_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="cannot be looked at"):
        FolderSink(tmp_path / "gone/gone").has_room_for(1)


def test_every_cargo_has_a_folder_of_its_own() -> None:
    assert len({cargo.folder for cargo in CARGOES}) == len(CARGOES)
    assert giving.TAKES not in {cargo.folder for cargo in CARGOES}
