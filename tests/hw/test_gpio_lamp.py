"""The lamp on gpiozero's mock PWM pins."""

from __future__ import annotations

import pytest
from gpiozero.pins.mock import MockFactory, MockPWMPin

from hw.gpio_lamp import GpioLamp
from pedal.errors import DeviceError

# Written out, and not taken from the code, so that a change of it is seen.
PULSES_HZ = 200


@pytest.fixture
def pins():
    factory = MockFactory(pin_class=MockPWMPin)
    yield factory
    factory.close()


@pytest.mark.parametrize(("asked", "lit"), [(0.0, 0.0), (0.25, 0.25), (1.0, 1.0), (-1.0, 0.0), (7.0, 1.0)])
def test_the_level_is_the_duty_cycle_within_bounds(pins, asked, lit):
    lamp = GpioLamp(18, factory=pins)
    lamp.shine(asked)
    assert pins.pin(18).state == lit
    assert pins.pin(18).frequency == PULSES_HZ
    lamp.close()


def test_it_follows_the_level_up_and_down(pins):
    lamp = GpioLamp(18, factory=pins)
    followed = []
    for level in (1.0, 0.5, 0.75, 0.0):
        lamp.shine(level)
        followed.append(pins.pin(18).state)
    assert followed == [1.0, 0.5, 0.75, 0.0]
    lamp.close()


def test_it_is_dark_at_first_and_after_closing(pins):
    lamp = GpioLamp(18, factory=pins)
    assert pins.pin(18).state == 0.0
    lamp.shine(1.0)
    lamp.close()
    lamp.close()
    lamp.shine(1.0)
    assert pins.pin(18).state == 0.0


def test_a_pin_that_cannot_pulse_is_told_with_the_remedy():
    factory = MockFactory()
    with pytest.raises(DeviceError, match=r"the lamp on GPIO 18 cannot be lit .*set lamp.pin to none") as told:
        GpioLamp(18, factory=factory)
    assert told.value.exit_status == 1
    factory.close()
