"""Ports and a pedal -> the parts of a loop, joined by their queues."""

from __future__ import annotations

import queue
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from pedal.live.capture import Capture
from pedal.live.display import AGAIN_S, PanelDisplay
from pedal.live.drone_player import DronePlayer
from pedal.live.engine import Engine
from pedal.live.log_writer import LogWriter
from pedal.live.loop import EDGES, Parts
from pedal.live.messages import Frame, SwitchEdge
from pedal.live.printer import Printer
from pedal.live.worker import Mailbox
from pedal.modes.action_map import ActionMap
from pedal.modes.feet import Feet
from pedal.modes.gesture import GestureTimes
from pedal.modes.input_events import Command
from pedal.modes.names import MODES
from pedal.modes.pedal import Pedal
from pedal.ports import Lamp, Screen, Switches
from pedal.settings import parts as chosen
from pedal.takes import TakeKeeper, TakeWriting
from pedal.values import frozen

if TYPE_CHECKING:
    from PIL import Image


FILM_PATIENCE_S = 1.0
"""A performance faster than time waits for each of its pictures, but not for a screen that hangs."""


@frozen
class Panel:
    """How frames are shown.

    make_screen : called again after every failure; None for a lamp alone.
    ages : a panel of glass: it burns in, so the picture wanders, and its supply may sag, so it is shown it again.
    film : the hearing waits for each picture.
    """

    make_screen: Callable[[], Screen] | None
    display: chosen.Display
    lamp: Lamp | None = None
    ages: bool = False
    film: bool = False


@frozen
class Controls:
    """Footswitches, how many there are, and what the settings say of them."""

    switches: Switches
    count: int
    chosen: chosen.Switches


def assemble(
    pedal: Pedal,
    capture: Capture,
    *,
    log_writer: LogWriter,
    printer: Printer,
    panel: Panel | None = None,
    controls: Controls | None = None,
    drone_player: DronePlayer | None = None,
    use_device: Callable[[], None] = lambda: None,
    takes: TakeWriting | None = None,
    script: tuple[Command, ...] = (),
    clock: Callable[[], float] = time.monotonic,
) -> Parts:
    """The parts of one run of the pedal, wired to each other and not yet started.

    panel, controls, drone_player : None where there is none.
    use_device : called once the player chose another input in the menu.
    takes : keeps the sound around verdicts; None keeps none.
    script : commands with their times, for a performance.
    """
    edges: queue.Queue[SwitchEdge] = queue.Queue(EDGES)
    frames: Mailbox[Frame] = Mailbox(patience_s=FILM_PATIENCE_S if panel is not None and panel.film else 0.0)
    panel_display = _panel_display(panel, frames) if panel is not None else None
    feet = _feet(controls)
    pedal.know_switches({mode: feet.held_for("model_begin", mode) for mode in MODES})
    engine = Engine(
        pedal,
        capture.arrivals,
        feet=feet,
        edges=edges,
        frames=frames,
        log_writer=log_writer,
        tell=printer.tell,
        output=drone_player,
        use_device=use_device,
        make_takes=(lambda rate: TakeKeeper(takes, sample_rate=rate)) if takes is not None else None,
        script=script,
        delay_s=(lambda: panel_display.delay_s) if panel_display is not None else (lambda: 0.0),
        live=capture.live,
        clock=clock,
    )
    return Parts(
        capture,
        engine,
        log_writer,
        printer,
        edges,
        panel_display=panel_display,
        switches=controls.switches if controls else None,
        drone_player=drone_player,
        takes=takes,
    )


def _feet(controls: Controls | None) -> Feet:
    if controls is None:
        return Feet(ActionMap(0))
    words = controls.chosen
    times = GestureTimes(words.debounce_s, words.both_s, words.double_s, words.long_s, words.held_s, words.stuck_s)
    return Feet(ActionMap(controls.count, dict(words.actions)), times)


def _panel_display(panel: Panel, frames: Mailbox[Frame]) -> PanelDisplay:
    from pedal.screen.care import brightness, dressed, shift_at
    from pedal.screen.drawing import draw

    display = panel.display

    def picture(frame: Frame, shift: tuple[int, int]) -> Image.Image:
        bitmap = draw(frame.model, density=frame.density, height=display.height)
        return dressed(bitmap, shift=shift, inverse=display.inverse, rotation=display.rotation)

    def share(idle_s: float) -> float:
        return brightness(idle_s, dim_after_s=display.dim_after_s, blank_after_s=display.blank_after_s)

    return PanelDisplay(
        frames,
        make_screen=panel.make_screen,
        draw=picture,
        brightness=share,
        shift=shift_at if panel.ages else lambda _: (0, 0),
        lamp=panel.lamp,
        again_s=AGAIN_S if panel.ages else float("inf"),
    )
