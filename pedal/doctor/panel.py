"""The panel: whether it answers, how long a frame takes on its bus, and whether it can be read standing."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from pedal.doctor.finding import Finding
from pedal.doctor.machine import Machine
from pedal.settings.parts import Display, Settings

CLOCKS_A_BYTE = 9
"""Eight bits and the acknowledge (I2C-bus specification)."""
FRAME_BYTES = {"ssd1306": 1034, "ssd1309": 1034, "sh1106": 1080}
"""A full frame of 128 x 64 on the wire, with addresses and control bytes, counted from what luma.oled sends."""
SLOWEST_FRAME_S = 0.03
"""A full frame must fit thirty a second; changed columns alone are some sixteen times quicker."""
KERNEL_DEFAULT_HZ = 100_000


def panel(machine: Machine, settings: Settings, answers: Callable[[int, int], bool]) -> Iterator[Finding]:
    """The configured panel; `answers(port, address)` asks an I2C bus."""
    display = settings.display
    if display.kind == "none":
        yield Finding("panel", "ok", "none is configured")
        return
    yield _legibility(display)
    if display.bus == "i2c":
        if machine.path(f"/dev/i2c-{display.i2c_port}").exists():
            yield from _address(display, answers)
        yield from _frame_time(machine, display)
    else:
        yield Finding(
            "panel bus", "ok", f"SPI at {display.spi_hz / 1e6:g} MHz: a frame in {_spi_frame_s(display) * 1e3:.1f} ms"
        )


def _legibility(display: Display) -> Finding:
    from pedal.screen.legibility import PanelSize, warnings_for

    size = PanelSize(display.panel_height_mm, display.height)
    where = f"a lit area of {size.height_mm:g} mm from {display.distance_m:g} m"
    if display.density == "close":
        return Finding("legibility", "ok", f"{where}: the density is for sitting, and is not checked")
    told = warnings_for(size, display.distance_m)
    if not told:
        return Finding("legibility", "ok", f"{where}: what must be read standing can be")
    fact, _, remedy = told[0].partition(": ")
    return Finding("legibility", "warn", fact, remedy)


def frame_s(bus_hz: int, kind: str, size: str) -> float:
    """Seconds that a full frame takes on an I2C bus of `bus_hz`."""
    share = 1.0 if size == "128x64" else 0.5
    return FRAME_BYTES[kind] * share * CLOCKS_A_BYTE / bus_hz


def _spi_frame_s(display: Display) -> float:
    return 8 * 1048 / display.spi_hz


def _address(display: Display, answers: Callable[[int, int], bool]) -> Iterator[Finding]:
    where = f"{display.kind} at 0x{display.i2c_address:02X} on bus {display.i2c_port}"
    other = 0x3D if display.i2c_address == 0x3C else 0x3C
    if answers(display.i2c_port, display.i2c_address):
        yield Finding("panel", "ok", f"{where} answers")
    elif answers(display.i2c_port, other):
        yield Finding(
            "panel",
            "missing",
            f"{where} does not answer, but 0x{other:02X} does",
            f"set display.i2c_address to 0x{other:02X}",
        )
    else:
        remedy = "look at its four wires (3.3 V, ground, SDA on pin 3, SCL on pin 5); docs/hardware.md shows them"
        yield Finding("panel", "missing", f"{where} does not answer", remedy)


def _frame_time(machine: Machine, display: Display) -> Iterator[Finding]:
    named = f"/sys/class/i2c-adapter/i2c-{display.i2c_port}/of_node/clock-frequency"
    told_hz = machine.number(named)
    if told_hz is None and not machine.path(f"/dev/i2c-{display.i2c_port}").exists():
        return
    bus_hz = told_hz or KERNEL_DEFAULT_HZ
    each_s = frame_s(bus_hz, display.kind, display.size)
    fact = f"I2C at {bus_hz // 1000} kHz{'' if told_hz else ' (assumed)'}: a full frame in {each_s * 1e3:.1f} ms"
    if each_s <= SLOWEST_FRAME_S:
        yield Finding("panel bus", "ok", fact)
    else:
        remedy = "add dtparam=i2c_arm_baudrate=400000 to /boot/firmware/config.txt and start anew: 23 ms a frame"
        yield Finding("panel bus", "warn", fact, remedy)
