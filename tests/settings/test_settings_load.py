"""What a right file becomes: frozen settings, the same from a file, from a text, and from their own written form."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from pedal.modes.action_map import MOST_SWITCHES, ActionMap
from pedal.settings import parts
from pedal.settings.export import changes, default_yaml, reference_page
from pedal.settings.kinds import Amount, Device, FolderPath, IntRange, ListOf, OneNumber, OneWord, OnOff, OrNone
from pedal.settings.load import load, loads, settings_file
from pedal.settings.music_kinds import LONGEST_NAME, MOST_PLAYERS, KeyWords, PlayerNames, TuningWords
from pedal.settings.table import ACTIONS, MODES, PRESSES, ROWS, SECTIONS
from pedal.theory.neck import TUNINGS, parse_tuning
from pedal.theory.scale import SCALES, parse_key
from pedal.verdicts.aim import Bands

SHOWN = [row for row in ROWS if row.section != "switches.actions"]
"""All but the presses, of which there are hundreds of one kind."""
ONE_OF_EACH = [*SHOWN, next(row for row in ROWS if row.section == "switches.actions")]
HERE = {"HOME": "/home/player"}


def test_no_file_gives_the_defaults_that_the_design_names() -> None:
    settings = load(None, environment=HERE)
    assert str(settings.key) == "G minor pentatonic"
    assert (settings.a4_hz, settings.strings.scale_mm, settings.display.distance_m) == (440.0, 648.0, 1.6)
    assert (settings.strings.gauges_in[0], settings.strings.gauges_in[-1]) == (0.010, 0.046)
    assert settings.bands == Bands()
    assert settings.log.path == Path("/home/player/.local/state/undertoe/log.sqlite")


@pytest.mark.parametrize("text", ["", "\n", "# nothing\n", "---\n", "{}", "bands:\n", "\ufeff", "~", "null\n..."])
def test_an_empty_file_or_section_keeps_the_defaults(text: str) -> None:
    assert loads(text, environment=HERE) == load(None, environment=HERE)


def test_the_default_file_says_the_defaults_and_every_key() -> None:
    text = default_yaml()
    assert loads(text, environment=HERE) == load(None, environment=HERE)
    tree = yaml.safe_load(text)
    for row in SHOWN:
        node = tree
        for word in row.path.split("."):
            node = node[word]


def test_the_table_and_the_parts_have_the_same_fields() -> None:
    rows = {row.path for row in ROWS if row.section != "switches.actions"} | {"switches.actions"}
    fields = set()
    for field in dataclasses.fields(parts.Settings):
        if field.name in SECTIONS:
            part = getattr(load(None), field.name)
            fields |= {f"{field.name}.{inner.name}" for inner in dataclasses.fields(part)}
        else:
            fields.add(field.name)
    assert fields == rows


def test_settings_are_frozen_throughout() -> None:
    settings = load(None)
    hash(settings)  # a mutable part would refuse
    with pytest.raises(dataclasses.FrozenInstanceError):
        settings.audio.rate_hz = 44100  # type: ignore[misc]


RIGHT = {
    "a tuning by name": ("tuning: drop D", lambda s: s.tuning == parse_tuning("D2 A2 D3 G3 B3 E4")),
    "a tuning as a list": ("tuning: [D2, G2, C3, F3, A3, D4]", lambda s: s.tuning == parse_tuning("whole-step down")),
    "a key with a sharp": ("key: F# blues", lambda s: s.key == parse_key("F# blues")),
    "a key with a flat sign": ("key: B♭ dorian", lambda s: str(s.key) == "Bb dorian"),
    "a bare tonic": ("key: A", lambda s: str(s.key) == "A minor pentatonic"),
    "a whole number where a number may be": ("a4_hz: 432", lambda s: s.a4_hz == 432.0),
    "a leading point": ("strings: {gauges_in: [.009, .011, .016, .024, .032, .042]}",
                        lambda s: s.strings.gauges_in[0] == 0.009),
    "a hexadecimal address": ("display: {i2c_address: 0x3D}", lambda s: s.display.i2c_address == 61),
    "a device by number": ("audio: {input: 3}", lambda s: s.audio.input == 3),
    "a device by name": ("audio: {input: line in}", lambda s: s.audio.input == "line in"),
    "a device called by a quoted number": ("audio: {input: '3'}", lambda s: s.audio.input == "3"),
    "the default device": ("audio: {input: default}", lambda s: s.audio.input is None),
    "no switches": ("switches: {pins: []}", lambda s: s.switches.pins == ()),
    "a lamp": ("lamp: {pin: 22}", lambda s: s.lamp.pin == 22),
    "no lamp": ("lamp: {pin: none}", lambda s: s.lamp.pin is None),
    "yes for on": ("display: {inverse: yes}", lambda s: s.display.inverse is True),
    "an action": ("switches: {actions: {2_long: menu}}", lambda s: s.switches.actions == (("2_long", "menu"),)),
    "an action in one mode": (
        "switches: {actions: {echo 2_held: none}}", lambda s: s.switches.actions == (("echo 2_held", "none"),),
    ),
    "a press by the map": ("switches: {actions: {1_short: default}}", lambda s: s.switches.actions == ()),
    "a panel half as high": ("display: {size: 128x32}", lambda s: (s.display.width, s.display.height) == (128, 32)),
    "a home folder": ("state: {folder: ~/pedal}", lambda s: s.log.path == Path.home() / "pedal/log.sqlite"),
    "seven strings with gauges": ("tuning: seven\nstrings: {gauges_in: [.01, .013, .017, .026, .036, .046, .06]}",
                                  lambda s: s.tuning.strings == 7),
    "windows line ends": ("capo: 2\r\nfrets: 24\r\n", lambda s: (s.capo, s.frets) == (2, 24)),
    "both ends of a range": ("a4_hz: 400\ndisplay: {contrast: 255}", lambda s: s.display.contrast == 255),
}  # fmt: skip


@pytest.mark.parametrize(("text", "holds"), RIGHT.values(), ids=RIGHT.keys())
def test_a_right_file_is_read(text: str, holds) -> None:
    assert holds(loads(text))


def test_a_file_reads_as_its_text(tmp_path: Path) -> None:
    file = tmp_path / "pedal.yaml"
    file.write_text("capo: 2\nkey: B♭ blues\n")
    assert load(file) == loads("capo: 2\nkey: B♭ blues\n")


@pytest.mark.parametrize(
    ("environment", "folder"),
    [
        ({"HOME": "/h"}, "/h/.local/state/undertoe"),
        ({"HOME": "/h", "XDG_STATE_HOME": "/x"}, "/x/undertoe"),
        ({"HOME": "/h", "STATE_DIRECTORY": "/var/lib/undertoe"}, "/var/lib/undertoe"),
        ({"STATE_DIRECTORY": "/var/lib/a:/var/lib/b"}, "/var/lib/a"),
    ],
)
def test_the_state_folder_follows_the_service_then_the_player(environment: dict[str, str], folder: str) -> None:
    settings = load(None, environment=environment)
    assert settings.state.folder == Path(folder)
    assert settings.takes.folder == Path(folder) / "takes"


def test_the_file_asked_for_wins_over_the_player_s_own(tmp_path: Path) -> None:
    own = tmp_path / ".config/undertoe/undertoe.yaml"
    environment = {"HOME": str(tmp_path)}
    before = settings_file(None, environment=environment)
    own.parent.mkdir(parents=True)
    own.touch()
    assert before in (None, Path("/etc/undertoe/undertoe.yaml"))
    assert settings_file(None, environment=environment) == own
    assert settings_file(Path("x.yaml"), environment=environment) == Path("x.yaml")


def test_changes_name_only_what_differs() -> None:
    text = "capo: 2\na4_hz: 440\nswitches: {actions: {1_short: skip}}\naudio: {input: guitar}"
    assert changes(loads(text), load(None)) == [
        "capo: 2 (default 0)",
        'audio.input: "guitar" (default default)',
        "switches.actions.1_short: skip (default default)",
    ]


def test_the_reference_page_is_current(request: pytest.FixtureRequest) -> None:
    page = request.config.rootpath / "docs/configuration.md"
    assert page.read_text() == reference_page(), "write it anew: undertoe check --reference > docs/configuration.md"


def values_of(kind) -> st.SearchStrategy:
    """Any value that a kind takes."""
    match kind:
        case IntRange():
            return st.integers(kind.least, kind.most)
        case Amount():
            return st.floats(kind.least, kind.most).map(lambda x: min(max(round(x, 6), kind.least), kind.most))
        case OnOff():
            return st.booleans()
        case OneWord():
            return st.sampled_from(kind.words)
        case OneNumber():
            return st.sampled_from(kind.numbers)
        case KeyWords():
            letters = st.sampled_from("ABCDEFG")
            signs = st.sampled_from(("", "#", "b"))
            return st.builds(lambda a, b, c: parse_key(f"{a}{b} {c}"), letters, signs, st.sampled_from(sorted(SCALES)))
        case PlayerNames():
            name = st.text('abcé"\\ 123:,#-', min_size=1, max_size=LONGEST_NAME).map(str.strip).filter(bool)
            return st.lists(name, max_size=MOST_PLAYERS, unique_by=str.casefold).map(tuple)
        case TuningWords():
            return st.sampled_from(sorted(TUNINGS)).map(parse_tuning)
        case Device():
            names = st.text('abé"\\ 123:,()#-', min_size=1, max_size=30).map(str.strip).filter(bool)
            return st.one_of(st.none(), st.integers(0, 999), names)
        case FolderPath():
            return st.text('abé/._- "#:', max_size=20).map(lambda text: Path("/" + text.strip()))
        case OrNone():
            return st.one_of(st.none(), values_of(kind.kind))
        case ListOf():
            lists = st.lists(values_of(kind.kind), min_size=kind.fewest, max_size=kind.most, unique=kind.distinct)
            return lists.map(tuple)
    raise AssertionError(f"no values for {kind}")


@pytest.mark.parametrize("row", ONE_OF_EACH, ids=lambda row: row.path)
def test_every_kind_reads_what_it_writes(row) -> None:
    from pedal.settings.document import parse_document

    @given(values_of(row.kind))
    def reads_back(value: object) -> None:
        ((_, node),) = parse_document(f"x: {row.kind.write(value)}", name="written").entries
        read = row.kind.read(node)
        assert read == (pytest.approx(value, abs=1e-6) if isinstance(value, float) else value)

    reads_back()


@pytest.mark.parametrize("row", ONE_OF_EACH, ids=lambda row: row.path)
def test_every_default_is_a_value_of_its_kind(row) -> None:
    from pedal.settings.document import parse_document

    ((_, node),) = parse_document(f"x: {row.kind.write(row.default)}", name="default").entries
    assert row.kind.read(node) == row.default


@pytest.mark.parametrize("press", PRESSES)
def test_every_press_of_the_table_is_one_that_the_modes_understand(press: str) -> None:
    screen, _, gesture = press.rpartition(" ")
    *switches, kind = gesture.split("_")
    asked = ActionMap(MOST_SWITCHES, {press: "menu"})
    assert asked.meaning(kind, tuple(map(int, switches)), screen or "tune") == "menu"  # type: ignore[arg-type]


def test_the_actions_of_the_table_are_those_that_the_modes_understand() -> None:
    for action in ACTIONS:
        meant = ActionMap(1, {"1_short": action}).meaning("short", (1,), "tune")
        assert meant == (None if action == "none" else action)


def test_the_modes_are_those_of_the_design() -> None:
    assert MODES == ("tune", "watch", "curl", "ladder", "blind", "echo", "lick", "round", "recall")
