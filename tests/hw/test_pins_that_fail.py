"""Pins that are busy, missing or dying: lgpio raises a bare `Exception` of its own, gpiozero lets it through."""

from __future__ import annotations

import sys
import types
from typing import Any

import gpiozero
import pytest
from gpiozero import Device
from gpiozero.pins.mock import MockFactory, MockPin, MockPWMPin

import hw.luma_bus
from hw.gpio_lamp import GpioLamp
from hw.gpio_switches import GpioSwitches
from hw.gpiozero_survey import pin_library
from hw.luma_screen import LumaScreen
from pedal.app.errors import DeviceError


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
    switches = GpioSwitches((17, 27), factory=MockFactory(pin_class=DyingSwitch))
    switches.open(lambda *_: None)
    switches.close()


@pytest.fixture
def no_chip(monkeypatch: pytest.MonkeyPatch) -> None:
    """Named in the environment, lgpio is loaded and finds no chip, as where the kernel has none."""
    module: Any = types.ModuleType("gpiozero.pins.lgpio")

    class LGPIOFactory:
        def __init__(self) -> None:
            raise error("can not open gpiochip")

    module.LGPIOFactory = LGPIOFactory
    monkeypatch.setitem(sys.modules, "gpiozero.pins.lgpio", module)
    monkeypatch.setenv("GPIOZERO_PIN_FACTORY", "lgpio")
    monkeypatch.setattr(Device, "pin_factory", None)


@pytest.mark.usefixtures("no_chip")
@pytest.mark.parametrize(
    "take",
    [
        lambda: GpioSwitches((17,)).open(lambda *_: None),
        lambda: GpioLamp(18),
        pin_library,
        lambda: LumaScreen(hw.luma_bus.over_spi()),
    ],
    ids=["switches", "lamp", "survey", "panel on SPI"],
)
def test_a_missing_chip_is_a_fault_with_a_remedy(take: Any) -> None:
    with pytest.raises(DeviceError, match=r".+: "):
        take()
    assert gpiozero.Device.pin_factory is None
