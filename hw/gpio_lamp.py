"""One LED on a GPIO pin, dimmed by pulse width. The rhythm is decided elsewhere."""

from __future__ import annotations

from typing import Any

import gpiozero

from pedal.app.errors import DeviceError

PULSES_HZ = 200
"""Above what an eye on the move sees as a row of dots, and slow enough for pulses made in software."""


class GpioLamp:
    """The lamp on a pin (as gpiozero counts them), dark at first. Raises DeviceError."""

    def __init__(self, pin: int, *, factory: Any = None) -> None:
        try:
            self._led: Any = gpiozero.PWMLED(pin, frequency=PULSES_HZ, pin_factory=factory)
        except (gpiozero.GPIOZeroError, OSError, ImportError) as fault:
            raise DeviceError(
                f"the lamp on GPIO {pin} cannot be lit ({fault}): install lgpio (Raspberry Pi OS: python3-lgpio), "
                "join the group gpio, or set lamp.pin to none"
            ) from fault
        self._level = 0.0

    def shine(self, level: float) -> None:
        """Brightness 0 to 1; what lies outside is held at the end."""
        level = min(1.0, max(0.0, level))
        if self._led is not None and level != self._level:
            self._level = level
            self._led.value = level

    def close(self) -> None:
        """Off, and the pin let go; safe to call twice."""
        led, self._led = self._led, None
        if led is not None:
            led.close()
