"""How a panel is wired -> luma's serial interface: I2C by the kernel's bus, SPI by spidev and gpiozero's pins.

luma's own SPI asks for a second pin library, which newer boards do not serve; gpiozero is there already.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any, Protocol

from luma.core.interface.serial import i2c, spi

from hw.pin_library import GET_ONE, ignored, told
from pedal.errors import DeviceError
from pedal.values import frozen

SPI_CLOCKS_HZ = tuple(round(mhz * 1e6) for mhz in (0.5, 1, 2, 4, 8, 16, 20, 24, 28, 32))
"""Of what luma allows, up to 32 MHz; the three controllers are made for up to 10 MHz (data sheets, from memory)."""
RESET_S = 0.001
"""The controllers ask for 3 microseconds (data sheets, from memory); a slow supply likes more."""


PIN_REMEDY = f"look at its wire; {GET_ONE}"


class Bus(Protocol):
    """luma's serial interface, as far as we use it."""

    def command(self, *cmd: int) -> None:
        """Send command bytes."""

    def data(self, data: list[int]) -> None:
        """Send picture bytes."""

    def cleanup(self) -> None:
        """Let the bus go."""


@frozen
class Wiring:
    """`connect` opens the bus, or raises luma's errors, our own, OSError, ImportError; the rest tells the player."""

    connect: Callable[[], Bus]
    where: str
    remedy: str


def over_i2c(*, port: int = 1, address: int = 0x3C, reset_pin: int | None = None) -> Wiring:
    """A panel on an I2C bus; its address is 3Ch, or 3Dh by a solder bridge.

    reset_pin : as gpiozero counts them; for a panel whose reset line is brought out, which stays dark without a pulse.
    """
    return Wiring(
        lambda: i2c(port=port, address=address) if reset_pin is None else ResetBus(port, address, reset_pin),
        f"the panel on I2C bus {port} at 0x{address:02X}",
        "check its four wires, switch I2C on in the boot configuration, or try the other address (0x3C or 0x3D)",
    )


def over_spi(
    *, port: int = 0, device: int = 0, clock_hz: int = 8_000_000, data_pin: int = 24, reset_pin: int = 25
) -> Wiring:
    """A panel on an SPI bus, with the pins that carry data/command and reset (numbers as gpiozero counts them)."""
    if clock_hz not in SPI_CLOCKS_HZ:
        steps = ", ".join(f"{hz / 1e6:g}" for hz in SPI_CLOCKS_HZ)
        raise DeviceError(f"the panel's SPI bus has no clock of {clock_hz} Hz: set display.spi_hz to {steps} million")
    return Wiring(
        lambda: SpiBus(port, device, clock_hz, data_pin, reset_pin),
        f"the panel on SPI bus {port}, device {device}",
        "check its wires, switch SPI on in the boot configuration, and install spidev",
    )


class ResetBus:
    """luma's I2C behind a reset pulse; the line stays up as long as the bus is open."""

    def __init__(self, port: int, address: int, reset_pin: int) -> None:
        self._pins = OutputPins()
        try:
            self._pins.setup(reset_pin, OutputPins.OUT)
            for level in (OutputPins.HIGH, OutputPins.LOW, OutputPins.HIGH):
                self._pins.output(reset_pin, level)
                time.sleep(RESET_S)
            self._i2c: Any = i2c(port=port, address=address)
        except BaseException:
            self._pins.close()
            raise

    def command(self, *cmd: int) -> None:
        """Send command bytes."""
        self._i2c.command(*cmd)

    def data(self, data: list[int]) -> None:
        """Send picture bytes."""
        self._i2c.data(data)

    def cleanup(self) -> None:
        """Let bus and pin go."""
        self._i2c.cleanup()
        self._pins.close()


class SpiBus:
    """luma's SPI, with gpiozero's pins for data/command and reset; lets both go."""

    def __init__(self, port: int, device: int, clock_hz: int, data_pin: int, reset_pin: int) -> None:
        self._pins = OutputPins()
        try:
            self._spi: Any = spi(
                gpio=self._pins,
                port=port,
                device=device,
                bus_speed_hz=clock_hz,
                gpio_DC=data_pin,
                gpio_RST=reset_pin,
                reset_hold_time=RESET_S,
                reset_release_time=RESET_S,
            )
        except BaseException:
            self._pins.close()
            raise

    def command(self, *cmd: int) -> None:
        """Send command bytes: the data/command pin is low."""
        self._spi.command(*cmd)

    def data(self, data: list[int]) -> None:
        """Send picture bytes: the data/command pin is high."""
        self._spi.data(data)

    def cleanup(self) -> None:
        """Let bus and pins go."""
        self._spi.cleanup()
        self._pins.close()


class OutputPins:
    """The three calls that luma makes to a pin library, answered by gpiozero."""

    LOW, HIGH, OUT = 0, 1, 0

    def __init__(self) -> None:
        self._pins: dict[int, Any] = {}

    def setup(self, pin: int, _mode: int) -> None:
        """Take a GPIO by its number; raises `DeviceError` where it cannot be had."""
        import gpiozero  # only for SPI: it takes longer to load than the first picture to draw

        from hw.pin_library import pin_factory

        with told(f"the panel's pin GPIO {pin} cannot be set", PIN_REMEDY):
            self._pins[pin] = gpiozero.DigitalOutputDevice(pin, pin_factory=pin_factory())

    def output(self, pin: int, level: int) -> None:
        """Drive a pin that was taken high or low; raises `DeviceError` where it has failed since."""
        with told(f"the panel's pin GPIO {pin} has failed", PIN_REMEDY):
            self._pins[pin].value = level

    def close(self) -> None:
        """Let all pins go."""
        for pin in self._pins.values():
            with ignored():
                pin.close()
        self._pins.clear()
