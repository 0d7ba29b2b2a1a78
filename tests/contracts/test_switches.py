"""What all switches keep to: numbers from 1, down and up in turn, times that do not run back, silence after closing."""

from __future__ import annotations

import os
import pty
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from gpiozero.pins.mock import MockFactory

from hw.gpio_switches import GpioSwitches
from hw.keyboard_switches import KeyboardSwitches
from pedal.ports import Switches

PINS = (17, 27, 22, 5)


@dataclass
class Bench:
    """Switches, and a foot that presses one and lets it go again."""

    switches: Switches
    tap: Callable[[int], None]


@pytest.fixture(params=["gpio", "keyboard"])
def bench(request) -> Iterator[Bench]:
    if request.param == "gpio":
        factory = MockFactory()

        def tap(switch: int) -> None:
            factory.pin(PINS[switch - 1]).drive_low()
            factory.pin(PINS[switch - 1]).drive_high()

        bench = Bench(GpioSwitches(PINS, factory=factory), tap)
        yield bench
        bench.switches.close()
        factory.close()
        return
    far, near = pty.openpty()
    with os.fdopen(near, "r") as keys:
        bench = Bench(KeyboardSwitches(keys), lambda switch: os.write(far, str(switch).encode()))
        yield bench
        bench.switches.close()
        os.close(far)


class Feet:
    def __init__(self) -> None:
        self.edges: list[tuple[float, int, bool]] = []
        self.came = threading.Condition()

    def __call__(self, time_s: float, switch: int, pressed: bool) -> None:
        with self.came:
            self.edges.append((time_s, switch, pressed))
            self.came.notify_all()

    def wait_for(self, count: int) -> None:
        with self.came:
            assert self.came.wait_for(lambda: len(self.edges) >= count, 20), f"only {self.edges}"


@pytest.mark.parametrize("switch", [1, 2, 3, 4])
def test_a_tap_is_down_and_up_with_its_number(bench, switch):
    feet = Feet()
    before_s = time.monotonic()
    bench.switches.open(feet)
    bench.tap(switch)
    feet.wait_for(2)
    assert [edge[1:] for edge in feet.edges] == [(switch, True), (switch, False)]
    assert before_s <= feet.edges[0][0] <= feet.edges[1][0] <= time.monotonic()


def test_taps_come_in_the_order_of_the_feet(bench):
    feet = Feet()
    bench.switches.open(feet)
    for number, switch in enumerate((2, 1, 4, 2), 1):
        bench.tap(switch)
        feet.wait_for(2 * number)
    times = [time_s for time_s, _, _ in feet.edges]
    assert times == sorted(times)
    assert [switch for _, switch, pressed in feet.edges if pressed] == [2, 1, 4, 2]


def test_after_closing_nothing_comes(bench):
    feet = Feet()
    bench.switches.open(feet)
    bench.switches.close()
    count = len(feet.edges)
    bench.tap(1)
    assert len(feet.edges) == count


def test_closing_twice_and_before_opening_is_safe(bench):
    bench.switches.close()
    feet = Feet()
    bench.switches.open(feet)
    bench.tap(2)
    feet.wait_for(2)
    bench.switches.close()
    bench.switches.close()
    again = Feet()
    bench.switches.open(again)
    bench.tap(2)
    again.wait_for(2)
    assert [edge[1:] for edge in feet.edges + again.edges] == [(2, True), (2, False)] * 2


def test_switches_open_again_after_closing(bench):
    bench.switches.open(Feet())
    bench.switches.close()
    feet = Feet()
    bench.switches.open(feet)
    bench.tap(3)
    feet.wait_for(2)
    assert feet.edges[0][1:] == (3, True)
