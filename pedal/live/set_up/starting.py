"""A set-up from the settings: put together, run, and what it found kept."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from pedal import wiring
from pedal.errors import DeviceError
from pedal.live import one_at_a_time, service_manager
from pedal.live.remarks import FILE_NAME, FaultFile, OwnFaults
from pedal.live.set_up.devices import configured_panel, devices_of
from pedal.live.set_up.feet import Feet
from pedal.live.set_up.first import OFFERED
from pedal.live.set_up.found import PATHS, found_file, with_findings
from pedal.live.set_up.running import Outcome, Running
from pedal.live.starting_state import aim_of, starting_state
from pedal.modes.memory import Memory
from pedal.settings.parts import Settings
from pedal.setup.choice import InputChoice, OutputDevice
from pedal.setup.machine import Known, Record, SetUp
from pedal.setup.names import NAMES, StepName

if TYPE_CHECKING:
    from pedal.live.loop import Signalled
    from pedal.ports import Screen, Switches

STATUS = "the set-up is on the panel"


def set_up_pedal(
    config: Path | None,
    *,
    signals: Signalled,
    say: Callable[[str], None],
    in_terminal: bool,
    first: bool,
    only: StepName | None = None,
    waits: bool = True,
) -> Outcome:
    """Run the set-up on the panel, or in the terminal with its keys beside the pins.

    config : the player's file of settings; None for the usual ones.
    signals : says which signal has come, if one has.
    say : tells a sentence beside the pages.
    in_terminal : on the terminal and its keys, not on the panel alone.
    only : this step and no other.
    first : the steps that were neither done nor left, one after another; else, or with none of them, the list of steps.
    waits : whether it goes on for ever with nobody there; on a pedal it does not.

    Raises AlreadyRunningError, and DeviceError where a terminal was asked for and there is none.
    """
    given = wiring.given_settings(config).settings
    file = found_file(given)
    record = file.load()
    settings = with_findings(given, record)
    held = one_at_a_time.hold(settings.state.folder)
    offers = {OFFERED: _offers(record) + 1} if first else {}

    def keep(found: Record) -> None:
        try:
            file.save({**record, **offers, **found})
        except OSError as fault:
            say(f"what the set-up found cannot be kept ({fault.strerror}): make room, or set state.folder")

    elsewhere = wiring.terminal() if in_terminal else None
    keys = wiring.keyboard() if in_terminal else None
    try:
        if first:
            keep({})
            service_manager.ready()
        service_manager.notify(f"STATUS={STATUS}")
        return _run(
            settings,
            record,
            keep=keep,
            elsewhere=elsewhere,
            keys=keys,
            signals=signals,
            say=say,
            only=only,
            listed=not first or all(name in record for name in NAMES),
            waits=waits,
        )
    finally:
        if elsewhere is not None:
            elsewhere.close()
        one_at_a_time.let_go(held)


def _run(
    settings: Settings,
    record: Memory,
    *,
    keep: Callable[[Record], None],
    elsewhere: Screen | None,
    keys: Switches | None,
    signals: Signalled,
    say: Callable[[str], None],
    only: StepName | None,
    listed: bool,
    waits: bool,
) -> Outcome:
    devices = devices_of(settings)
    choice = InputChoice(str(settings.audio.input), settings.audio.channel) if settings.audio.input else None
    output = OutputDevice(0, str(settings.audio.output)) if settings.audio.output else None
    known = Known(configured_panel(settings), starting_state(settings), choice, output)
    words = {name: str(word) for name, word in record.items() if name in PATHS or name in NAMES}
    machine = SetUp(known, words, only=only, listed=listed and only is None)
    feet = Feet(devices.pins, devices.watch, keys)
    faults = OwnFaults(say, FaultFile(settings.state.folder / FILE_NAME).keep)
    try:
        known_panel = "panel" in record or elsewhere is None
        return Running(
            machine,
            devices,
            aim=aim_of(settings, judge_as="watch"),
            display=settings.display,
            feet=feet,
            elsewhere=elsewhere,
            panel=known.panel if known_panel and settings.display.kind != "none" else None,
            keep=keep,
            say=say,
            failed=lambda fault: faults.tell("setting up", fault, then="goes on"),
            signals=signals,
            waits=waits,
        ).run()
    finally:
        with contextlib.suppress(DeviceError):
            feet.close()


def _offers(record: Memory) -> int:
    count = record.get(OFFERED, 0)
    return count if isinstance(count, int) else 0
