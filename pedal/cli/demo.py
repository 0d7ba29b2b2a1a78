"""Try the whole pedal without hardware: a built-in performance goes through the live loop, in real time."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, cast

from pedal.cli.common import add_config, printer_of, status_of
from pedal.modes.names import MODES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import numpy as np
    from numpy.typing import NDArray

    from pedal.live.assembly import Controls, Panel
    from pedal.live.loop import Outcome, Parts, Signalled
    from pedal.live.performing import Performance
    from pedal.live.printer import Printer
    from pedal.live.remarks import Remarks
    from pedal.modes.input_events import Action
    from pedal.modes.names import ModeName
    from pedal.modes.pedal import Pedal
    from pedal.ports import Screen
    from pedal.settings.parts import Settings
    from pedal.synth.scene import Scene

DEMO_MINUTES = 5
"""The shortest Round there is."""
HELP = "try the pedal without hardware"
EXAMPLES = """\
examples:
  undertoe demo                        twelve bars in the terminal, keys for footswitches
  undertoe demo --mode ladder          the performance that suits a mode
  undertoe demo --mode round --fast    five minutes of practice by a player who plays what is asked
  undertoe demo --headless             verdict lines only
  undertoe demo --png shots --fast     every screen as a picture, as fast as they can be drawn
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command line may hold."""
    parser.epilog = EXAMPLES
    parser.add_argument("--mode", choices=MODES, default="watch", help="mode to play (default: watch)")
    parser.add_argument("--headless", action="store_true", help="no picture: print one line per note")
    parser.add_argument("--json", action="store_true", help="with --headless: one JSON object per note")
    parser.add_argument("--png", type=Path, metavar="DIR", help="save every screen as a picture in this folder")
    parser.add_argument("--gif", type=Path, metavar="FILE", help="save the screen as an animated GIF")
    parser.add_argument(
        "--log", type=Path, metavar="FILE", help="keep the verdicts in this log (default: none is kept)"
    )
    parser.add_argument("--fast", action="store_true", help="as fast as the machine can (default: in real time)")
    add_config(parser, "settings of the screen")


def run(arguments: argparse.Namespace) -> int:
    """Play to the end and sum up: 0; 130 after Ctrl-C."""
    from pedal import wiring
    from pedal.errors import UsageError
    from pedal.live.remarks import Remarks
    from pedal.live.service_manager import Signals
    from pedal.safe_files import picture_format
    from pedal.synth.drills import SCENES

    if arguments.json and not arguments.headless:
        raise UsageError("--json prints lines in place of the picture: give --headless as well")
    if arguments.gif is not None:
        picture_format("--gif", arguments.gif, (".gif",))
    settings, scene = wiring.settings(arguments.config), SCENES[arguments.mode]()
    printer, remarks = printer_of(arguments), Remarks(held=_in_terminal(arguments))
    try:
        with Signals() as signals:
            outcome, parts = _perform(scene, settings, arguments, printer=printer, remarks=remarks, signals=signals)
    finally:
        remarks.release()
    remarks.say(printer.summary())
    _raise_what_was_not_written(parts)
    return status_of(outcome)


def _perform(
    scene: Scene,
    settings: Settings,
    arguments: argparse.Namespace,
    *,
    printer: Printer,
    remarks: Remarks,
    signals: Signalled,
) -> tuple[Outcome, Parts]:
    """The scene through the live loop: why it ended, and what ran."""
    from pedal import wiring
    from pedal.live.assembly import assemble
    from pedal.live.capture import Capture
    from pedal.live.log_writer import LogWriter
    from pedal.live.loop import Loop
    from pedal.live.performing import Performance
    from pedal.modes.input_events import Command

    log, most_mb = arguments.log, settings.log.max_mb
    pedal = _pedal(scene, settings)
    performance = Performance(_sound(scene, pedal), paced=not arguments.fast)
    parts = assemble(
        pedal,
        Capture(lambda: performance, live=False),
        log_writer=LogWriter((lambda: wiring.store(log, most_mb=most_mb)) if log else None, None),
        printer=printer,
        panel=_panel(settings, performance, arguments),
        controls=_controls(settings, arguments),
        script=tuple(Command(step.at_s, cast("Action", step.action)) for step in scene.footsteps),
        clock=performance.now_s,
    )
    outcome = Loop(parts, signals=signals, remark=remarks.say).run()
    for worker in parts.workers:
        if worker.fault is not None:  # also what failed only while it stopped, such as writing the film
            raise worker.fault
    return outcome, parts


def _raise_what_was_not_written(parts: Parts) -> None:
    """On a stage the pedal goes on without pictures or a log; here they are what was asked for."""
    from pedal.errors import DeviceError, StoreError

    if parts.panel_display is not None and parts.panel_display.fault:
        raise DeviceError(parts.panel_display.fault)
    if parts.log_writer.dropped:
        raise StoreError((parts.log_writer.remarks or ["the log could not keep up"])[-1])


def _sound(scene: Scene, pedal: Pedal) -> Callable[[], Iterator[NDArray[np.float32]]]:
    """The scene's own score; a Round has none, and is played by what the pedal asks."""
    from pedal.live.performing import blocks_by_asking, blocks_of
    from pedal.synth.player import MadeUpPlayer

    if scene.mode != "round":
        return blocks_of(scene)
    return blocks_by_asking(MadeUpPlayer(scene.key), lambda: pedal.asked)


def _pedal(scene: Scene, settings: Settings) -> Pedal:
    """The pedal as the scene was made for it, whatever the player's own key and tuning."""
    from dataclasses import replace

    from pedal.live.starting_state import starting_state
    from pedal.modes.pedal import Pedal, PedalState

    density = starting_state(settings).density
    place = PedalState(key=scene.key, position=scene.position, density=density, round_minutes=DEMO_MINUTES)
    return Pedal(replace(place, mode=cast("ModeName", scene.mode)))


def _panel(settings: Settings, performance: Performance, arguments: argparse.Namespace) -> Panel | None:
    """Pictures and film where asked for, else the terminal; made now, so that what cannot be ends the demo at once."""
    from pedal import wiring
    from pedal.live.assembly import Panel
    from pedal.live.several_screens import SeveralScreens

    screens: list[Screen] = []
    if arguments.png is not None:
        screens.append(wiring.pictures(arguments.png))
    if arguments.gif is not None:
        screens.append(wiring.film(arguments.gif, performance.now_s))
    if _in_terminal(arguments):
        screens.append(wiring.terminal())
    if not screens:
        return None
    every = SeveralScreens(screens)
    return Panel(lambda: every, settings.display, film=arguments.fast)


def _controls(settings: Settings, arguments: argparse.Namespace) -> Controls | None:
    from pedal import wiring
    from pedal.live.assembly import Controls
    from pedal.live.session import KEYS

    if not _in_terminal(arguments):
        return None
    return Controls(wiring.keyboard(), KEYS, settings.switches)


def _in_terminal(arguments: argparse.Namespace) -> bool:
    return not arguments.headless and arguments.png is None and arguments.gif is None
