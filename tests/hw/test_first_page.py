"""The page that is there before the ear is loaded: as the pedal's own pen draws it, and as the panel shows it."""

from __future__ import annotations

import runpy
import subprocess
import sys
from pathlib import Path

import luma.oled.device
import numpy as np
import pytest

from hw import i2c_first_page
from hw.first_page_bits import PAGES
from hw.i2c_first_page import send
from pedal.live.first_page import FILE, PanelWiring, remember_panel, show_at_once
from pedal.settings.load import loads

REPOSITORY = Path(__file__).resolve().parents[2]


class Chip:
    """A controller's memory, addressed by pages (data sheets of SSD1306 and SH1106, from memory)."""

    def __init__(self) -> None:
        self.memory = np.zeros((8, 132), np.uint8)
        self.page = self.column = 0
        self.on = False
        self.commands: list[int] = []

    def __call__(self, message: bytes) -> None:
        if message[0] == 0x40:
            for byte in message[1:]:
                self.memory[self.page, self.column] = byte
                self.column += 1
            return
        assert message[0] == 0x00
        self.commands += message[1:]
        if 0xB0 <= message[1] <= 0xB7:
            self.page = message[1] - 0xB0
            self.column = message[2] | (message[3] & 0x0F) << 4
        self.on |= message[-1] == 0xAF


def lit(chip: Chip, kind: str, height: int) -> np.ndarray:
    first = 2 if kind == "sh1106" else 0
    shown = chip.memory[: height // 8, first : first + 128]
    return np.unpackbits(shown[:, None, :], axis=1, bitorder="little").reshape(height, 128)


@pytest.mark.parametrize("kind", ["ssd1306", "ssd1309", "sh1106"])
@pytest.mark.parametrize("height", [64, 32])
@pytest.mark.parametrize("rotation", [0, 180])
def test_the_panel_shows_the_page(kind: str, height: int, rotation: int) -> None:
    chip = Chip()
    send(chip, PanelWiring(kind=kind, height=height, rotation=rotation))
    page = np.frombuffer(PAGES[height], np.uint8).reshape(height // 8, 128)
    wanted = np.unpackbits(page[:, None, :], axis=1, bitorder="little").reshape(height, 128)
    shown = lit(chip, kind, height)
    assert np.array_equal(shown, np.rot90(wanted, 2) if rotation else wanted)
    assert wanted.any() and chip.on


ONE_WORD_MORE = {0x20, 0x81, 0x8D, 0xA8, 0xD3, 0xD5, 0xD9, 0xDA, 0xDB}
TWO_WORDS_MORE = {0x21, 0x22}


def said(words: list[int]) -> dict[int, tuple[int, ...]]:
    """Each command with what it was given last; not where in the memory the next byte goes."""
    found, rest = {}, list(words)
    while rest:
        command = rest.pop(0)
        count = 1 if command in ONE_WORD_MORE else 2 if command in TWO_WORDS_MORE else 0
        found[command] = tuple(rest.pop(0) for _ in range(count))
    return {c: given for c, given in found.items() if c >= 0x20 and c not in (0x20, 0x21, 0x22) and c & 0xF8 != 0xB0}


class Listening:
    """luma's serial interface, as far as its devices use it."""

    def __init__(self) -> None:
        self.commands: list[int] = []

    def command(self, *words: int) -> None:
        self.commands += words

    def data(self, words: list[int]) -> None:
        """Pictures do not matter here."""

    def cleanup(self) -> None:
        """Nothing is open."""


@pytest.mark.parametrize("kind", ["ssd1306", "ssd1309", "sh1106"])
@pytest.mark.parametrize("height", [64, 32])
def test_a_controller_is_told_what_the_library_tells_it(kind: str, height: int) -> None:
    """luma.oled is the truth here, but for how the memory is addressed: page by page, which all three know."""
    theirs = Listening()
    device = getattr(luma.oled.device, kind)(theirs, width=128, height=height)
    device.persist = True
    ours = Chip()
    send(ours, PanelWiring(kind=kind, height=height))
    told, wanted = said(ours.commands), said(theirs.commands)
    assert told.pop(0x81) == (0xCF,), "the contrast of luma's SSD1306 for all: the pedal sets its own at once"
    wanted.pop(0x81)
    assert told == wanted
    if kind != "sh1106":
        at = ours.commands.index(0x20)
        assert ours.commands[at + 1] == 0x02, "pages, by the data sheet of SSD1306 (from memory)"


@pytest.mark.parametrize("inverse", [False, True])
def test_dark_on_light_is_the_controllers_own_doing(inverse: bool) -> None:
    ours = Chip()
    send(ours, PanelWiring(kind="ssd1306", height=64, inverse=inverse))
    assert (0xA7 in said(ours.commands), 0xA6 in said(ours.commands)) == (inverse, not inverse)


def test_it_is_what_the_pen_draws_today() -> None:
    written = runpy.run_path(str(REPOSITORY / "docs/make_first_page.py"))["source"]()
    assert (REPOSITORY / "hw/first_page_bits.py").read_text() == written, "draw it anew: docs/make_first_page.py"


def test_it_needs_nothing_heavy() -> None:
    program = (
        "import sys\nfrom pedal import wiring\nwiring.first_page()\n"
        "print(*sorted({name.partition('.')[0] for name in sys.modules} & {'numpy', 'PIL', 'yaml', 'luma'}))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=REPOSITORY)
    assert done.stdout == "\n"


def test_the_command_shows_it_before_anything_else(monkeypatch: pytest.MonkeyPatch) -> None:
    from pedal import wiring
    from pedal.cli.entry import main

    class First(BaseException):
        pass

    def shown() -> None:
        raise First

    monkeypatch.setattr(wiring, "first_page", shown)
    with pytest.raises(First):
        main(["live", "--wait"])
    assert main(["live", "--wait", "--json"]) == 2, "a mistake in what was asked comes first"


def test_the_panel_is_remembered_for_the_next_start(tmp_path: Path) -> None:
    shown: list[PanelWiring] = []
    here = {"STATE_DIRECTORY": str(tmp_path)}
    assert show_at_once(shown.append, environment=here)
    assert shown == [PanelWiring()], "the usual one at the first start"
    text = "display: {kind: sh1106, i2c_address: 0x3D, rotation: 180, size: 128x32}"
    remember_panel(tmp_path, loads(text).display)
    assert show_at_once(shown.append, environment=here)
    assert shown[-1] == PanelWiring("sh1106", 1, 0x3D, 32, 180)


@pytest.mark.parametrize("text", ["display: {kind: none}", "display: {bus: spi}", "display: {i2c_reset_pin: 4}"])
def test_a_panel_that_takes_more_than_a_bus_comes_later(tmp_path: Path, text: str) -> None:
    remember_panel(tmp_path, loads(text).display)
    assert not show_at_once(lambda _: None, environment={"STATE_DIRECTORY": str(tmp_path)})


@pytest.mark.parametrize("raw", [b"", b"[]", b'{"kind": "crt"}', b'{"port": 99}', b"[" * 1024, b"1", b"\xff\xfe"])
def test_damaged_words_show_nothing_and_are_written_anew(tmp_path: Path, raw: bytes) -> None:
    """The fault: what is no UTF-8 (an ageing card) ended the pedal at every start."""
    here = {"STATE_DIRECTORY": str(tmp_path)}
    (tmp_path / FILE).write_bytes(raw)
    assert not show_at_once(lambda _: None, environment=here)
    remember_panel(tmp_path, loads("").display)
    assert show_at_once(lambda _: None, environment=here)


def test_without_a_service_or_a_panel_nothing_happens(tmp_path: Path) -> None:
    assert not show_at_once(i2c_first_page.show, environment={})

    def nobody(_: PanelWiring) -> None:
        raise OSError(6, "No such device or address")

    assert not show_at_once(nobody, environment={"STATE_DIRECTORY": str(tmp_path)})
