"""Settings that have no owner: what of the card's or a stick's file counts, which of them, and what holds meanwhile."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from pedal.cli import check
from pedal.cli.entry import main
from pedal.errors import SettingsError
from pedal.settings import card as the_card
from pedal.settings import load as loading
from pedal.settings.card import GOOD, NAMES, STICK, Layered, keep_good, load_layered, take_from_stick
from pedal.settings.door import of_a_stick, of_the_card
from pedal.settings.kinds import FolderPath, OrNone
from pedal.settings.load import loads
from pedal.settings.table import ROWS

HERE = "/state"


class Pedal:
    """An installed file, a card and a state folder, all in folders of a test."""

    def __init__(self, folder: Path) -> None:
        self.base, self.card, self.state = folder / "etc.yaml", folder / "card", folder / "state"
        self.base.write_text(f"capo: 1\nstate: {{folder: {self.state}}}\n")
        self.card.mkdir()
        (self.card / "config.txt").write_text("# boot\n")
        self.state.mkdir()

    def write(self, text: str | bytes, name: str = NAMES[0]) -> Path:
        raw = text.encode() if isinstance(text, str) else text
        (self.card / name).write_bytes(raw)
        return self.card / name

    def load(self) -> Layered:
        layered = load_layered(self.base, card=self.card)
        keep_good(layered)
        return layered

    def bring(self, text: str) -> bool:
        file = self.state.parent / "undertoe.yaml"
        file.write_text(text)
        return take_from_stick(file, base=self.base, card=self.card)


@pytest.fixture
def pedal(tmp_path: Path) -> Pedal:
    return Pedal(tmp_path)


def test_the_card_lies_over_what_is_installed(pedal: Pedal) -> None:
    assert pedal.load().settings.capo == 1
    pedal.write("key: A blues\n")
    layered = pedal.load()
    assert (layered.settings.capo, layered.settings.key) == (1, loads("key: A blues").key)
    assert layered.settings.state.folder == pedal.state
    assert layered.faults == ()


def test_a_broken_card_changes_nothing_and_is_named_with_its_line(pedal: Pedal) -> None:
    pedal.write("capo: 3\n")
    pedal.load()
    pedal.write("key: A blues\ncapo: high\n")
    layered = pedal.load()
    assert layered.settings.capo == 3, "the last good one holds"
    assert layered.settings.key == loads("").key, "half of a broken file counts for nothing"
    assert len(layered.faults) == 1
    assert layered.faults[0].startswith(f"{pedal.card / NAMES[0]}:2: capo: expected a whole number from 0 to 12")
    pedal.write("capo: 4\n")
    assert pedal.load().settings.capo == 4


def test_a_broken_card_before_any_good_one_leaves_what_is_installed(pedal: Pedal) -> None:
    pedal.write("capo: high\n")
    layered = pedal.load()
    assert (layered.settings.capo, len(layered.faults)) == (1, 1)
    assert not (pedal.state / GOOD).exists()


def test_a_file_that_was_removed_is_forgotten(pedal: Pedal) -> None:
    pedal.write("capo: 3\n").unlink()
    pedal.load()
    file = pedal.write("capo: 3\n")
    pedal.load()
    file.unlink()
    assert pedal.load().settings.capo == 1
    assert not (pedal.state / GOOD).exists()


def test_a_partition_that_is_not_there_is_no_file_that_was_removed(pedal: Pedal) -> None:
    pedal.write("capo: 3\n")
    pedal.load()
    for file in pedal.card.iterdir():
        file.unlink()
    layered = pedal.load()
    assert layered.settings.capo == 3
    assert "not there" in layered.faults[0]
    pedal.card.rmdir()
    assert pedal.load().settings.capo == 3


def test_a_card_that_was_good_and_no_longer_agrees_with_what_is_installed(pedal: Pedal) -> None:
    """The installed ceiling came down since: what was good is looked at again, and what is installed holds."""
    pedal.write("audio: {drone_db: -20}\n")
    pedal.load()
    pedal.base.write_text(pedal.base.read_text() + "audio: {drone_ceiling_db: -25, drone_db: -40}\n")
    layered = pedal.load()
    assert layered.settings.audio.drone_db == -40
    assert "audio.drone_db" in layered.faults[0]


def test_a_wrong_installed_file_is_never_half_used(pedal: Pedal) -> None:
    pedal.base.write_text("capo: high\n")
    pedal.write("capo: 2\n")
    with pytest.raises(SettingsError, match="etc.yaml:1: capo"):
        pedal.load()


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("log: {path: /tmp/log.sqlite}", "log.path"),
        ("log: {max_mb: 1}", "log.max_mb"),
        ("takes: {folder: /tmp}", "takes.folder"),
        ("takes: {max_mb: 100000}", "takes.max_mb"),
        ("state: {folder: /tmp}", "state.folder"),
    ],
)
def test_nothing_that_writes_elsewhere_or_throws_away_counts(pedal: Pedal, text: str, key: str) -> None:
    """Security: a stick or card says nothing about where is written, nor how much of the log goes."""
    pedal.write(f"capo: 2\n{text}\n")
    layered = pedal.load()
    assert layered.faults[0].startswith(f"{pedal.card / NAMES[0]}:2: {key}: does not count here")
    assert (layered.settings.capo, layered.settings.log.max_mb) == (1, 200)
    with pytest.raises(SettingsError, match=key):
        pedal.bring(text)


def test_the_drone_is_never_louder_than_installed(pedal: Pedal) -> None:
    pedal.write("audio: {drone_ceiling_db: -3}\n")
    assert "at most the installed -12 here (got -3)" in pedal.load().faults[0]
    pedal.write("audio: {drone_db: -6}\n")
    assert "audio.drone_db" in pedal.load().faults[0]
    pedal.write("audio: {drone_ceiling_db: -20}\n")
    layered = pedal.load()
    assert (layered.faults, layered.settings.audio.drone_ceiling_db) == ((), -20)


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("force: {heavy_n: 17}", "force.heavy_n"),
        ("round: {heavy_bends: 100}", "round.heavy_bends"),
        ("round: {rest_s: 10}", "round.rest_s"),
    ],
)
def test_nothing_that_spares_a_hand_is_made_laxer(pedal: Pedal, text: str, key: str) -> None:
    pedal.write(text)
    assert f"1: {key}: expected at " in pedal.load().faults[0]


@pytest.mark.parametrize(
    ("text", "key", "sentence"),
    [
        ("players: {names: [Zoe], heavy_n: [50]}", "players.heavy_n", "heavy from at most the installed 12 N for Zoe"),
        ("players: {names: [ANN, Ben], heavy_n: [12, 14]}", "players.heavy_n", "at most the installed 9 N for ANN"),
        ("players: {names: [Ann, Ben], heavy_n: []}", "players.heavy_n", "at most the installed 9 N for Ann"),
        ("players: {names: [Ben, Ann]}", "players.names", "heavy from at most the installed 9 N for Ann"),
        ("players: {names: [Ben, Zoe]}", "players.names", "heavy from at most the installed 12 N for Zoe"),
        ("players: {names: [Ben, Zoe], heavy_n: [14, 5]}", "players.names", "expected Ann among them"),
        ("players: {names: [], heavy_n: []}", "players.names", "expected Ann among them"),
        ("force: {medium_n: 6, heavy_n: 6}", "force.heavy_n", "medium from at most the installed 4.5 N for Ann"),
    ],
    ids=["a new hand", "a known one", "no forces", "two change places", "in a place", "one left out", "all", "a share"],
)
def test_no_players_hand_is_made_to_bear_more(pedal: Pedal, text: str, key: str, sentence: str) -> None:
    """A force of one's own goes before the section force, and the other grades stand in proportion to it."""
    pedal.base.write_text(pedal.base.read_text() + "players: {names: [Ann, Ben], heavy_n: [9, 14]}\n")
    pedal.write(text)
    assert any(f"1: {key}: expected " in fault and sentence in fault for fault in pedal.load().faults)
    with pytest.raises(SettingsError, match=key):
        pedal.bring(text)


def test_a_hand_may_be_spared_more(pedal: Pedal) -> None:
    pedal.base.write_text(pedal.base.read_text() + "players: {names: [Ann, Ben], heavy_n: [9, 14]}\n")
    pedal.write("players: {names: [Zoe, Ben, ann], heavy_n: [12, 14, 7]}\n")
    layered = pedal.load()
    assert (layered.faults, layered.settings.players.heavy_n) == ((), (12, 14, 7))
    pedal.write("force: {medium_n: 3, heavy_n: 6, very_heavy_n: 9}\n")
    assert pedal.load().faults == ()


@pytest.mark.parametrize("text", ["display: {i2c_port: 2}", "display: {i2c_address: 0x50}"])
def test_no_other_chip_is_written_to(pedal: Pedal, text: str) -> None:
    """Security: at 0x50 of other buses lie the memories by which a monitor and a board know what they are."""
    pedal.write(text)
    assert "display.i2c" in pedal.load().faults[0]


def test_recording_is_switched_on_by_the_card_and_by_no_stick(pedal: Pedal) -> None:
    pedal.write("takes: {keep: on}")
    assert pedal.load().settings.takes.keep
    with pytest.raises(SettingsError, match="takes.keep"):
        pedal.bring("takes: {keep: on}")


def test_no_setting_with_a_place_is_let_in() -> None:
    values = {row.path: row.default for row in ROWS}
    refused = {key for key, _ in of_the_card(values, values)}
    for row in ROWS:
        inner = row.kind.kind if isinstance(row.kind, OrNone) else row.kind
        if isinstance(inner, FolderPath) or row.section in ("log", "state"):
            assert row.path in refused, row.path
    assert {"takes.max_mb", "log.max_mb"} <= refused
    assert not {"key", "tuning", "audio.input", "display.kind", "switches.pins", "modes.order"} & refused
    assert {key for key, _ in of_a_stick(values, values)} - refused == {"takes.keep"}


def test_what_is_unknown_to_the_door_does_not_count() -> None:
    assert list(of_the_card({"brand.new": 1}, {}))


@pytest.mark.parametrize(
    ("raw", "how"),
    [
        ("capo: 5\r\nkey: B♭ blues\r\n".encode("utf-16"), "UTF-16 with its mark, as an editor calls Unicode"),
        (b"\xfe\xff" + "capo: 5\nkey: B♭ blues\n".encode("utf-16-be"), "the other way round"),
        (b"\xef\xbb\xbf" + "capo: 5\r\nkey: B♭ blues\r\n".encode(), "UTF-8 with a mark"),
        ("capo: 5\rkey: B♭ blues\r".encode(), "line ends of old"),
        ("audio:\n\u00a0 drone_db: -40\ncapo: 5\nkey: B♭ blues\n".encode(), "hard spaces of a telephone"),
        ("capo:\t5\nkey: B♭ blues\t\n".encode(), "tabs behind the colon and at the end"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_text_editors_write_is_understood(pedal: Pedal, raw: bytes, how: str) -> None:
    pedal.write(raw)
    layered = pedal.load()
    assert layered.faults == (), how
    assert (layered.settings.capo, layered.settings.key) == (5, loads("key: B♭ blues").key)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"audio:\n\tdrone_db: -40\n", r":2: expected spaces before a key \(got a tab\)"),
        (b"\xff\xfe" + "capo: 5\n".encode("utf-16-le")[:-1], "half a UTF-16 file"),
        ("capo: 5\n".encode("utf-16-le"), r":1: expected UTF-8 text \(got zeros, as in UTF-16\)"),
        ("capo: 5\n".encode("utf-32"), "UTF-32"),
        (b"{\\rtf1\\ansi capo: 5}", "save the file as plain text"),
        ("key: B blues\n# für\n".encode("cp1252"), r":2: expected UTF-8 text \(got the byte 0xFC\)"),
        ("capo: 2\naudio: {input: “USB”}\n".encode(), r":2: expected straight quotes, \" or ' \(got “\)"),
        (b"PK\x03\x04\x00\x00", "zeros"),
    ],
)
def test_what_they_write_and_is_no_plain_text_is_refused_in_a_sentence(pedal: Pedal, raw: bytes, words: str) -> None:
    file = pedal.write(raw)
    with pytest.raises(SettingsError, match=words) as caught:
        loading.load(file)
    assert pedal.load().faults == tuple(caught.value.faults)


@pytest.mark.parametrize("name", NAMES)
def test_a_name_with_an_ending_that_a_computer_hides_is_found(pedal: Pedal, name: str) -> None:
    pedal.write("capo: 7\n", name)
    assert pedal.load().settings.capo == 7


def test_the_one_that_came_last_counts(pedal: Pedal) -> None:
    pedal.write("capo: 3\n")
    pedal.load()
    assert pedal.bring("capo: 5\n")
    assert not pedal.bring("capo: 5\n"), "the same again is no news"
    assert pedal.load().settings.capo == 5
    pedal.write("capo: 6\n")
    assert pedal.load().settings.capo == 6, "the card was edited since"
    assert pedal.bring("capo: 5\n"), "and then the stick came again"
    assert pedal.load().settings.capo == 5


def test_a_stick_with_a_slip_brings_nothing(pedal: Pedal) -> None:
    with pytest.raises(SettingsError, match=r"undertoe.yaml:2: capo"):
        pedal.bring("key: A blues\ncapo: high\n")
    assert not (pedal.state / STICK).exists()
    assert pedal.load().settings.capo == 1


def test_without_a_card_all_is_as_before(pedal: Pedal) -> None:
    assert load_layered(pedal.base, card=None) == Layered(loading.load(pedal.base))


def test_a_state_folder_that_cannot_be_written_leaves_the_settings_good(pedal: Pedal) -> None:
    pedal.write("capo: 3\n")
    layered = load_layered(pedal.base, card=pedal.card)
    gone = replace(layered.settings, state=replace(layered.settings.state, folder=pedal.state / "no/such"))
    with pytest.raises(Exception, match="cannot be written"):
        keep_good(replace(layered, settings=gone))


def test_the_command_checks_by_the_rules_of_the_card(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = pedal.write("capo: 2\nlog: {max_mb: 5}\n")
    monkeypatch.setattr(check, "SERVICE_FILE", pedal.base)
    assert main(["check", "--card", str(file)]) == 2
    assert ":2: log.max_mb: does not count here" in capsys.readouterr().err
    file.write_text("capo: 2\n")
    assert main(["check", "--card", str(file)]) == 0
    assert "capo: 2 (default 1)" in capsys.readouterr().out


def test_the_command_says_what_a_stick_may_not_bring_though_the_card_may(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = pedal.write("capo: 2\ntakes: {keep: on}\n")
    monkeypatch.setattr(check, "SERVICE_FILE", pedal.base)
    assert main(["check", "--card", str(file)]) == 0
    out = capsys.readouterr().out.splitlines()
    assert out[0] == f"{file}: good, and changes:"
    assert out[-1].startswith(f"from a stick nothing of it counts: {file}:2: takes.keep: does not count here")
    monkeypatch.setattr(the_card, "SERVICE_FILE", pedal.base)
    monkeypatch.setattr(the_card, "CARD", pedal.card)
    monkeypatch.setattr(check, "settings_file", lambda file: file or pedal.base)
    assert main(["check"]) == 0
    assert "takes.keep" in (out := capsys.readouterr().out)
    assert "stick" not in out, "it is the card's"
    file.write_text("capo: 2\n")
    assert main(["check", "--card", str(file)]) == 0
    assert "stick" not in capsys.readouterr().out


def test_homework_is_checked_for_the_players_of_the_card(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("HOME", str(pedal.state))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    for module in (loading, the_card):
        monkeypatch.setattr(module, "SERVICE_FILE", pedal.base)
    monkeypatch.setattr(the_card, "CARD", pedal.card)
    pedal.write("players: {names: [Ann]}\nkey: A minor pentatonic\n")
    homework = pedal.state / "homework.yaml"
    homework.write_text("for: Ann\ntargets:\n- curl: 3/5\n")
    assert main(["check", str(homework)]) == 0
    assert capsys.readouterr().out.startswith(f"{homework}: good, homework for Ann:")


def test_the_file_in_use_is_checked_with_the_card(
    pedal: Pedal, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(check, "SERVICE_FILE", pedal.base)
    monkeypatch.setattr(the_card, "SERVICE_FILE", pedal.base)
    monkeypatch.setattr(the_card, "CARD", pedal.card)
    monkeypatch.setattr(check, "settings_file", lambda file: file or pedal.base)
    pedal.write("capo: high\n")
    assert main(["check"]) == 2
    assert ":1: capo: expected a whole number" in capsys.readouterr().err


def test_a_stick_may_bring_players_and_no_more_heavy_bends_than_are_installed(pedal: Pedal) -> None:
    pedal.write("players: {names: [Ann, Ben]}\nround: {minutes: 20, heavy_bends: 4}\n")
    layered = pedal.load()
    settings = layered.settings
    assert (layered.faults, settings.players.names, settings.round.heavy_bends) == ((), ("Ann", "Ben"), 4)
    pedal.write("round: {heavy_bends: 200}\n")
    assert "at most the installed 10 here (got 200)" in pedal.load().faults[0]
