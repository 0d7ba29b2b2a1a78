"""One LED on a GPIO pin, dimmed by pulse width. The rhythm is decided elsewhere."""

from __future__ import annotations

from typing import Any

import gpiozero

from hw.pin_library import GET_ONE, ignored, pin_factory, told

PULSES_HZ = 200
"""Above what an eye on the move sees as a row of dots, and slow enough for pulses made in software."""


class GpioLamp:
    """The lamp on a pin (as gpiozero counts them), dark at first. Raises DeviceError."""

    def __init__(self, pin: int, *, factory: Any = None) -> None:
        with told(f"the lamp on GPIO {pin} cannot be lit", f"{GET_ONE}, or set lamp.pin to none"):
            self._led: Any = gpiozero.PWMLED(pin, frequency=PULSES_HZ, pin_factory=factory or pin_factory())
        self._pin = pin
        self._level = 0.0

    def shine(self, level: float) -> None:
        """Brightness 0 to 1; what lies outside is held at the end. Raises DeviceError once, and is dark from then
        on.
        """
        level = min(1.0, max(0.0, level))
        if self._led is None or level == self._level:
            return
        self._level = level
        try:
            with told(f"the lamp on GPIO {self._pin} has failed", "look at its wires, or set lamp.pin to none"):
                self._led.value = level
        except Exception:
            self.close()
            raise

    def close(self) -> None:
        """Off, and the pin let go; safe to call twice."""
        led, self._led = self._led, None
        if led is not None:
            with ignored():
                led.close()
