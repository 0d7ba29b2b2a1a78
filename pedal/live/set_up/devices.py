"""What the set-up asks of the machine, as calls that tests can answer."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pedal import wiring
from pedal.modes.state import QUIET_DB
from pedal.setup.choice import InputChoice, InputDevice, OutputDevice, PanelChoice, PanelPlace
from pedal.soundcheck.cable_signal import PEAK_DB
from pedal.values import frozen

if TYPE_CHECKING:
    from pedal.ports import AudioSink, AudioSource, Screen, Switches
    from pedal.settings.parts import Settings

ADDRESSES = (0x3C, 0x3D)
SEARCHED_PINS = (17, 27, 22, 23, 24, 25, 5, 6, 16, 26, 12, 13, 4)
"""Free on the header: not the buses (0 to 3, 7 to 11), the console (14, 15), nor a codec's sound (18 to 21)."""


@frozen
class Devices:
    """All of them. Each may raise DeviceError.

    tone_db, cable_db : peaks of what is played, never above the ceiling of the settings.
    watch : pins -> switches that tell edges by the number of their place among them, from 1.
    """

    places: Callable[[], tuple[PanelPlace, ...]]
    panel: Callable[[PanelChoice], Screen]
    inputs: Callable[[], tuple[InputDevice, ...]]
    outputs: Callable[[], tuple[OutputDevice, ...]]
    record: Callable[[InputDevice, float], tuple[int, NDArray[np.float32]]]
    source: Callable[[InputChoice | None], AudioSource]
    sink: Callable[[OutputDevice], AudioSink]
    cable_sink: Callable[[OutputDevice | None], AudioSink]
    watch: Callable[[tuple[int, ...]], Switches]
    pins: tuple[int, ...]
    tone_db: float = QUIET_DB
    cable_db: float = PEAK_DB


def devices_of(settings: Settings) -> Devices:
    """Those of this machine, with the settings for all that is not chosen here."""
    from dataclasses import replace

    audio = settings.audio

    def panel(choice: PanelChoice) -> Screen:
        place, display = choice.place, replace(settings.display, kind=choice.kind, bus=choice.place.bus)
        if place.bus == "i2c":
            return wiring.panel(replace(display, i2c_port=place.port, i2c_address=place.address))
        return wiring.panel(replace(display, spi_port=place.port, spi_device=place.device))

    def source(choice: InputChoice | None) -> AudioSource:
        if choice is None:
            return wiring.audio_source(audio)
        return wiring.audio_source(replace(audio, input=choice.name, channel=choice.channel))

    def inputs() -> tuple[InputDevice, ...]:
        return tuple(InputDevice(one.number, one.name, one.inputs) for one in wiring.choosable("input"))

    def outputs() -> tuple[OutputDevice, ...]:
        return tuple(OutputDevice(one.number, one.name) for one in wiring.choosable("output"))

    def record(device: InputDevice, seconds: float) -> tuple[int, NDArray[np.float32]]:
        return wiring.record_all_channels(device.number, seconds=seconds, name=device.name)

    return Devices(
        places=lambda: panel_places(settings),
        panel=panel,
        inputs=inputs,
        outputs=outputs,
        record=record,
        source=source,
        sink=lambda output: wiring.audio_output(replace(audio, output=output.name), None),
        cable_sink=lambda output: wiring.cable_output(audio if output is None else replace(audio, output=output.name)),
        watch=wiring.footswitches,
        tone_db=min(QUIET_DB, audio.drone_db, audio.drone_ceiling_db),
        cable_db=min(PEAK_DB, audio.drone_ceiling_db),
        pins=tuple(pin for pin in SEARCHED_PINS if pin not in _taken(settings)),
    )


def panel_places(settings: Settings) -> tuple[PanelPlace, ...]:
    """Where a panel answers on I2C; else each SPI device that is there, which nobody can ask."""
    display = settings.display
    ports = sorted({display.i2c_port, *wiring.i2c_ports()})
    addresses = dict.fromkeys((display.i2c_address, *ADDRESSES))
    places = [PanelPlace("i2c", port, address) for port in ports for address in addresses]
    answering = [place for place in places if wiring.address_answers(place.port, place.address)]
    on_spi = [PanelPlace("spi", port, device=device) for port, device in wiring.spi_devices()]
    return tuple(answering or on_spi)


def configured_panel(settings: Settings) -> PanelChoice:
    """Controller, height and place of the panel, as the settings have them."""
    display = settings.display
    if display.bus == "spi":
        place = PanelPlace("spi", display.spi_port, device=display.spi_device)
    else:
        place = PanelPlace("i2c", display.i2c_port, display.i2c_address)
    kind = display.kind if display.kind != "none" else "ssd1306"
    return PanelChoice(place, kind, display.rotation)


def _taken(settings: Settings) -> set[int | None]:
    """Lines of the lamp and of the panel, wherever it is looked for: a line that is watched cannot be driven."""
    display = settings.display
    lines = {settings.lamp.pin, display.i2c_reset_pin}
    may_be_on_spi = display.bus == "spi" or any(place.bus == "spi" for place in panel_places(settings))
    return lines | ({display.data_pin, display.reset_pin} if may_be_on_spi else set())
