"""A wish is answered whatever becomes of it: also where a fault of ours ends its thread."""

from __future__ import annotations

import queue
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from pedal.errors import DeviceError, SettingsError
from pedal.live.remarks import FaultFile, OwnFaults
from pedal.live.set_up.work import Work
from pedal.live.starting_state import aim_of
from pedal.settings.load import loads
from pedal.setup.choice import InputDevice, OutputDevice
from pedal.setup.event import SetUpEvent, Trouble
from pedal.setup.wish import (
    FindInputs,
    FindOutputs,
    FindPanels,
    HearLoudness,
    HearQuiet,
    HearString,
    ListenTo,
    MeasureCable,
    PlayTone,
    Wish,
)
from tests.live.doubles import DEADLINE_S

OURS = "a fault of the program's own: leave this step, and send faults.txt from the state folder"
INPUT, OUTPUT = InputDevice(0, "Built-in: -", 1), OutputDevice(1, "USB Audio: -")
WISHES = (
    FindPanels(0), FindInputs(0), FindOutputs(0), ListenTo(INPUT, 0), HearLoudness(None, 0), HearQuiet(None, 0),
    HearString(None), PlayTone(OUTPUT), MeasureCable(None, OUTPUT, 0),
)  # fmt: skip


def answered(wish: Wish, devices: object) -> tuple[SetUpEvent, list[Exception]]:
    """The first that is told of a wish, and what it failed over."""
    told: queue.SimpleQueue[SetUpEvent] = queue.SimpleQueue()
    failed: list[Exception] = []
    aim = aim_of(loads(""), judge_as="watch")
    work = Work(wish, devices, aim, told.put, failed.append)  # type: ignore[arg-type]
    try:
        return told.get(timeout=DEADLINE_S), failed
    except queue.Empty:
        raise AssertionError("nobody answers") from None
    finally:
        work.stop()


class Failing:
    """Devices that fail, whatever they are asked for."""

    cable_db = tone_db = -30.0

    def __init__(self, fault: Exception) -> None:
        self._fault = fault

    def __getattr__(self, name: str) -> object:
        def fails(*_: object) -> None:
            raise self._fault

        return fails


@pytest.mark.parametrize("wish", WISHES, ids=lambda wish: type(wish).__name__)
def test_a_fault_of_ours_is_told_as_trouble_and_handed_on(wish: Wish) -> None:
    fault = ValueError("ours")
    assert answered(wish, Failing(fault)) == (Trouble(OURS), [fault])


@pytest.mark.parametrize("fault", [DeviceError("USB Audio does not open: look at it"), SettingsError(["no such key"])])
def test_a_sentence_for_the_player_is_told_as_it_is_and_is_no_fault_of_ours(fault: Exception) -> None:
    assert answered(FindInputs(0), Failing(fault)) == (Trouble(str(fault)), [])


def test_an_input_at_a_rate_that_the_ear_cannot_follow_is_answered() -> None:
    """A converter of 384 kHz is listened to at its own rate."""
    noise = np.random.default_rng(440).normal(0.0, 0.1, (384_000, 2)).astype(np.float32)
    told, failed = answered(ListenTo(INPUT, 0), SimpleNamespace(record=lambda *_: (384_000, noise)))
    assert told == Trouble(OURS)
    assert [type(fault) for fault in failed] == [ValueError]


def a_fault(words: str) -> ValueError:
    with pytest.raises(ValueError, match=words) as raised:
        raise ValueError(words)
    return raised.value


def test_a_fault_that_comes_again_is_told_once_with_the_file_that_says_where(tmp_path: Path) -> None:
    """The set-up looks for what it needs each few seconds, for as long as it stands."""
    said: list[str] = []
    file = tmp_path / "state" / "faults.txt"
    faults = OwnFaults(said.append, FaultFile(file).keep)
    for number in range(3):
        faults.tell("setting up", a_fault(f"ours, number {number}"), then="goes on")
    assert said == [f"the part for setting up failed (ValueError: ours, number 0) and goes on: {file} says where"]
    assert file.read_text().count("in a_fault") == 1


def test_where_no_file_can_be_written_the_trace_is_said(tmp_path: Path) -> None:
    (tmp_path / "state").touch()
    said: list[str] = []
    OwnFaults(said.append, FaultFile(tmp_path / "state" / "faults.txt").keep).tell("x", a_fault("ours"), then="goes on")
    assert "in a_fault" in said[0]
