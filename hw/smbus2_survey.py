"""Whether something answers at an address of an I2C bus."""

from __future__ import annotations

import smbus2


def answers(port: int, address: int) -> bool:
    """True if a device acknowledges a one-byte read; False too where the bus is not there or not open to us."""
    try:
        with smbus2.SMBus(port) as bus:
            bus.read_byte(address)
    except OSError:
        return False
    return True
