"""The panel's bytes, decoded as the controller would, are the picture that was drawn; and few of them are sent."""

from __future__ import annotations

import atexit
import errno
import gc
import statistics
import subprocess
import sys
from collections import Counter

import numpy as np
import pytest
from gpiozero import Device, DigitalOutputDevice
from gpiozero.pins.mock import MockFactory
from PIL import Image

from hw import luma_bus
from hw.luma_bus import over_i2c, over_spi
from hw.luma_screen import CHIPS, SCAN_S, LumaScreen, Run, changed_runs, pack
from pedal.errors import DeviceError
from pedal.modes.screen_model import Status, StringPicture, WatchScreen
from pedal.screen.drawing import draw
from pedal.screen.samples import samples
from pedal.settings import table
from tests.hw.bus_decoder import NO_ANSWER, wire_s
from tests.hw.wired_panels import wire, wire_i2c, wire_spi

PICTURES = 60


def noise(rng: np.random.Generator, height: int = 64) -> Image.Image:
    return Image.frombytes("1", (128, height), rng.bytes(16 * height))


def patched(rng: np.random.Generator, picture: Image.Image) -> Image.Image:
    """The picture with a few boxes of it changed, as a screen changes."""
    new = picture.copy()
    for _ in range(rng.integers(0, 4)):
        x, y = int(rng.integers(0, 128)), int(rng.integers(0, picture.height))
        new.paste(noise(rng).crop((0, 0, int(rng.integers(1, 40)), int(rng.integers(1, 30)))), (x, y))
    return new


def a_rising_string() -> list[Image.Image]:
    """Two seconds of a whole-step bend at 60 pictures a second."""
    status = Status("watch", "G minor pentatonic")
    heights = 200 * np.clip((np.arange(120) - 20) / 60, 0, 1) ** 1.5
    return [draw(WatchScreen(status, "C4", "D4", StringPicture(h, 200.0, None, h), None)) for h in heights.tolist()]


@pytest.mark.parametrize("height", [64, 32])
@pytest.mark.parametrize("bus", ["i2c", "spi"])
@pytest.mark.parametrize("chip", CHIPS)
def test_the_glass_shows_what_was_drawn(monkeypatch, rng, chip, bus, height):
    panel = wire(monkeypatch, chip=chip, bus=bus, height=height)
    picture = noise(rng, height)
    for number in range(PICTURES):
        picture = noise(rng, height) if number % 10 == 0 else patched(rng, picture)
        panel.screen.show(picture)
        assert panel.glass.image().tobytes() == picture.tobytes(), f"picture {number}"


def test_a_panel_that_decodes_wrongly_is_noticed(monkeypatch, rng):
    """The double is no mirror: with the columns of another controller the same bytes give another picture."""
    panel = wire(monkeypatch, chip="sh1106", bus="i2c")
    panel.glass.first_column = 0
    picture = noise(rng)
    panel.screen.show(picture)
    assert panel.glass.image().tobytes() != picture.tobytes()


@pytest.mark.parametrize("chip", CHIPS)
def test_the_same_picture_again_sends_nothing(monkeypatch, rng, chip):
    panel = wire(monkeypatch, chip=chip, bus="i2c")
    picture = noise(rng)
    panel.screen.show(picture)
    panel.glass.sizes.clear()
    panel.screen.show(picture)
    assert panel.glass.sizes == []


@pytest.mark.parametrize(("chip", "full_ms", "typical_ms"), [("ssd1306", 26.0, 10.0), ("sh1106", 26.0, 10.0)])
def test_a_moving_string_leaves_the_bus_free(monkeypatch, chip, full_ms, typical_ms):
    """At 400 kHz a full frame fits 30 a second, a moving string 60. Nine clocks a byte: I2C-bus specification."""
    panel = wire(monkeypatch, chip=chip, bus="i2c")
    frames = a_rising_string()
    panel.glass.sizes.clear()
    panel.screen.show(frames[0])
    full_s = wire_s(panel.glass.sizes, bus="i2c", hz=400_000)
    each_s = []
    for frame in frames[1:]:
        panel.glass.sizes.clear()
        panel.screen.show(frame)
        each_s.append(wire_s(panel.glass.sizes, bus="i2c", hz=400_000))
        assert panel.glass.image().tobytes() == frame.tobytes()
    moving = [s for s in each_s if s > 0]
    assert len(moving) > 30
    assert 1000 * full_s < full_ms
    assert 1000 * statistics.median(moving) < typical_ms
    assert 1000 * max(moving) < 1000 / 60, "60 pictures a second of a moving string must fit the bus"


def test_a_full_frame_on_spi_takes_a_millisecond(monkeypatch, rng):
    panel = wire(monkeypatch, chip="ssd1309", bus="spi")
    panel.glass.sizes.clear()
    panel.screen.show(noise(rng))
    assert 1000 * wire_s(panel.glass.sizes, bus="spi", hz=8_000_000) < 1.1


@pytest.mark.parametrize("fault_after", [0, 1, 2, 5])
def test_after_a_fault_the_whole_picture_is_sent(monkeypatch, rng, fault_after):
    """A NACK in the middle leaves the glass half old, half new: the next picture must not trust it."""
    panel = wire(monkeypatch, chip="ssd1306", bus="i2c")
    first, second = noise(rng), noise(rng)
    panel.screen.show(first)
    panel.bus.fault, panel.bus.fault_after = NO_ANSWER, fault_after
    with pytest.raises(DeviceError, match="does not answer"):
        panel.screen.show(second)
    panel.bus.fault = None
    panel.glass.memory[:] = 0xAA
    panel.screen.show(first)  # as before the fault: whoever trusted what was shown then would send nothing
    assert panel.glass.image().tobytes() == first.tobytes()


@pytest.mark.parametrize("fault_after", [0, 1])
def test_no_answer_to_a_command_and_to_data_is_one_error(monkeypatch, rng, fault_after):
    """Transfer 0 of a picture is a command, transfer 1 is data: luma raises two different errors for them."""
    panel = wire(monkeypatch, chip="ssd1306", bus="i2c")
    panel.bus.fault, panel.bus.fault_after = NO_ANSWER, fault_after
    with pytest.raises(
        DeviceError, match=r"panel on I2C bus 1 at 0x3C does not answer .*: check its four wires"
    ) as told:
        panel.screen.show(noise(rng))
    assert told.value.exit_status == 1
    assert "\n" not in str(told.value)


def test_a_panel_at_another_address_is_told_by_its_remedy(monkeypatch):
    wiring, _, bus = wire_i2c(monkeypatch, "ssd1306")
    bus.address = 0x3D
    with pytest.raises(DeviceError, match="0x3C or 0x3D"):
        LumaScreen(wiring)
    assert bus.closed == 1, "the bus must not stay open behind a failure: the panel is tried again every few seconds"


def test_a_missing_bus_is_told_by_its_remedy(monkeypatch):
    with pytest.raises(DeviceError, match=r"panel on I2C bus 77 .* switch I2C on"):
        LumaScreen(over_i2c(port=77))


def test_spi_without_its_library_is_told_by_its_remedy(monkeypatch):
    wiring, _, _ = wire_spi(monkeypatch, "ssd1306")
    monkeypatch.setitem(sys.modules, "spidev", None)
    with pytest.raises(DeviceError, match="install spidev"):
        LumaScreen(wiring)


def test_spi_lets_its_pins_go_after_a_failure(monkeypatch):
    """The retry takes the same pins again."""
    wiring, glass, bus = wire_spi(monkeypatch, "ssd1306")
    spidev = sys.modules["spidev"]
    monkeypatch.setitem(sys.modules, "spidev", None)
    with pytest.raises(DeviceError) as told:
        LumaScreen(wiring)
    monkeypatch.setitem(sys.modules, "spidev", spidev)
    LumaScreen(wiring).close()
    assert bus.closed == 1
    assert told.value  # holds what failed: the pins must be free by our doing, not by the collector's


def test_spi_can_be_opened_again_after_closing(monkeypatch):
    """The pins go with the bus, at once."""
    wiring, _, bus = wire_spi(monkeypatch, "sh1106")
    for _ in range(3):
        LumaScreen(wiring, chip="sh1106").close()
    assert bus.closed == 3


@pytest.fixture
def made_here():
    """How many things of a class that were made from now on are still there.

    What was there before is set aside: to look through all that a run of the tests has made takes longer than the test.
    """

    def left(kind: type) -> int:
        gc.collect()
        return sum(many for each, many in Counter(map(type, gc.get_objects())).items() if issubclass(each, kind))

    gc.freeze()
    yield left
    gc.unfreeze()


def test_failures_leave_no_devices_behind(monkeypatch, made_here):
    """A panel may be gone for a night, and is tried each two seconds."""
    from luma.core.device import device

    wiring, _, bus = wire_i2c(monkeypatch, "ssd1306")
    bus.address = 0x3D
    for _ in range(20):
        with pytest.raises(DeviceError):
            LumaScreen(wiring)
    assert made_here(device) == 0


def test_what_is_left_behind_is_counted(monkeypatch, made_here):
    wiring, _, _ = wire_i2c(monkeypatch, "ssd1306")
    screen = LumaScreen(wiring)
    assert made_here(LumaScreen) == 1
    screen.close()


@pytest.mark.parametrize("chip", CHIPS)
@pytest.mark.parametrize("answers", [1, 4, 30])
def test_a_loose_wire_leaves_nothing_behind_however_often_it_is_tried(monkeypatch, rng, chip, answers, made_here):
    """It answers at first, and fails in its start or in its first picture.

    luma's devices ask to be cleaned up when the program ends, which keeps each of them until then: 0.34 MB.
    """
    wiring, _, bus = wire_i2c(monkeypatch, chip)

    def attempt() -> None:
        bus.fault, bus.fault_after = NO_ANSWER, answers
        with pytest.raises(DeviceError):
            screen = LumaScreen(wiring, chip=chip)
            try:
                for _ in range(30):
                    screen.show(noise(rng))
            finally:
                screen.close()

    hooks = atexit._ncallbacks()
    for _ in range(5):
        attempt()
    assert atexit._ncallbacks() == hooks
    assert made_here(LumaScreen) == 0
    assert bus.closed == 5


@pytest.mark.parametrize("chip", CHIPS)
def test_a_start_that_fails_at_its_last_word_lets_the_bus_go(monkeypatch, chip):
    wiring, glass, bus = wire_i2c(monkeypatch, chip)
    LumaScreen(wiring, chip=chip).close()
    words = len(glass.sizes) - 1  # the last one darkened it
    bus.closed, bus.fault, bus.fault_after = 0, NO_ANSWER, words - 1
    with pytest.raises(DeviceError):
        LumaScreen(wiring, chip=chip)
    assert bus.fault_after == 0
    assert bus.closed == 1


def test_brightness_is_the_contrast_and_zero_is_dark(monkeypatch, rng):
    panel = wire(monkeypatch, chip="ssd1306", bus="i2c")
    picture = noise(rng)
    panel.screen.show(picture)
    panel.screen.dim(0.25)
    assert (panel.glass.contrast, panel.glass.on) == (64, True)
    panel.screen.dim(0.0)
    assert not panel.glass.on
    panel.screen.dim(1.0)
    assert (panel.glass.contrast, panel.glass.on) == (255, True)
    assert panel.glass.image().tobytes() == picture.tobytes()


def test_dimming_is_a_share_of_the_configured_contrast(monkeypatch):
    wiring, glass, _ = wire_i2c(monkeypatch, "ssd1306")
    screen = LumaScreen(wiring, contrast=0.5)
    assert glass.contrast == 128
    screen.dim(0.25)
    assert glass.contrast == 32
    screen.dim(1.0)
    assert glass.contrast == 128


def test_closing_darkens_and_lets_the_bus_go_once(monkeypatch):
    panel = wire(monkeypatch, chip="sh1106", bus="i2c")
    panel.screen.close()
    panel.screen.close()
    assert not panel.glass.on
    assert panel.bus.closed == 1


def test_closing_a_panel_that_is_gone_raises_nothing(monkeypatch):
    panel = wire(monkeypatch, chip="ssd1306", bus="i2c")
    panel.bus.fault = errno.EIO
    panel.screen.close()
    assert panel.bus.closed == 1


def test_the_picture_looks_ahead_by_transfer_and_half_a_scan(monkeypatch, rng):
    """With a clock by hand: transfers of 8 ms are approached by the running mean."""
    wiring, _, _ = wire_i2c(monkeypatch, "ssd1306")
    times = iter(np.repeat(0.1 * np.arange(100), 2) + np.tile([0.0, 0.008], 100))
    screen = LumaScreen(wiring, clock=lambda: float(next(times)))
    for _ in range(60):
        screen.show(noise(rng))
    assert screen.delay_s == pytest.approx(SCAN_S + 0.008, abs=1e-4)


@pytest.mark.parametrize("chip", ["SSD1306", "st7735", ""])
def test_an_unknown_chip_is_refused(chip):
    with pytest.raises(ValueError, match="chip must be one of ssd1306, ssd1309, sh1106"):
        LumaScreen(over_i2c(), chip=chip)


def test_the_settings_offer_the_clocks_that_the_adapter_takes():
    assert table.SPI_CLOCKS_HZ == luma_bus.SPI_CLOCKS_HZ


def test_an_odd_spi_clock_is_refused():
    with pytest.raises(DeviceError, match=r"no clock of 7000000 Hz: set display.spi_hz to 0.5, 1, 2, 4, 8,") as told:
        over_spi(clock_hz=7_000_000)
    assert told.value.exit_status == 1


def test_a_picture_of_the_wrong_size_is_refused(monkeypatch):
    panel = wire(monkeypatch, chip="ssd1306", bus="i2c")
    with pytest.raises(ValueError, match="must be 128 x 64, got 128 x 32"):
        panel.screen.show(Image.new("1", (128, 32)))


def test_pages_have_their_lowest_bit_on_top():
    picture = Image.new("1", (128, 64))
    for row in (0, 7, 8, 63):
        picture.putpixel((5, row), 255)
    pages = pack(picture)
    assert pages.shape == (8, 128)
    assert pages[:, 5].tolist() == [0x81, 0x01, 0, 0, 0, 0, 0, 0x80]
    assert not pages[:, [0, 4, 6, 127]].any()


def test_near_runs_go_together_and_far_ones_apart():
    old = np.zeros((8, 128), np.uint8)
    new = old.copy()
    new[2, [10, 12, 20, 90]] = 1
    assert changed_runs(old, new) == [Run(2, 10, 20), Run(2, 90, 90)]
    assert changed_runs(old, old) == []


def test_every_sample_screen_reaches_the_glass(monkeypatch):
    panel = wire(monkeypatch, chip="sh1106", bus="i2c")
    for name, model in samples().items():
        picture = draw(model)
        panel.screen.show(picture)
        assert panel.glass.image().tobytes() == picture.tobytes(), name


class Hand:
    """A clock that the test moves."""

    now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


@pytest.mark.parametrize("bus", ["i2c", "spi"])
@pytest.mark.parametrize("chip", CHIPS)
def test_a_panel_that_lost_its_power_for_a_moment_shows_again_within_ten_seconds(monkeypatch, rng, chip, bus):
    clock = Hand()
    panel = wire(monkeypatch, chip=chip, bus=bus, clock=clock)
    picture = noise(rng)
    panel.screen.dim(0.5)
    panel.screen.show(picture)
    dimmed = panel.glass.contrast
    panel.glass.lose_power()
    clock.now_s = 9.9
    panel.screen.show(picture)
    assert not np.asarray(panel.glass.image()).any(), "nothing is known of it yet"
    clock.now_s = 10.0
    panel.screen.show(picture)
    assert panel.glass.image().tobytes() == picture.tobytes()
    assert panel.glass.contrast == dimmed


@pytest.mark.parametrize("chip", CHIPS)
def test_a_panel_that_lost_nothing_does_not_flicker(monkeypatch, rng, chip):
    clock = Hand()
    panel = wire(monkeypatch, chip=chip, bus="i2c", clock=clock)
    picture = noise(rng)
    panel.screen.show(picture)
    dark, seen, transfer = panel.glass.went_dark, [], panel.bus.transfer

    def watched(address: int, sent: list[int]) -> None:
        transfer(address, sent)
        seen.append(panel.glass.image().tobytes())

    panel.bus.transfer = watched
    clock.now_s = 10.0
    panel.screen.show(picture)
    assert len(seen) > 8
    assert set(seen) == {picture.tobytes()}
    assert panel.glass.went_dark == dark


def test_a_moving_picture_is_renewed_at_last_and_its_delay_is_not_counted(monkeypatch, rng):
    clock = Hand()
    panel = wire(monkeypatch, chip="ssd1306", bus="i2c", clock=clock)
    picture = noise(rng)
    panel.screen.show(picture)
    panel.glass.lose_power()
    for clock.now_s in (15.0, 29.9):
        picture = patched(rng, noise(rng))
        panel.screen.show(picture)
        assert not np.asarray(panel.glass.image()).any()
    delay_s = panel.screen.delay_s
    clock.now_s = 30.0
    picture = noise(rng)
    panel.screen.show(picture)
    assert panel.glass.image().tobytes() == picture.tobytes()
    assert panel.screen.delay_s == delay_s


def test_a_panel_that_sleeps_stays_dark(monkeypatch, rng):
    clock = Hand()
    panel = wire(monkeypatch, chip="ssd1306", bus="i2c", clock=clock)
    picture = noise(rng)
    panel.screen.show(picture)
    panel.screen.dim(0.0)
    clock.now_s = 10.0
    panel.screen.show(picture)
    assert not panel.glass.on


def test_a_reset_line_beside_i2c_is_pulsed_before_the_panel_is_spoken_to(monkeypatch, rng):
    """2.42 inch panels with four wires and RES: without the pulse they answer, and stay dark."""
    factory = MockFactory()
    monkeypatch.setattr(Device, "pin_factory", factory)
    _, glass, bus = wire_i2c(monkeypatch, "ssd1309")
    levels = []
    monkeypatch.setattr("hw.luma_bus.time.sleep", lambda _: levels.append(factory.pin(22).state))
    screen = LumaScreen(over_i2c(reset_pin=22), chip="ssd1309")
    assert levels == [1, 0, 1]
    assert all(factory.pin(22).state for _ in glass.sizes)
    picture = noise(rng)
    screen.show(picture)
    assert glass.image().tobytes() == picture.tobytes()
    screen.close()
    factory.pin(22).close()
    assert bus.closed == 1


def test_a_reset_line_that_is_busy_is_told(monkeypatch):
    factory = MockFactory()
    monkeypatch.setattr(Device, "pin_factory", factory)
    with DigitalOutputDevice(22), pytest.raises(DeviceError, match="the panel's pin GPIO 22 cannot be set"):
        LumaScreen(over_i2c(reset_pin=22), chip="ssd1309")


@pytest.mark.parametrize("height", [64, 32])
@pytest.mark.parametrize("bus", ["i2c", "spi"])
@pytest.mark.parametrize("chip", CHIPS)
def test_no_dot_is_lit_when_the_glass_is_switched_on(monkeypatch, rng, chip, bus, height):
    """A controller's memory holds noise when the power comes (data sheets, from memory)."""
    wiring, glass, _ = (wire_i2c if bus == "i2c" else wire_spi)(monkeypatch, chip, height)
    glass.memory[:] = rng.integers(0, 256, glass.memory.shape)
    lit_when_on: list[bool] = []
    obey = glass.obey

    def watched(operation: int, arguments: list[int]) -> None:
        if operation == 0xAF:
            obey(operation, arguments)
            lit_when_on.append(glass.image().getbbox() is not None)
            return
        obey(operation, arguments)

    glass.obey = watched
    LumaScreen(wiring, chip=chip, height=height)
    assert lit_when_on == [False]


def test_a_panel_on_i2c_loads_no_pin_library():
    """It takes longer to load than the first picture to draw, and a pedal without switches never asks for it."""
    ask = "import sys, hw.luma_bus, hw.luma_screen; print('gpiozero' in sys.modules)"
    asked = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert asked.stdout == "False\n"
