"""The search for the panel on a decoding bus: the right way shows a whole page that moves, no wrong way does.

The far ends are controllers by their data sheets (`bus_decoder.py`); what answers is asked
through smbus2, as on a board.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
import smbus2
from gpiozero import Device
from gpiozero.pins.mock import MockFactory
from PIL import Image

from hw.luma_bus import OutputPins
from pedal import wiring
from pedal.live.set_up.devices import devices_of, panel_places
from pedal.screen.care import dressed
from pedal.screen.setup_page import draw_set_up
from pedal.settings.load import loads
from pedal.setup.choice import KINDS, PanelChoice, PanelPlace, panel_choices
from pedal.setup.step import SetUpPage
from tests.hw.bus_decoder import NO_ANSWER, FakeSMBus, glass_of

PLACE = PanelPlace("i2c", 1, 0x3C)
PAGES = [
    draw_set_up(SetUpPage("PRESS", ("if this is whole, sharp and upright",), edges=True, beat=n)) for n in range(4)
]


class Bus(FakeSMBus):
    """Acknowledges a read at its own address, as smbus2 asks."""

    def read_byte(self, address: int) -> int:
        if address != self.address:
            raise OSError(NO_ANSWER, "Remote I/O error")
        return 0

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


def seen(monkeypatch: pytest.MonkeyPatch, chip: str, choice: PanelChoice, before: list[PanelChoice]) -> list[bool]:
    """Whether each page was whole on a glass that went through all the ways before this one."""
    glass = glass_of(chip)
    monkeypatch.setattr(smbus2, "SMBus", lambda _port: Bus(glass))
    devices = devices_of(loads("", environment={"HOME": "/"}))
    whole = []
    for one in [*before, choice]:
        screen = devices.panel(one)
        whole = []
        for page in PAGES:
            turned = dressed(page, rotation=one.rotation)
            screen.show(turned)
            whole.append(glass.image().tobytes() == turned.tobytes())
        screen.close()
    return whole


@pytest.mark.parametrize(("chip", "kind"), list(product(KINDS, KINDS)))
def test_only_the_right_controller_shows_a_whole_page_that_moves(monkeypatch, chip, kind):
    choices = panel_choices((PLACE,), PanelChoice(PLACE, "ssd1306", 0))
    for place, choice in enumerate(choices):
        if choice.kind == kind and choice.rotation == 0:
            whole = seen(monkeypatch, chip, choice, list(choices[:place]))
            assert all(whole) if chip == kind else not any(whole[1:])


def test_upside_down_is_told_by_the_eye():
    """The page is not the same turned round, nor mirrored."""
    page = PAGES[0]
    for turn in (Image.Transpose.ROTATE_180, Image.Transpose.FLIP_LEFT_RIGHT, Image.Transpose.FLIP_TOP_BOTTOM):
        assert page.transpose(turn).tobytes() != page.tobytes()


@pytest.mark.parametrize("address", [0x3C, 0x3D])
def test_both_addresses_are_asked(monkeypatch, address):
    monkeypatch.setattr(smbus2, "SMBus", lambda _port: Bus(glass_of("ssd1306"), address=address))
    settings = loads("", environment={"HOME": "/"})
    assert panel_places(settings) == (PanelPlace("i2c", 1, address),)


def test_where_nothing_answers_on_i2c_spi_is_tried(monkeypatch):
    def nobody(_port):
        raise OSError(NO_ANSWER, "no such bus")

    monkeypatch.setattr(smbus2, "SMBus", nobody)
    settings = loads("", environment={"HOME": "/"})
    assert panel_places(settings) == ()
    monkeypatch.setattr(wiring, "spi_devices", lambda: ((0, 0), (0, 1)))
    assert panel_places(settings) == (PanelPlace("spi", 0, device=0), PanelPlace("spi", 0, device=1))


@pytest.mark.parametrize("answers", [False, True])
def test_switches_are_not_looked_for_on_the_lines_of_a_panel_that_may_be_on_spi(monkeypatch, *, answers: bool):
    """The fault: the watched pins were held as switches, so no SPI panel could ever be found on a new pedal."""
    monkeypatch.setattr(wiring, "address_answers", lambda _port, _address: answers)
    monkeypatch.setattr(wiring, "spi_devices", lambda: ((0, 0),))
    monkeypatch.setattr(Device, "pin_factory", MockFactory())
    settings = loads("", environment={"HOME": "/"})
    devices = devices_of(settings)
    switches = devices.watch(devices.pins)
    switches.open(lambda _time_s, _switch, _down: None)
    try:
        lines = {settings.display.data_pin, settings.display.reset_pin}
        if answers:
            assert lines <= set(devices.pins), "the panel is on I2C: these are free"
        else:
            for line in lines:
                OutputPins().setup(line, 0)
    finally:
        switches.close()


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_taken_is_what_the_settings_then_open(kind):
    from pedal.live.set_up.devices import configured_panel
    from pedal.live.set_up.found import with_findings

    choice = PanelChoice(replace(PLACE, address=0x3D), kind, 180)
    settings = with_findings(loads("", environment={"HOME": "/"}), dict(choice.findings()))
    assert configured_panel(settings) == choice
