"""Pins that are busy, missing or dying: lgpio raises a bare `Exception` of its own, gpiozero lets it through."""

from __future__ import annotations

import os
from typing import Any

import gpiozero
import pytest
from gpiozero import Device
from gpiozero.pins.mock import MockFactory, MockPin, MockPWMPin

import hw.luma_bus
import hw.pin_library
from hw.gpio_lamp import GpioLamp
from hw.gpio_switches import GpioSwitches
from hw.gpiozero_survey import pin_library
from hw.luma_screen import LumaScreen
from pedal.errors import DeviceError
from tests.hw.wired_panels import wire_spi


class error(Exception):  # noqa: N801, N818 - the class and its words as lgpio 0.2.2.0 has them (lgpio.py, line 391)
    def __init__(self, value: str) -> None:
        self.value = value

    def __str__(self) -> str:
        return repr(self.value)


class BusyPin(MockPWMPin):
    """LGPIOPin claims its line when it is made (gpiozero/pins/lgpio.py); another program has it."""

    def __init__(self, *_: Any) -> None:
        raise error("GPIO busy")


class DyingPin(MockPWMPin):
    """A line that is taken away: writing to it fails from then on, and so does letting it go."""

    dead = False

    def _set_state(self, value: float) -> None:
        if self.dead:
            raise error("bad GPIO write")
        super()._set_state(value)

    def close(self) -> None:
        if self.dead:
            DyingPin.dead = False  # once: gpiozero tries it again when the device is garbage
            raise error("bad GPIO free")
        super().close()


class DyingSwitch(MockPin):
    tries = 0

    def close(self) -> None:
        self.tries += 1
        if self.tries == 1:
            raise error("bad GPIO free")


@pytest.fixture
def busy() -> MockFactory:
    return MockFactory(pin_class=BusyPin)


def test_a_busy_switch_is_told(busy: MockFactory) -> None:
    with pytest.raises(DeviceError, match=r"footswitch 1 on GPIO 17 cannot be read \('GPIO busy'\): .*another program"):
        GpioSwitches((17,), factory=busy).open(lambda *_: None)


def test_a_busy_lamp_is_told(busy: MockFactory) -> None:
    with pytest.raises(DeviceError, match=r"the lamp on GPIO 18 cannot be lit \('GPIO busy'\): "):
        GpioLamp(18, factory=busy)


def test_a_lamp_that_fails_while_it_shines_goes_out_for_good() -> None:
    factory = MockFactory(pin_class=DyingPin)
    lamp = GpioLamp(18, factory=factory)
    DyingPin.dead = True
    try:
        with pytest.raises(DeviceError, match="the lamp on GPIO 18 has failed .*: look at its wires"):
            lamp.shine(0.5)
        lamp.shine(0.7)
        lamp.close()
    finally:
        DyingPin.dead = False


def test_switches_that_cannot_be_let_go_do_not_stop_the_end() -> None:
    factory = MockFactory(pin_class=DyingSwitch)
    switches = GpioSwitches((17, 27), factory=factory)
    switches.open(lambda *_: None)
    switches.close()
    # Once here, and once more by gpiozero when what could not be closed is garbage.
    assert [factory.pin(number).tries for number in (17, 27)] == [2, 2]


def test_a_panel_whose_pin_has_failed_lets_its_bus_go(monkeypatch: pytest.MonkeyPatch) -> None:
    """The display makes a new one, which takes the same bus and pins."""
    wiring, _, bus = wire_spi(monkeypatch, "ssd1306", pin_class=DyingPin)
    screen = LumaScreen(wiring)
    DyingPin.dead = True
    try:
        with pytest.raises(DeviceError, match="the panel's pin GPIO 24 has failed .*: look at its wire"):
            screen.dim(0.5)
        screen.close()
    finally:
        DyingPin.dead = False
    assert bus.closed == 1
    LumaScreen(wiring).close()


class Libraries:
    """What each pin library does when gpiozero makes its factory (gpiozero/devices.py, _default_pin_factory)."""

    def __init__(self, **does: Any) -> None:
        self.does, self.history = does, []

    def __call__(self) -> Any:
        name = os.environ["GPIOZERO_PIN_FACTORY"]
        self.history.append(name)
        if name not in self.does:
            raise ModuleNotFoundError(f"No module named {name!r}")
        if isinstance(self.does[name], Exception):
            raise self.does[name]
        return self.does[name]


@pytest.fixture
def libraries(monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setattr(Device, "pin_factory", None)
    monkeypatch.setenv("GPIOZERO_PIN_FACTORY", "lgpio")

    def have(**does: Any) -> Libraries:
        those = Libraries(**does)
        monkeypatch.setattr(Device, "_default_pin_factory", staticmethod(those))
        return those

    return have


def test_the_next_library_is_tried_where_the_one_asked_for_fails(libraries: Any) -> None:
    """The service names lgpio, and gpiozero goes no further then."""
    works = MockFactory()
    those = libraries(lgpio=error("can not open gpiochip"), native=works)
    assert hw.pin_library.pin_factory() is works
    assert those.history == ["lgpio", "rpigpio", "native"]
    assert os.environ["GPIOZERO_PIN_FACTORY"] == "lgpio"
    assert hw.pin_library.pin_factory() is works
    assert len(those.history) == 3, "made once"


def test_where_none_works_each_says_why(libraries: Any) -> None:
    libraries(lgpio=error("can not open gpiochip"))
    with pytest.raises(
        DeviceError, match=r"lgpio: 'can not open gpiochip'; rpigpio: No module .*; native: No module .*\): .*"
    ):
        hw.pin_library.pin_factory()


@pytest.mark.parametrize(
    ("files", "python", "words"),
    [
        ((), (3, 11), "this machine has no pins"),
        (("dev/gpiochip0", "etc/rpi-issue"), (3, 13), "sudo apt install python3-lgpio"),
        (("dev/gpiochip0",), (3, 11), "make install again, which brings lgpio"),
        (("dev/gpiochip0",), (3, 13), "make install again, which builds lgpio"),
    ],
)
def test_the_remedy_is_one_that_works_on_the_system(
    tmp_path: Any, files: tuple[str, ...], python: tuple[int, int], words: str
) -> None:
    for name in files:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    assert words in hw.pin_library.remedy(tmp_path, python)


@pytest.mark.parametrize(
    "take",
    [
        lambda: GpioSwitches((17,)).open(lambda *_: None),
        lambda: GpioLamp(18),
        pin_library,
        lambda: LumaScreen(hw.luma_bus.over_i2c(reset_pin=22)),
    ],
    ids=["switches", "lamp", "survey", "panel with a reset line"],
)
def test_a_missing_chip_is_a_fault_with_a_remedy(libraries: Any, take: Any) -> None:
    libraries(lgpio=error("can not open gpiochip"))
    with pytest.raises(DeviceError, match=r"no pin library works here .*: "):
        take()
    assert gpiozero.Device.pin_factory is None
