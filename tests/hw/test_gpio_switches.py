"""Footswitches on gpiozero's own mock pins: every raw edge comes out, with its time, and nothing else happens."""

from __future__ import annotations

import pytest
from gpiozero.pins.mock import MockFactory, MockPin

from hw.gpio_switches import GpioSwitches
from pedal.errors import DeviceError


@pytest.fixture
def pins():
    factory = MockFactory()
    yield factory
    factory.close()


class Feet:
    def __init__(self):
        self.edges = []

    def __call__(self, time_s, switch, pressed):
        self.edges.append((time_s, switch, pressed))


def test_edges_come_raw_with_the_time_of_the_clock(pins):
    now = [0.0]
    feet = Feet()
    switches = GpioSwitches((17, 27), factory=pins, clock=lambda: now[0])
    switches.open(feet)
    for now[0], pin, level in ((1.0, 17, 0), (1.001, 17, 1), (1.002, 17, 0), (1.5, 27, 0), (1.6, 17, 1), (1.7, 27, 1)):
        pins.pin(pin).drive_high() if level else pins.pin(pin).drive_low()
    switches.close()
    assert feet.edges == [
        (1.0, 1, True), (1.001, 1, False), (1.002, 1, True), (1.5, 2, True), (1.6, 1, False), (1.7, 2, False),
    ]  # fmt: skip


def test_the_librarys_own_debounce_is_off(pins):
    """The press after a short one gets lost otherwise (gpiozero's tracker, issues 550 and 1039)."""
    switches = GpioSwitches((17,), factory=pins)
    switches.open(Feet())
    assert pins.pin(17).bounce is None
    assert pins.pin(17).pull == "up"
    switches.close()


class HeldPin(MockPin):
    """A pin whose switch holds it to ground: a pull-up does not lift it, as it does an open mock pin."""

    def _set_pull(self, value):
        self._pull = value


def test_a_switch_that_is_down_at_power_on_is_told():
    """A stuck switch makes no edge: without this it would pass for one that is never pressed."""
    pins = MockFactory(pin_class=HeldPin)
    feet = Feet()
    switches = GpioSwitches((27,), factory=pins, clock=lambda: 5.0)
    switches.open(feet)
    assert feet.edges == [(5.0, 1, True)]
    pins.pin(27).drive_high()
    assert feet.edges == [(5.0, 1, True), (5.0, 1, False)]
    switches.close()
    pins.close()


def test_after_closing_no_edges_come_and_the_pins_are_free(pins):
    feet = Feet()
    switches = GpioSwitches((17,), factory=pins)
    switches.open(feet)
    switches.close()
    switches.close()
    pins.pin(17).drive_low()
    assert feet.edges == []
    again = GpioSwitches((17,), factory=pins)
    again.open(feet)
    again.close()


def test_a_pin_in_use_is_told_with_its_number(pins):
    first = GpioSwitches((17,), factory=pins)
    first.open(Feet())
    second = GpioSwitches((27, 17), factory=pins)
    with pytest.raises(DeviceError, match=r"footswitch 2 on GPIO 17 cannot be read .*: end another program") as told:
        second.open(Feet())
    assert told.value.exit_status == 1
    first.close()
    third = GpioSwitches((27,), factory=pins)
    third.open(Feet())  # the failure let go of what it had taken
    third.close()


def test_a_machine_without_pins_is_told_with_the_remedy(monkeypatch):
    from gpiozero import Device
    from gpiozero.exc import BadPinFactory

    def none_works(_name=None):
        raise BadPinFactory("Unable to load any default pin factory!")

    monkeypatch.setattr(Device, "pin_factory", None)
    monkeypatch.setattr(Device, "_default_pin_factory", staticmethod(none_works))
    with pytest.raises(DeviceError, match=r"no pin library works here .*switches.pins"):
        GpioSwitches((17,)).open(Feet())
