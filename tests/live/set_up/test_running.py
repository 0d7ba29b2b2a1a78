"""The set-up's loop on devices made of Python: a whole way by one switch, a cut in the middle, faults on the way."""

from __future__ import annotations

import signal
import threading
from dataclasses import replace

import numpy as np
import pytest

from pedal.errors import DeviceError
from pedal.live.set_up import running as running_module
from pedal.live.set_up.feet import Feet
from pedal.live.set_up.found import found_file, with_found
from pedal.live.set_up.running import Running
from pedal.live.starting_state import aim_of, starting_state
from pedal.settings.load import loads
from pedal.setup.choice import PanelChoice
from pedal.setup.machine import Known, SetUp
from pedal.setup.names import NAMES
from tests.live.doubles import DEADLINE_S, DeadScreen, MemoryScreen
from tests.live.set_up.world import World
from tests.live.true_bend import RATE

SWITCH = 17


def an_open_string(hz: float = 110.0, seconds: float = 2.0) -> np.ndarray:
    """Plucked once: eight partials that die away, by the textbook."""
    t = np.arange(round(seconds * RATE)) / RATE
    wave = sum(np.exp(-t * (1 + k)) * np.sin(2 * np.pi * hz * k * t) / k for k in range(1, 9))
    silence = np.zeros(round(0.4 * RATE))
    return np.concatenate([silence, 0.2 * wave]).astype(np.float32)


@pytest.fixture
def world(monkeypatch: pytest.MonkeyPatch) -> World:
    monkeypatch.setattr("pedal.live.set_up.work.STOP_S", DEADLINE_S)  # for a driver that hangs; a machine may be slow
    rng = np.random.default_rng(440)
    return World(an_open_string(), (1e-4 * rng.standard_normal(5 * RATE)).astype(np.float32))


def settings_in(folder, text: str = ""):
    return loads(text, environment={"HOME": str(folder), "STATE_DIRECTORY": str(folder)})


def a_set_up(world, settings, *, record=None, said=None, keep=None, waits=True, elsewhere=None, only=None):
    file = found_file(settings)
    place = world.places[0] if world.places else None
    known = Known(PanelChoice(place, "ssd1306", 0), starting_state(settings)) if place else None
    machine = SetUp(known, record if record is not None else {}, only=only)
    devices = world.devices()
    return machine, Running(
        machine,
        devices,
        aim=aim_of(settings, judge_as="watch"),
        display=settings.display,
        feet=Feet(devices.pins, devices.watch),
        elsewhere=elsewhere,
        panel=known.panel,
        keep=keep or (lambda found: file.save(dict(found))),
        say=(said if said is not None else []).append,
        failed=lambda fault: pytest.fail(str(fault)),
        signals=world,
        waits=waits,
        clock=world.clock,
    )


class Player:
    """Does what the page asks for, by one switch; `until` ends it with the power."""

    def __init__(self, world: World, machine: SetUp, until: str = "") -> None:
        self._world, self._machine, self._until = world, machine, until
        self._wait, self._idle = world.wait, 0
        world.wait = self.wait  # type: ignore[method-assign]
        self.titles: list[str] = []

    def wait(self, timeout_s: float) -> int | None:
        page = self._machine.screen()
        title = getattr(page, "title", "TUNER")
        if self.titles[-1:] != [title]:
            self.titles.append(title)
            self._idle = 0
        self._idle += 1
        if self._machine.step_name == self._until != "":
            return signal.SIGTERM
        self._world.be_still = self._machine.step_name == "noise"
        if self._idle == 15:  # for longer than an eye needs
            if title in ("FOUND 1", "CABLE"):  # these are all; no cable at hand
                self._world.press(SWITCH, 0.9)
            elif getattr(page, "press", "") or (title == "PRESS"):
                self._world.press(SWITCH)
            self._idle = 0
        assert len(self.titles) < 100
        return self._wait(timeout_s)


def test_the_whole_way_by_one_switch(world, tmp_path):
    settings, said = settings_in(tmp_path), []
    machine, running = a_set_up(world, settings, said=said)
    player = Player(world, machine)
    assert running.run() == "over"
    assert player.titles[-1] == "READY"
    assert machine.record["noise"].startswith("done: Quiet: noise at -80")  # not of the string that rang at first
    assert [line.partition(":")[0] for line in said] == [name for name in NAMES if name != "cable"]
    found = with_found(settings)
    assert found.audio.input == "USB Audio: -"
    assert found.audio.channel == 2
    assert found.audio.output == "USB Audio: -"
    assert found.switches.pins == (17,)
    assert said[-1].startswith("tune: string 5, A2, ")
    assert world.sinks
    assert all(sink.closed and np.max(np.abs(sink.pulled)) <= 10 ** (-30 / 20) for sink in world.sinks)
    assert world.panels[-1].closed
    assert len(world.panels[-1].pictures) > 5


def test_a_power_cut_in_the_middle_costs_the_step_that_was_begun(world, tmp_path):
    settings = settings_in(tmp_path)
    machine, running = a_set_up(world, settings)
    Player(world, machine, until="level")
    assert running.run() == "stopped"
    record = found_file(settings).load()
    assert with_found(settings).audio.channel == 2
    again = SetUp(Known(PanelChoice(world.places[0], "ssd1306", 0), starting_state(settings)), record)
    assert again.step_name == "level"


def test_nobody_there_ends_it_where_it_may_not_wait(world, tmp_path):
    _, running = a_set_up(world, settings_in(tmp_path), waits=False)
    assert running.run() == "forsaken"


def test_each_step_is_kept_as_soon_as_it_is_over(world, tmp_path):
    kept = []
    machine, running = a_set_up(world, settings_in(tmp_path), keep=kept.append)
    Player(world, machine)
    assert running.run() == "over"
    assert [len(set(found) & set(NAMES)) for found in kept] == list(range(1, len(NAMES) + 1))
    assert kept[-1]["tune"].startswith("done")


def test_a_pin_that_is_closed_from_the_start_is_no_foot(world, tmp_path):
    world.closed_from_the_start = {27}
    machine, running = a_set_up(world, settings_in(tmp_path))
    Player(world, machine)
    assert running.run() == "over"
    assert machine.record["switches.pins"] == "[17]"


def test_a_panel_that_dies_meanwhile_is_made_again(world, tmp_path):
    machine, running = a_set_up(world, settings_in(tmp_path))

    class Dying(DeadScreen):
        """Answers until the player comes to the level."""

        def show(self, bitmap):
            if machine.step_name == "level":
                super().show(bitmap)
            MemoryScreen.show(self, bitmap)

    def panel(choice):
        world.panels.append(MemoryScreen() if world.panels else Dying())
        return world.panels[-1]

    running._devices = replace(running._devices, panel=panel)
    Player(world, machine)
    assert running.run() == "over"
    first, second = world.panels
    assert first.pictures and first.closed
    assert second.pictures and second.closed
    assert machine.record["level"].startswith("done")


def test_a_machine_without_pins_says_why(world, tmp_path):
    world.pin_fault = "no pin library works here: this machine has no pins"
    screen = MemoryScreen()
    machine, running = a_set_up(world, settings_in(tmp_path), elsewhere=screen, only="switches", waits=False)
    assert running.run() == "forsaken"
    assert machine.screen().lines == (world.pin_fault,)


@pytest.mark.parametrize(("seconds", "kind"), [(0.9, "ssd1306"), (0.1, "sh1106")], ids=["left", "taken"])
def test_after_the_panel_s_step_pages_are_on_the_panel_of_before_or_the_one_taken(world, tmp_path, seconds, kind):
    """The fault: left while another was tried, that one drew the list and every later step."""
    machine, running = a_set_up(world, settings_in(tmp_path))
    opened, wait, looked, pages = [], world.wait, [], []

    def panel(choice):
        opened.append(choice)
        return MemoryScreen()

    def foot(timeout_s: float) -> int | None:
        title = machine.screen().title
        assert world.now_s < 2_000
        if machine.step_name == "switches":
            pages.append(title)
            return signal.SIGTERM if len(pages) == 5 else wait(timeout_s)
        if title == "PANEL":
            world.press(SWITCH)
        elif opened and opened[-1].kind == "sh1106":
            looked.append(title)
            if len(looked) == 30:  # for longer than a foot needs
                world.press(SWITCH, seconds)
        return wait(timeout_s)

    world.wait = foot
    running._devices = replace(running._devices, panel=panel)
    assert running.run() == "stopped"
    assert [choice.kind for choice in opened][:2] == ["ssd1306", "sh1106"]
    assert (opened[-1].kind, opened[-1].rotation) == (kind, 0)


# ---- what was found, and the settings


def test_a_setting_changed_since_then_is_what_the_player_wants(tmp_path):
    found_file(settings_in(tmp_path)).save({"audio.channel": "2", "switches.pins": "[22]"})
    assert with_found(settings_in(tmp_path)).audio.channel == 2
    later = with_found(settings_in(tmp_path, "audio: {channel: 3}"))
    assert (later.audio.channel, later.switches.pins) == (3, (22,))


@pytest.mark.parametrize(
    "word",
    ["[17, 17]", "[99]", "nonsense", "[17", "{a: b}", "&a [17]", "'", "", "\0", "!!python/object:os.system x"],
)
def test_what_is_damaged_changes_nothing(tmp_path, word):
    settings = settings_in(tmp_path)
    found_file(settings).save({"switches.pins": word, "audio.channel": "2"})
    found = with_found(settings)
    assert (found.switches.pins, found.audio.channel) == (settings.switches.pins, 2)


def test_what_fits_no_more_changes_nothing(tmp_path):
    """The lamp has been put where the set-up found a switch."""
    found_file(settings_in(tmp_path)).save({"switches.pins": "[22]"})
    with_lamp = settings_in(tmp_path, "lamp: {pin: 22}")
    assert with_found(with_lamp).switches.pins == (17, 27)


@pytest.mark.parametrize(
    "path", ["log.path", "state.folder", "audio.drone_ceiling_db", "takes.folder", "bands.true_cents"]
)
def test_nothing_else_can_be_set_from_there(tmp_path, path):
    settings = settings_in(tmp_path)
    found_file(settings).save({path: "0"})
    assert with_found(settings) == settings


def test_no_panel_is_retried_by_the_page_itself(world, tmp_path):
    """Nothing answers, then it does: no press is needed."""
    world_places = world.places
    machine, running = a_set_up(world, settings_in(tmp_path), elsewhere=MemoryScreen(), only="panel")
    answers = iter([(), (), world_places, world_places])
    running._devices = replace(running._devices, places=lambda: next(answers, world_places))
    player = Player(world, machine)
    assert running.run() == "over"
    assert "NO PANEL" in player.titles


def test_a_driver_that_hangs_is_left_behind(world, tmp_path, monkeypatch):
    hangs = threading.Event()
    monkeypatch.setattr("pedal.live.set_up.work.STOP_S", 0.01)
    machine, running = a_set_up(world, settings_in(tmp_path), only="input", waits=False)
    running._devices = replace(running._devices, inputs=lambda: hangs.wait() and ())
    try:
        assert running.run() == "forsaken"
    finally:
        hangs.set()
    assert running_module.TICK_S < 1


def test_an_input_that_fails_is_a_sentence_on_the_page(world, tmp_path):
    busy, wait = "USB Audio is busy: end the program that uses it", world.wait

    def fails(_choice):
        raise DeviceError(busy)

    def wait_for_the_sentence(timeout_s: float) -> int | None:
        came = wait(timeout_s)
        assert world.now_s < 10_000, "the sentence does not come"
        return signal.SIGTERM if machine.screen().lines == (busy,) else came

    world.wait = wait_for_the_sentence
    machine, running = a_set_up(world, settings_in(tmp_path), elsewhere=MemoryScreen(), only="level")
    running._devices = replace(running._devices, source=fails)
    assert running.run() == "stopped"


def test_an_input_that_was_busy_for_a_moment_is_heard_without_a_hand(world, tmp_path):
    devices, tries = world.devices(), []

    def source(choice):
        tries.append(choice)
        if len(tries) < 3:
            raise DeviceError("USB Audio is busy: end the program that uses it")
        return devices.source(choice)

    wait = world.wait

    def wait_for_a_level(timeout_s: float) -> int | None:
        came = wait(timeout_s)
        assert world.now_s < 2_000, "it is not tried again"
        return signal.SIGTERM if machine.screen().title == "GOOD" else came

    world.wait = wait_for_a_level
    machine, running = a_set_up(world, settings_in(tmp_path), elsewhere=MemoryScreen(), only="level")
    running._devices = replace(running._devices, source=source)
    assert running.run() == "stopped"
    assert len(tries) == 3
