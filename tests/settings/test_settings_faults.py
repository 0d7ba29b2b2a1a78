"""What a wrong file is told: file, line, key, what was expected, and the nearest fit; all faults at once."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from pedal.errors import SettingsError
from pedal.settings.load import load, loads

SOON_S = 30
"""Far more than any of this takes, also on an emulated machine: it only says that something hangs."""


def faults_of(text: str) -> list[str]:
    with pytest.raises(SettingsError) as caught:
        loads(text, name="pedal.yaml")
    assert caught.value.exit_status == 2
    return caught.value.faults


WRONG_VALUES = {
    "forty digits are shown": ("a4_hz: " + 40 * "4", 1, "a4_hz", f"(got {40 * '4'})"),
    "of more that they go on": ("a4_hz: " + 41 * "4", 1, "a4_hz", f"(got {37 * '4'}...)"),
    "of a whole number too": ("capo: " + 41 * "1", 1, "capo", f"(got {37 * '1'}...)"),
    "of a key too": ("key: " + 41 * "x", 1, "key", f"(got '{37 * 'x'}...')"),
    "of a tuning too": ("tuning: " + 41 * "x", 1, "tuning", f"(got '{37 * 'x'}...')"),
    "of a word too": ("audio:\n  input: 3\ntime:\n  feel: " + 41 * "x", 4, "time.feel", f"(got '{37 * 'x'}...')"),
    "a number is not a word": ("capo: high", 1, "capo", "expected a whole number from 0 to 12 frets (got 'high')"),
    "a tempo of nothing": ("time:\n  tempo_bpm: 0", 2, "time.tempo_bpm", "from 40 to 160 beats a minute (got 0)"),
    "a feel that nobody has": ("time:\n  feel: shufle", 2, "time.feel", "did you mean shuffle?"),
    "a whole number has no point": ("capo: 2.5", 1, "capo", "(got 2.5)"),
    "a quoted number is text": ("capo: '2'", 1, "capo", "(got '2')"),
    "no octal surprise": ("capo: 010", 1, "capo", "(got 010)"),
    "no sexagesimal surprise": ("a4_hz: 7:20", 1, "a4_hz", "(got 7:20)"),
    "not infinite": ("a4_hz: .inf", 1, "a4_hz", "(got .inf)"),
    "not nan": ("a4_hz: .nan", 1, "a4_hz", "(got .nan)"),
    "above the range": ("a4_hz: 480.01", 1, "a4_hz", "expected a number from 400 to 480 Hz (got 480.01)"),
    "below the range": ("a4_hz: 399.99", 1, "a4_hz", "(got 399.99)"),
    "a list is no number": ("\ncapo: [1]", 2, "capo", "(got a list of 1)"),
    "keys are no number": ("capo: {a: 1}", 1, "capo", "(got keys below it)"),
    "nothing is no number": ("capo:", 1, "capo", "(got nothing)"),
    "a section needs keys": ("bands: 3", 1, "bands", "expected keys below it (got 3)"),
    "a switch word": ("display: {inverse: 1}", 1, "display.inverse", "expected on or off (got 1)"),
    "a choice with its neighbour": (
        "display:\n  kind: ssd1036",
        2,
        "display.kind",
        "(got 'ssd1036'), did you mean ssd1306?",
    ),
    "an impossible key": ("key: H minor", 1, "key", "(got 'H minor')"),
    "an unknown scale with its neighbour": (
        "key: G minr pentatonic",
        1,
        "key",
        "(got 'G minr pentatonic'), did you mean G minor pentatonic?",
    ),
    "an impossible tuning": ("tuning: E2 A2 X3 G3 B3 E4", 1, "tuning", "(got 'E2 A2 X3 G3 B3 E4')"),
    "a tuning that falls": ("tuning: E4 B3 G3 D3 A2 E2", 1, "tuning", "(got 'E4 B3 G3 D3 A2 E2')"),
    "too few strings": ("tuning: [E2, A2]", 1, "tuning", "(got 'E2 A2')"),
    "one pin twice": ("switches: {pins: [17, 17]}", 1, "switches.pins", "(got the same one twice)"),
    "a pin that no header has": ("switches: {pins: [28]}", 1, "switches.pins", "(got 28)"),
    "too many switches": ("switches: {pins: [4, 5, 6, 12, 13]}", 1, "switches.pins", "(got a list of 5)"),
    "an action that is none": (
        "switches: {actions: {1_short: next_kee}}",
        1,
        "switches.actions.1_short",
        "did you mean next_key?",
    ),
    "a relative path": ("log: {path: here.sqlite}", 1, "log.path", "(got 'here.sqlite')"),
    "an unknown home": ("log: {path: ~nobody_by_this_name/x}", 1, "log.path", "(got '~nobody_by_this_name/x')"),
    "a quarter turn": ("display: {rotation: 90}", 1, "display.rotation", "expected one of 0, 180 degrees (got 90)"),
    "a clock between two": ("display: {spi_hz: 9000000}", 1, "display.spi_hz", "(got 9000000), did you mean 8000000?"),
    "a device of no name": ("audio: {input: ''}", 1, "audio.input", "(got '')"),
    "a number of a thousand digits": (f"capo: {'9' * 1000}", 1, "capo", f"(got {'9' * 37}...)"),
    "a word of a thousand letters": (f"capo: {'x' * 1000}", 1, "capo", f"(got '{'x' * 37}...')"),
}


@pytest.mark.parametrize(("text", "line", "path", "words"), WRONG_VALUES.values(), ids=WRONG_VALUES.keys())
def test_a_wrong_value_is_told_its_line_key_and_range(text: str, line: int, path: str, words: str) -> None:
    faults = faults_of(text)
    assert len(faults) == 1
    assert faults[0].startswith(f"pedal.yaml:{line}: {path}: expected ")
    assert words in faults[0]


UNKNOWN_KEYS = {
    "a slip in a section": ("bands:\n  true_cent: 3", 2, "bands.true_cent", "did you mean true_cents?"),
    "a slip at the top": ("cpao: 3", 1, "cpao", "did you mean capo?"),
    "a slip in a section's name": ("bnads: {}", 1, "bnads", "did you mean bands?"),
    "a section below another": ("switches:\n  action: {}", 2, "switches.action", "did you mean actions?"),
    "a key at the wrong place": ("true_cents: 3", 1, "true_cents", "did you mean true_cents below bands?"),
    "a path as a key": ("bands.true_cents: 3", 1, "bands.true_cents", "did you mean true_cents below bands?"),
    "nothing like it": ("qqqq: 3", 1, "qqqq", "undertoe check --default shows all keys"),
    "a press in no mode": (
        "switches: {actions: {ecko 2_held: menu}}",
        1,
        "switches.actions.ecko 2_held",
        "did you mean echo 2_held?",
    ),
    "YAML's merge key": ("<<: {capo: 1}", 1, "<<", "undertoe check --default shows all keys"),
    "an empty key": ("'': 3", 1, "''", "undertoe check --default shows all keys"),
    "an escape sequence": ('"\\e[2J\\n": 3', 1, "?[2J?", "undertoe check --default shows all keys"),
}


@pytest.mark.parametrize(("text", "line", "path", "words"), UNKNOWN_KEYS.values(), ids=UNKNOWN_KEYS.keys())
def test_an_unknown_key_is_told_the_nearest(text: str, line: int, path: str, words: str) -> None:
    (fault,) = faults_of(text)
    assert fault.startswith(f"pedal.yaml:{line}: {path}: expected a known key (got ")
    assert fault.endswith(words)
    assert "\n" not in fault


def test_a_key_that_stands_twice_is_told_both_lines() -> None:
    assert faults_of("capo: 1\nfrets: 21\ncapo: 2") == [
        "pedal.yaml:3: capo: expected each key once (got it again; first on line 1)"
    ]


def test_a_section_that_stands_twice_is_a_fault() -> None:
    (fault,) = faults_of("lamp: {pin: 5}\nlamp: {pin: 6}")
    assert fault.startswith("pedal.yaml:2: lamp: expected each key once")


def test_all_faults_come_at_once_sorted_by_line() -> None:
    faults = faults_of("capo: x\nbands:\n  true_cent: 3\n  near_cents: [1]\naudio: 3\ncapo: 3\nlamp: {pin: 17}")
    assert [fault.split(":")[1] for fault in faults] == ["1", "3", "4", "5", "6", "7"]


def test_a_disagreement_stands_among_the_other_faults_by_its_line() -> None:
    faults = faults_of("bands: {near_cents: 5}\nframes: 3\nlamp: {pin: 17}\na4_hz: x")
    assert [fault.split(":")[1] for fault in faults] == ["1", "2", "3", "4"]


@pytest.mark.parametrize(
    "text",
    ["bands: {near_cents: 10}", "audio: {drone_db: -12}", "capo: 10", "capo: 12\nfrets: 24"],
)
def test_settings_at_the_very_edge_agree(text: str) -> None:
    assert loads(text) is not None  # and raised no fault


DISAGREEMENTS = {
    "bands in order": ("bands: {near_cents: 5}", "bands.near_cents", "bands.true_cents not above bands.near_cents"),
    "the zone in order": ("bands: {zone_low_cents: 61}", "bands.zone_low_cents", "got 61 and 60"),
    "the drone under its ceiling": ("audio: {drone_db: -6}", "audio.drone_db", "got -6 and -12"),
    "dim before blank": ("display: {blank_after_s: 60}", "display.blank_after_s", "got 120 and 60"),
    "a long press longer than a double": ("switches: {long_s: 0.25}", "switches.long_s", "got 0.3 and 0.25"),
    "an octave above the capo": ("capo: 11", "capo", "an octave of frets above the capo"),
    "a gauge a string": ("tuning: seven", "tuning", "7 diameters in strings.gauges_in"),
    "a core a string": ("strings: {cores_in: [.01, .01, .01, .01]}", "strings.cores_in", "(got 4)"),
    "a core in its string": (
        "strings: {cores_in: [.01, .013, .018, .01, .01, .01]}", "strings.cores_in",
        "the core of string 3 no thicker than the string",
    ),
    "a first mode that is there": ("modes: {order: [tune]}", "modes.order", "one of modes.order (got watch)"),
    "a pin for one use": ("lamp: {pin: 17}", "lamp.pin", "got 17 for switches.pins and for lamp.pin"),
    "a pin of the I2C bus": ("switches: {pins: [2]}", "switches.pins", "got 2 for display.bus and for switches.pins"),
    "a pin of the SPI bus": ("display: {bus: spi}\nlamp: {pin: 10}", "lamp.pin", "got 10 for display.bus"),
    "the panel's reset line and a switch": (
        "display: {i2c_reset_pin: 17}\nswitches: {pins: [17, 27]}", "switches.pins", "got 17 for display.i2c_reset_pin"
    ),
    "the panel's own lines": ("display: {bus: spi, data_pin: 25}", "display.data_pin", "got 25 for display.data_pin"),
    "an action of a missing switch in one mode": (
        "switches: {actions: {echo 3_held: skip}}", "switches.actions.echo 3_held", "got echo 3_held with 2 pins",
    ),
    "an action of a missing switch": (
        "switches: {actions: {3_short: skip}}", "switches.actions.3_short", "got 3_short with 2 pins",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("text", "path", "words"), DISAGREEMENTS.values(), ids=DISAGREEMENTS.keys())
def test_settings_that_disagree_name_a_key_that_was_written(text: str, path: str, words: str) -> None:
    (fault,) = faults_of(text)
    assert f": {path}: expected " in fault
    assert words in fault


NOT_FOR_SETTINGS = {
    "a bomb of aliases": ("a: &a [x, x]\nb: &b [*a, *a]\nc: [*b, *b]", 1, "anchors and aliases"),
    "an alias": ("a: *x", 1, "anchors and aliases"),
    "a tag that runs code": ("a: !!python/object/apply:os.system [ls]", 1, "tags (!) are not allowed"),
    "a tag of our own": ("a: !x 1", 1, "tags (!) are not allowed"),
    "nested without end": ("[" * 30_000, 1, "nested deeper than"),
    "nested keys without end": ("{a: " * 5_000, 1, "nested deeper than"),
    "a tab before a key": ("bands:\n\ttrue_cents: 3", 2, "expected spaces before a key (got a tab)"),
    "a tab after a colon, within a list": ("switches:\n  pins:\n\t- 3", 3, "expected spaces before a key (got a tab)"),
    "a name with a colon, not in quotes": (
        "audio:\n  input: Loopback: PCM (hw:1,0)",
        2,
        "expected the value in quotes where it holds a colon",
    ),
    "a setting too far in": ("key: G\n  capo: 2", 2, "expected this line to begin in the same column"),
    "no colon": ("capo 2\nkey: G", 2, "expected a colon and a space after the setting's name in the line above"),
    "no colon in a section": ("audio:\n  rate_hz: 8000\n  channel\n  output: x", 4, "after each setting's name"),
    "a setting too far out": ("audio:\n    rate_hz: 8000\n  channel: 2", 3, "in the same column as the other settings"),
    "quotes left open": ("key: 'G\ncapo: 2", 1, "expected the quotes to be closed"),
    "quotes around a part": ("key: 'G' minor", 1, "expected the whole value in quotes"),
    "a value with a sign of YAML's own": ("key: @home", 1, "expected the value in quotes"),
    "two documents": ("capo: 1\n---\ncapo: 2", 2, "expected one document"),
    "a list of nothing known": ("- 1", 1, "expected keys with values"),
    "a bare word": ("hello", 1, "expected keys with values"),
    "a list as a key": ("? [1, 2]\n: 3", 1, "expected a word as key"),
    "an open bracket": ("switches:\n  pins: [1, 2", 2, "expected the list to be closed by ]"),
    "a control character": ("capo: 1\nkey: \x00", 2, "expected printable text (got the character U+0000)"),
    "a directive of a version to come": ("%YAML 9.9\n---\ncapo: 1", 1, "expected one setting a line"),
}


@pytest.mark.parametrize(("text", "line", "words"), NOT_FOR_SETTINGS.values(), ids=NOT_FOR_SETTINGS.keys())
@pytest.mark.timeout(SOON_S)
def test_what_settings_do_without_is_refused_by_name(text: str, line: int, words: str) -> None:
    (fault,) = faults_of(text)
    assert fault.startswith(f"pedal.yaml:{line}: "), fault
    assert words in fault


@pytest.mark.timeout(SOON_S)
def test_thousands_of_faults_take_no_time() -> None:
    assert len(faults_of("\n".join(f"true_cents{n}:" for n in range(4000)))) == 4000


def told(path: Path) -> str:
    with pytest.raises(SettingsError) as caught:
        load(path)
    (fault,) = caught.value.faults
    assert fault.startswith(str(path))
    return fault.removeprefix(str(path))


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    assert told(tmp_path / "no.yaml") == (
        ": cannot be read (no such file or directory); check the name and the permissions"
    )


def test_a_folder_is_told(tmp_path: Path) -> None:
    assert told(tmp_path) == ": expected a file of settings (got a folder)"


@pytest.mark.timeout(SOON_S)
def test_a_pipe_that_nobody_writes_does_not_hold_the_start(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert told(tmp_path / "pipe") == ": expected a plain file of settings (got a device or pipe)"


def test_an_endless_device_is_told() -> None:
    assert told(Path("/dev/zero")) == ": expected a plain file of settings (got a device or pipe)"


def test_a_large_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "big.yaml").write_bytes(b"#" * 70_000)
    assert told(tmp_path / "big.yaml") == ": expected at most 64 KiB of settings; this file is larger"


def test_bytes_that_are_no_utf8_are_told_their_line(tmp_path: Path) -> None:
    (tmp_path / "latin.yaml").write_bytes(b"capo: 1\nkey: \xe9\n")
    assert told(tmp_path / "latin.yaml") == ":2: expected UTF-8 text (got the byte 0xE9); save the file as UTF-8"


@pytest.mark.skipif(os.geteuid() == 0 and not Path("/proc/self/status").exists(), reason="root reads everything")
def test_an_unreadable_file_is_told(tmp_path: Path) -> None:
    file = tmp_path / "secret.yaml"
    file.write_text("capo: 1")
    file.chmod(0)
    if os.access(file, os.R_OK):  # root: become nobody for the length of the call
        tmp_path.chmod(0o755)
        os.seteuid(65534)
    try:
        assert "cannot be read (permission denied)" in told(file)
    finally:
        if os.getuid() == 0:
            os.seteuid(0)


def test_a_name_with_a_nul_byte_is_told() -> None:
    assert "cannot be read (" in told(Path("a\0b"))  # what then follows is Python's own sentence, by version
    assert "embedded null" in told(Path("a\0b"))


@pytest.mark.parametrize("text", [text for text, _, _ in NOT_FOR_SETTINGS.values()], ids=NOT_FOR_SETTINGS.keys())
@pytest.mark.timeout(SOON_S)
def test_no_word_of_yamls_own_grammar_reaches_a_guitarist(text: str) -> None:
    (fault,) = faults_of(text)
    for word in ("mapping values", "block end", "token", "scalar", "simple key", "flow sequence", "not YAML"):
        assert word not in fault
