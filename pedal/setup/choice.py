"""What can be chosen: a way to drive a panel, an input's channel, an output."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Literal

Bus = Literal["i2c", "spi"]
KINDS = ("ssd1306", "sh1106")
"""SSD1309 takes the same commands as SSD1306, so that it needs no picture of its own."""


@dataclass(frozen=True, slots=True)
class PanelPlace:
    """Where a panel answers, or may be: `port` and `address` of I2C, `port` and `device` of SPI."""

    bus: Bus
    port: int
    address: int = 0x3C
    device: int = 0


@dataclass(frozen=True, slots=True)
class PanelChoice:
    """A place, a controller, and which way up."""

    place: PanelPlace
    kind: str
    rotation: int

    def findings(self) -> dict[str, str]:
        """Settings, by their path, as YAML."""
        place = self.place
        found = {"display.kind": self.kind, "display.bus": place.bus, "display.rotation": str(self.rotation)}
        if place.bus == "i2c":
            return found | {"display.i2c_port": str(place.port), "display.i2c_address": f"0x{place.address:02X}"}
        return found | {"display.spi_port": str(place.port), "display.spi_device": str(place.device)}

    @property
    def words(self) -> str:
        """In words: "SH1106 at 0x3C, upside down"."""
        place = self.place
        where = f"at 0x{place.address:02X} on I2C {place.port}" if place.bus == "i2c" else f"on SPI {place.port}"
        return f"{self.kind.upper()} {where}" + (", upside down" if self.rotation else "")


def panel_choices(places: tuple[PanelPlace, ...], configured: PanelChoice) -> tuple[PanelChoice, ...]:
    """Every way to drive these places: what the settings say first, then both controllers upright, then upside down."""
    ways = [PanelChoice(place, kind, turn) for turn, kind, place in product((0, 180), KINDS, places)]
    return (configured, *(way for way in ways if way != configured)) if configured.place in places else tuple(ways)


@dataclass(frozen=True, slots=True)
class InputDevice:
    """A device with `channels` inputs; `name` lasts over a restart."""

    number: int
    name: str
    channels: int


@dataclass(frozen=True, slots=True)
class InputChoice:
    """One channel of a device, counted from 1."""

    name: str
    channel: int

    def findings(self) -> dict[str, str]:
        """Settings, by their path, as YAML."""
        return {"audio.input": quoted(self.name), "audio.channel": str(self.channel)}


@dataclass(frozen=True, slots=True)
class OutputDevice:
    """What the drone may play through: the driver's number of it, and its name for the settings."""

    number: int
    name: str

    def findings(self) -> dict[str, str]:
        """Settings, by their path, as YAML."""
        return {"audio.output": quoted(self.name)}


def quoted(name: str) -> str:
    """A name as YAML: single quotes, and two for one."""
    return "'" + name.replace("'", "''") + "'"
