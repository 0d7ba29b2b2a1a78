"""Which adapter stands behind which port.

The only file that imports `hw`, and inside functions: no verb loads a library that it does not need.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal, cast

if TYPE_CHECKING:
    from collections.abc import Callable
    from contextlib import AbstractContextManager

    import numpy as np
    from numpy.typing import NDArray

    from hw.luma_screen import Chip
    from pedal.live.drone_player import Voice
    from pedal.ports import AudioSink, AudioSource, Lamp, PinLibrary, Screen, SoundDevice, Store, Switches, Take
    from pedal.practice.homework import Homework
    from pedal.settings.card import Layered
    from pedal.settings.parts import Audio, Display, Settings


def settings(file: Path | None) -> Settings:
    """The settings of a file, of the player's or installed one, or the defaults, with what the set-up found.

    Raises SettingsError.
    """
    return layered_settings(file).settings


def layered_settings(file: Path | None) -> Layered:
    """The same, with what the card or a stick lays over the installed ones; raises SettingsError."""
    from dataclasses import replace

    from pedal.live.set_up.found import with_found

    layered = given_settings(file)
    return replace(layered, settings=with_found(layered.settings))


def given_settings(file: Path | None) -> Layered:
    """The same without what the set-up found: what somebody wrote; raises SettingsError."""
    from pedal.settings.card import card_of, load_layered
    from pedal.settings.load import settings_file

    found = settings_file(file)
    return load_layered(found, card=card_of(found))


def settings_in_spite(file: Path) -> Settings:
    """What counts where the file is broken, defaults for what is wrong in it: how the panel is wired that says so."""
    from pedal.live.set_up.found import with_found
    from pedal.settings.card import card_of, layered_in_spite

    return with_found(layered_in_spite(file, card=card_of(file)).settings)


def homework(config: Path | None, settings: Settings, *, now_wall_s: float) -> Homework | None:
    """The homework that a stick brought or the one beside the settings, whichever came last; None without one.

    Its `since_s` is on this machine's clock, and never ahead of `now_wall_s`. Raises SettingsError.
    """
    from dataclasses import replace

    from pedal.live.past import counts_from_s
    from pedal.settings.homework_file import FILE_NAME, read_homework
    from pedal.settings.load import settings_folder

    files = (settings.state.folder / FILE_NAME, settings_folder(config) / FILE_NAME)
    # of two at the same time it is the stick's: so a pedal marks what came after a file whose time lies ahead
    file = max((file for file in files if file.exists()), key=lambda file: file.stat().st_mtime_ns, default=None)
    if file is None:
        return None
    found = read_homework(file, settings)
    came_s = file.stat().st_mtime
    return replace(found, since_s=counts_from_s(found.since_s, came_s=came_s, now_wall_s=now_wall_s))


def sound_file(path: Path, *, channel: int) -> Take:
    """A recorded take."""
    from hw.sound_file import SoundFile

    return SoundFile(path, channel=channel)


def store(path: Path, *, most_mb: int) -> Store:
    """The log at a path; raises StoreError."""
    from pedal.log import open_store

    return open_store(path, most_bytes=most_mb * 1_000_000)


def sound_devices() -> list[SoundDevice]:
    """Every sound device, in and out."""
    from hw.portaudio_survey import sound_devices as listed

    return listed()


def portaudio_version() -> str:
    """The sound library's own words on its version."""
    from hw.portaudio_survey import portaudio_version as told

    return told()


def pin_library() -> PinLibrary:
    """What drives the pins; raises DeviceError where nothing does."""
    from hw.gpiozero_survey import pin_library as found

    return found()


def choosable(direction: Literal["input", "output"]) -> list[SoundDevice]:
    """Sound devices to choose from, by names that last; raises DeviceError."""
    from hw.portaudio_probe import choosable as found

    return found(direction)


def record_all_channels(number: int, *, seconds: float, name: str) -> tuple[int, NDArray[np.float32]]:
    """(rate, samples by time and channel) of an input; raises DeviceError."""
    from hw.portaudio_probe import record_all_channels as record

    return record(number, seconds=seconds, name=name)


def i2c_ports() -> tuple[int, ...]:
    """The I2C buses that are there."""
    return tuple(sorted(int(path.name[4:]) for path in Path("/dev").glob("i2c-*") if path.name[4:].isdecimal()))


def spi_devices() -> tuple[tuple[int, int], ...]:
    """(bus, chip select) of each SPI device that is there."""
    found = (path.name.removeprefix("spidev").split(".") for path in Path("/dev").glob("spidev*.*"))
    return tuple(sorted((int(port), int(device)) for port, device in found))


def address_answers(port: int, address: int) -> bool:
    """Whether something answers at an address of an I2C bus."""
    from hw.smbus2_survey import answers

    return answers(port, address)


def audio_source(audio: Audio, device: str | None = None) -> AudioSource:
    """The guitar's input: `device` of the command line, else that of the settings."""
    from hw.portaudio_input import PortAudioInput

    return PortAudioInput(
        audio.input if device is None else device,
        sample_rate=audio.rate_hz,
        block_samples=audio.block_samples,
        channel=audio.channel,
    )


def audio_output(audio: Audio, beside: str | int | None) -> AudioSink:
    """The drone's output: that of the settings, else the card of the input `beside`."""
    from hw.portaudio_output import PortAudioOutput

    return PortAudioOutput(audio.output, beside=beside, sample_rate=audio.rate_hz)


def cable_output(audio: Audio) -> AudioSink:
    """The drone's output, in blocks that the cable test plays by."""
    from hw.portaudio_output import PortAudioOutput
    from pedal.soundcheck.cable_words import OUT_SAMPLES

    return PortAudioOutput(audio.output, beside=audio.input, sample_rate=audio.rate_hz, block_samples=OUT_SAMPLES)


def hushed() -> AbstractContextManager[None]:
    """Nothing that sound drivers print is seen."""
    from hw.portaudio_stream import quiet

    return quiet()


def drone_voice(audio: Audio, sample_rate: int) -> Voice:
    """What drone, pulse and lick are made by, never louder than the ceiling of the settings."""
    from pedal.synth.backing import Backing
    from pedal.synth.lick_voice import LickVoice

    ceiling = audio.drone_ceiling_db
    return LickVoice(Backing(sample_rate, peak_db=ceiling), sample_rate, peak_db=ceiling)


def panel(display: Display) -> Screen:
    """The panel of the settings; raises DeviceError if it does not answer."""
    from hw import luma_bus
    from hw.luma_screen import LumaScreen

    if display.bus == "i2c":
        reset = display.i2c_reset_pin
        bus = luma_bus.over_i2c(port=display.i2c_port, address=display.i2c_address, reset_pin=reset)
    else:
        bus = luma_bus.over_spi(
            port=display.spi_port,
            device=display.spi_device,
            clock_hz=display.spi_hz,
            data_pin=display.data_pin,
            reset_pin=display.reset_pin,
        )
    return LumaScreen(bus, chip=cast("Chip", display.kind), height=display.height, contrast=display.contrast / 255)


def first_page() -> None:
    """Something readable on a service's panel, before anything heavy is loaded."""
    from hw.i2c_first_page import show
    from pedal.live.first_page import show_at_once

    show_at_once(show)


def terminal() -> Screen:
    """The picture in the terminal, with the keys below it; raises DeviceError outside of one."""
    from hw.keyboard_switches import LEGEND
    from hw.terminal_screen import TerminalScreen

    return TerminalScreen(captions=LEGEND)


def pictures(folder: Path) -> Screen:
    """A screen that keeps each picture as a PNG, numbered in the order shown."""
    from hw.picture_files import PngScreen

    return PngScreen(folder)


def film(file: Path, clock: Callable[[], float]) -> Screen:
    """A moving picture in a file, by the clock of the performance."""
    from hw.picture_files import GifScreen

    return GifScreen(file, clock=clock)


def keyboard() -> Switches:
    """Keys as footswitches."""
    from hw.keyboard_switches import KeyboardSwitches

    return KeyboardSwitches()


def footswitches(pins: tuple[int, ...]) -> Switches:
    """Footswitches on GPIO pins."""
    from hw.gpio_switches import GpioSwitches

    return GpioSwitches(pins)


def lamp(pin: int) -> Lamp:
    """The lamp on a GPIO pin."""
    from hw.gpio_lamp import GpioLamp

    return GpioLamp(pin)
