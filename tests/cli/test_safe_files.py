"""What is written: never over what is read, never half over what is good, for its owner alone, and through no link."""

from __future__ import annotations

import errno
import json
import os
import stat
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from shutil import copyfile

import pytest

from pedal.cli.entry import main
from pedal.errors import StoreError
from pedal.log import open_store
from pedal.review import data
from pedal.safe_files import writing, writing_bytes
from pedal.takes.folder import TakesFolder
from tests.live.true_bend import a_true_bend, write
from tests.progress.invented_month import CLEAN, entries

Said = Callable[..., tuple[int, str, str]]
OUTPUTS = ["--csv", "--html", "--midi", "--export", "--plot"]


@pytest.fixture(scope="module")
def first_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Made once; each test has a copy."""
    path = tmp_path_factory.mktemp("first") / "log.sqlite"
    store = open_store(path)
    store.append([entry for session, entry in entries(CLEAN, seed=1, tries=2, traces=True) if session == 1])
    store.close()
    return path


@pytest.fixture
def log(first_log: Path, tmp_path: Path) -> Path:
    path = tmp_path / "log.png"  # so that --plot takes the name as well
    assert list(first_log.parent.iterdir()) == [first_log], "all of it is in the one file"
    return copyfile(first_log, path)


@pytest.fixture
def say(log: Path, capsys: pytest.CaptureFixture[str]) -> Said:
    def run(*words: object) -> tuple[int, str, str]:
        status = main(["review", "--log", str(log), *map(str, words)])
        said = capsys.readouterr()
        return status, said.out, said.err

    return run


def names(folder: Path) -> set[str]:
    """What lies there, but for SQLite's own files beside a log."""
    return {path.name for path in folder.iterdir() if not path.name.endswith(("-wal", "-shm"))}


@pytest.mark.parametrize("how", ["itself", "another way round", "a hard link", "its journal"])
@pytest.mark.parametrize("option", OUTPUTS)
def test_an_output_over_the_log_is_refused(log: Path, say: Said, tmp_path: Path, option: str, how: str) -> None:
    beside = log.with_name("log.png-wal")
    beside.write_bytes(b"") if how == "its journal" else None
    (tmp_path / "other.png").hardlink_to(log) if how == "a hard link" else None
    path = {
        "itself": log,
        "another way round": tmp_path / "." / ".." / tmp_path.name / "log.png",
        "a hard link": tmp_path / "other.png",
        "its journal": beside,
    }[how]
    if option == "--plot" and how == "its journal":
        pytest.skip("--plot asks for the ending .png, .svg or .pdf")
    before = log.read_bytes()
    status, said, complaint = say(option, path)
    assert (status, said, complaint.count("\n")) == (2, "", 1)
    assert f"{path} is what is read: name another file to write to" in complaint
    assert log.read_bytes() == before


@pytest.mark.parametrize("option", OUTPUTS)
def test_a_new_output_is_its_owners_alone(say: Said, tmp_path: Path, option: str) -> None:
    before = os.umask(0)
    try:
        assert say(option, tmp_path / "out.png")[0] == 0
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "out.png").stat().st_mode) == 0o600
    assert names(tmp_path) == {"log.png", "out.png"}, "something was left behind"


@pytest.mark.parametrize("option", OUTPUTS)
@pytest.mark.parametrize("there", [True, False])
def test_an_output_through_a_link_is_refused(say: Said, tmp_path: Path, option: str, there: bool) -> None:
    (tmp_path / "profile").write_text("good") if there else None
    (tmp_path / "out.png").symlink_to(tmp_path / "profile")
    status, _, complaint = say(option, tmp_path / "out.png")
    assert status == 1 and "it is a link to another file" in complaint
    assert (tmp_path / "profile").exists() is there
    assert not there or (tmp_path / "profile").read_text() == "good"


def test_a_file_that_fails_half_way_leaves_the_good_one(
    say: Said, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "notes.csv").write_text("good")

    def fail(_: object, file: object, *more: object) -> None:
        file.write("half of it")
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(data, "write_csv", fail)
    status, _, complaint = say("--csv", tmp_path / "notes.csv")
    assert status == 1 and "notes.csv cannot be written: No space left on device" in complaint
    assert (tmp_path / "notes.csv").read_text() == "good"
    assert names(tmp_path) == {"log.png", "notes.csv"}


@pytest.mark.parametrize("fault", [KeyboardInterrupt, StoreError])
def test_whatever_ends_the_writing_leaves_the_good_one(tmp_path: Path, fault: type[BaseException]) -> None:
    (tmp_path / "file").write_text("good")
    with pytest.raises(fault), writing(tmp_path / "file") as file:
        file.write("half")
        raise fault
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [("file", "good")]


def test_what_is_replaced_keeps_its_mode(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("old")
    (tmp_path / "file").chmod(0o644)
    with writing_bytes(tmp_path / "file") as file:
        file.write(b"new")
    assert ((tmp_path / "file").read_text(), (tmp_path / "file").stat().st_mode & 0o777) == ("new", 0o644)


def test_a_device_is_written_to_as_it_is(say: Said) -> None:
    assert say("--csv", "/dev/null")[0] == 0
    status, _, complaint = say("--csv", "/dev/full")
    assert status == 1 and "/dev/full cannot be written: No space left on device" in complaint


def test_a_plot_over_the_take_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    take = write(tmp_path / "take.png", a_true_bend(), kind="WAV")
    before = take.read_bytes()
    assert main(["read", str(take), "--plot", str(take)]) == 2
    assert "is what is read" in capsys.readouterr().err
    assert take.read_bytes() == before


@pytest.mark.parametrize("option", ["--svg", "--png"])
def test_a_map_through_a_link_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str], option: str) -> None:
    (tmp_path / "map.png").symlink_to(tmp_path / "profile")
    assert main(["map", "--position", "1", option, str(tmp_path / "map.png")]) == 1
    assert "it is a link to another file" in capsys.readouterr().err
    assert not (tmp_path / "profile").exists()


@pytest.mark.parametrize("name", ["film.xyz", "film", "film.png"])
def test_a_film_of_another_kind_is_refused_before_the_demo_begins(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    assert main(["demo", "--fast", "--gif", str(tmp_path / name)]) == 2, "a mistake in what was asked"
    said = capsys.readouterr()
    assert f"{name}: the name must end in .gif" in said.err and said.out == ""
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("two_curls")
def test_a_film_that_cannot_be_written_at_the_end_is_a_failure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ValueError("a worker's fault during the stop")

    monkeypatch.setattr("PIL.Image.Image.save", fail)
    with pytest.raises(ValueError, match="during the stop"):
        main(["demo", "--mode", "curl", "--fast", "--gif", str(tmp_path / "film.gif")])


def test_the_folder_of_takes_is_its_owners_alone(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        take = TakesFolder(tmp_path / "state" / "takes", sample_rate=8000, most_bytes=10**6).add(
            a_true_bend()[:800].astype("float32"), "C4-true"
        )
    finally:
        os.umask(before)
    assert stat.S_IMODE(take.parent.stat().st_mode) == 0o700
    assert stat.S_IMODE(take.stat().st_mode) == 0o600


def test_a_take_is_not_written_through_a_link(tmp_path: Path) -> None:
    (tmp_path / "takes").mkdir()
    (tmp_path / "takes" / "take-000001-C4-true.part").symlink_to(tmp_path / "profile")
    TakesFolder(tmp_path / "takes", sample_rate=8000, most_bytes=10**6).add(
        a_true_bend()[:800].astype("float32"), "C4-true"
    )
    assert not (tmp_path / "profile").exists()


def test_what_a_library_writes_is_its_owners_alone_as_well(tmp_path: Path) -> None:
    """Such as name no mode of their own: the whole process has the umask 077."""
    code = """
from pathlib import Path
from pedal.cli import entry
entry.main = lambda: Path("by-a-library").write_text("")
entry.program()
"""
    subprocess.run([sys.executable, "-c", code], cwd=tmp_path, check=True, preexec_fn=lambda: os.umask(0))
    assert stat.S_IMODE((tmp_path / "by-a-library").stat().st_mode) == 0o600


def test_the_program_writes_for_its_owner_alone(tmp_path: Path) -> None:
    words = [
        "demo",
        "--mode",
        "echo",  # the shortest
        "--fast",
        "--headless",
        "--png",
        str(tmp_path / "shots"),
        "--log",
        str(tmp_path / "a" / "log.sqlite"),
    ]
    subprocess.run(
        [sys.executable, "-m", "pedal.cli.entry", *words],
        check=True,
        capture_output=True,
        preexec_fn=lambda: os.umask(0),
    )
    modes = {path: stat.S_IMODE(path.stat().st_mode) for path in tmp_path.rglob("*")}
    assert len(modes) > 5
    assert {mode for path, mode in modes.items() if path.is_dir()} == {0o700}
    assert {mode for path, mode in modes.items() if path.is_file()} == {0o600}


def test_a_full_device_as_standard_output_is_one_sentence() -> None:
    for words in (["map"], ["--version"], ["check", "--default"]):
        with Path("/dev/full").open("w") as full:
            done = subprocess.run(
                [sys.executable, "-m", "pedal.cli.entry", *words],
                stdout=full,
                stderr=subprocess.PIPE,
                text=True,
                check=False,
            )
        assert (done.returncode, done.stderr) == (
            1,
            "undertoe: standard output cannot be written: No space left on device\n",
        )


# ---- words from elsewhere on the terminal and in tables


EVIL = "\x1b]0;owned\x07\x9b2J\u202eAnn\nundertoe: all is well"


@pytest.fixture
def evil_log(tmp_path: Path) -> Path:
    path = tmp_path / "evil.sqlite"
    store = open_store(path, player=EVIL[:70])
    store.append([entry for session, entry in entries(CLEAN, seed=1, tries=2) if session == 1])
    store.close()
    return path


@pytest.mark.parametrize("words", [(), ("--json",), ("--html", "page.html"), ("--csv", "notes.csv")])
def test_a_players_name_moves_no_cursor_and_forges_no_line(
    evil_log: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    words: tuple[str, ...],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["review", "--log", str(evil_log), *words]) == 0
    said = capsys.readouterr()
    written = Path(words[1]).read_text() if len(words) > 1 else ""
    for text in (said.out, said.err, written):
        assert not set(text) & set("\x1b\x07\x9b\u202e")
        assert not any(line.startswith("undertoe: all is well") for line in text.splitlines())


def test_a_file_name_forges_no_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for verb in (["read"], ["review", "--log"], ["check"], ["review", "--import"], ["demo", "--fast", "--gif"]):
        assert main([*verb, f"{tmp_path}/{EVIL}/x"]) in (1, 2)
        complaint = capsys.readouterr().err
        assert complaint.count("\n") == 1, verb
        assert not set(complaint) & set("\x1b\x07\x9b\u202e")


def test_a_cell_is_no_formula(tmp_path: Path) -> None:
    path = tmp_path / "log.sqlite"
    store = open_store(path, player="=HYPERLINK(1)")
    played = [entry for session, entry in entries(CLEAN, seed=1, tries=1) if session == 1]
    store.append(played)
    store.close()
    assert main(["review", "--log", str(path), "--csv", str(tmp_path / "notes.csv")]) == 0
    text = (tmp_path / "notes.csv").read_text()
    assert ",'=HYPERLINK(1)," in text and ",=HYPERLINK" not in text
    errors = [entry.verdict.error_cents for entry in played if entry.verdict and entry.verdict.error_cents is not None]
    assert min(errors) < 0 and str(min(errors)) in text, "numbers stay numbers"


@pytest.mark.parametrize(
    ("days", "status"), [("9" * 400 + "d", 2), ("9" * 5000 + "d", 2), ("\u0663d", 2), ("-1d", 2), ("99999d", 0)]
)
def test_since_any_number_of_days(say: Said, days: str, status: int) -> None:
    found, said, complaint = say("--json", "--since", days)
    assert found == status
    assert complaint.count("\n") == (status != 0)
    assert not said or json.loads(said)


# ---- takes

OTHER_KINDS = [
    ("AIFF", "PCM_16"), ("OGG", "VORBIS"), ("AU", "PCM_16"), ("CAF", "PCM_16"), ("W64", "PCM_16"), ("MAT5", "PCM_16"),
    ("WAV", "IMA_ADPCM"), ("WAV", "GSM610"), ("WAV", "MS_ADPCM"),
]  # fmt: skip


def test_a_take_of_any_other_kind_never_reaches_its_decoder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for kind, subtype in OTHER_KINDS:
        take = write(tmp_path / "take.wav", a_true_bend(), kind=kind, subtype=subtype)
        with monkeypatch.context() as here:
            here.setattr("soundfile.SoundFile", must_not_be_called)
            assert main(["read", str(take)]) == 1
        complaint = capsys.readouterr().err
        assert "is no sound file that can be read: give a WAV or FLAC file" in complaint, (kind, subtype)


def must_not_be_called(*_: object, **__: object) -> None:
    raise AssertionError("libsndfile saw the file")


def test_a_pipe_as_a_take_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "take.wav")
    done = subprocess.run(
        [sys.executable, "-m", "pedal.cli.entry", "read", str(tmp_path / "take.wav")],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 1 and "is no file" in done.stderr and "Traceback" not in done.stderr


# ---- words without end


@pytest.mark.parametrize(
    "words",
    [
        ["map", "--key", "\ud800"], ["map", "--key", "G [" + "1 " * 50_000], ["read", "\ud800"],
        ["review", "--target", "\ud800"], ["review", "--key", "[" * 100_000], ["review", "--log", "\ud800"],
        ["read", "x.wav", "--a4", "nan"], ["review", "--since", "\ud800"], ["check", "\ud800"],
        ["review", "--csv", "\ud800"], ["live", "--log", "a\0b"], ["read", "a\0b"], ["review", "--log", "a\0b"],
        ["review", "--import", "a\0b"], ["review", "--html", "a\0b"], ["review", "--import", "\ud800"],
    ],
    ids=lambda words: ascii(" ".join(words))[1:40],
)  # fmt: skip
def test_no_word_of_the_command_line_is_a_traceback(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, words: list[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    if words[0] == "review" and "--log" not in words:
        words = [*words, "--log", str(log)]
    assert main(words) in (0, 1, 2)
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    "text",
    ["tuning: E2 A2 D3 G3 B3 E" + "9" * 5000, 'tuning: "E2 \\ud800"', "a4_hz: .nan", "key: " + "[" * 100_000,
     'log:\n  path: "\\ud800"', 'log:\n  path: "a\\0b"', 'state:\n  folder: "\\ud800"', 'key: "\\ud800"'],
    ids=range(8),
)  # fmt: skip
@pytest.mark.parametrize("verb", ["check", "review"])
def test_no_word_of_the_settings_is_a_traceback(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, verb: str
) -> None:
    (tmp_path / "u.yaml").write_text(text)
    status = main(
        ["check", str(tmp_path / "u.yaml")] if verb == "check" else ["review", "--config", str(tmp_path / "u.yaml")]
    )
    assert status in (1, 2)
    complaint = capsys.readouterr().err
    assert "Traceback" not in complaint and complaint.startswith("undertoe: ")


def test_a_good_file_of_settings_forges_no_line_either(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "a\x1b[2J\nundertoe: all is well.yaml"
    path.write_text('a4_hz: 442\naudio:\n  input: "\\e[2J\\u202e"\n')
    main(["check", str(path)])
    said = capsys.readouterr()
    assert not set(said.out + said.err) & set("\x1b\u202e")
    assert not any(line.startswith("undertoe: all is well") for line in (said.out + said.err).splitlines())
