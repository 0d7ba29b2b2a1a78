"""Footswitches on GPIO pins -> raw edges with their times.

gpiozero's own debounce loses the press after a short one, and means another thing in each of its pin libraries, so it
stays off; its callbacks here do nothing but pass the edge on.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import Any

import gpiozero

from hw.pin_library import GET_ONE, ignored, pin_factory, told

SwitchEdge = Callable[[float, int, bool], None]
REMEDY = f"{GET_ONE}, or set switches.pins to [] for a pedal without switches"


class GpioSwitches:
    """Momentary switches that close to ground, numbered from 1 in the order of their pins (as gpiozero counts them)."""

    def __init__(
        self, pins: Sequence[int], *, factory: Any = None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._pins, self._factory, self._clock = tuple(pins), factory, clock
        self._buttons: list[Any] = []

    def open(self, edge: SwitchEdge) -> None:
        """Take the pins, pulled up; a switch that is down already is told at once. Raises DeviceError."""
        for switch, pin in enumerate(self._pins, 1):
            try:
                factory = self._factory or pin_factory()
                with told(f"footswitch {switch} on GPIO {pin} cannot be read", REMEDY):
                    button = gpiozero.Button(pin, pull_up=True, bounce_time=None, pin_factory=factory)
                    self._buttons.append(button)
                    self._pass_on(button, switch, edge)
            except Exception:
                self.close()
                raise

    def _pass_on(self, button: Any, switch: int, edge: SwitchEdge) -> None:
        clock = self._clock
        button.when_pressed = lambda: edge(clock(), switch, True)
        button.when_released = lambda: edge(clock(), switch, False)
        if button.is_pressed:
            edge(clock(), switch, True)

    def close(self) -> None:
        """Let the pins go; safe to call twice."""
        buttons, self._buttons = self._buttons, []
        for button in buttons:
            with ignored():
                button.close()
