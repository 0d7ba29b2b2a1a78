"""Panels on a decoding bus, wired as a real board wires them: smbus2 and spidev are the only things replaced."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import pytest
import smbus2
from gpiozero import Device
from gpiozero.pins.mock import MockFactory, MockPin

from hw.luma_bus import Wiring, over_i2c, over_spi
from hw.luma_screen import LumaScreen
from tests.hw.bus_decoder import FakeSMBus, FakeSpiDev, Glass, glass_of

DATA_PIN, RESET_PIN = 24, 25


@dataclass
class WiredPanel:
    screen: LumaScreen
    glass: Glass
    bus: FakeSMBus | FakeSpiDev
    wiring: Wiring


def wire_i2c(monkeypatch: pytest.MonkeyPatch, chip: str, height: int = 64) -> tuple[Wiring, Glass, FakeSMBus]:
    glass = glass_of(chip, height)
    bus = FakeSMBus(glass)
    monkeypatch.setattr(smbus2, "SMBus", lambda _port: bus)
    return over_i2c(), glass, bus


def wire_spi(
    monkeypatch: pytest.MonkeyPatch, chip: str, height: int = 64, *, pin_class: type[MockPin] = MockPin
) -> tuple[Wiring, Glass, FakeSpiDev]:
    factory = MockFactory(pin_class=pin_class)
    monkeypatch.setattr(Device, "pin_factory", factory)
    glass = glass_of(chip, height)
    bus = FakeSpiDev(glass, factory.pin(DATA_PIN))
    monkeypatch.setitem(sys.modules, "spidev", SimpleNamespace(SpiDev=lambda: bus))
    return over_spi(data_pin=DATA_PIN, reset_pin=RESET_PIN), glass, bus


def wire(monkeypatch: pytest.MonkeyPatch, *, chip: str, bus: str, height: int = 64, **options: Any) -> WiredPanel:
    """A lit panel of the chip on the bus."""
    connect: Callable[..., tuple[Wiring, Glass, FakeSMBus | FakeSpiDev]] = wire_i2c if bus == "i2c" else wire_spi
    wiring, glass, end = connect(monkeypatch, chip, height)
    return WiredPanel(LumaScreen(wiring, chip=chip, height=height, **options), glass, end, wiring)
