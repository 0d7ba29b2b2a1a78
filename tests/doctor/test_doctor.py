"""The doctor: findings have marks and remedies, the status follows from them, and nothing brings it down."""

from __future__ import annotations

import json
import os
import re
import resource
import sqlite3
import threading
import tomllib
from collections.abc import Iterator
from functools import partial
from importlib import metadata
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pedal.cli.entry import main
from pedal.doctor import interactive_checks, panel, service, sound, storage, system
from pedal.doctor.finding import Finding, as_json, as_lines, look_apart, look_safely, summary
from pedal.doctor.machine import Machine
from pedal.errors import DeviceError
from pedal.log import open_store
from pedal.log.schema import APPLICATION_ID, VERSION
from pedal.ports import Block, PinLibrary, SoundDevice, StreamFacts
from pedal.settings.load import load, loads
from pedal.settings.parts import Settings


def machine(root: Path, **facts) -> Machine:
    return Machine(**{"root": root, "environment": {}, "groups": frozenset(), **facts})


def place(root: Path, name: str, content: bytes = b"") -> Path:
    path = root / name.lstrip("/")
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return path


def only(findings) -> Finding:
    (finding,) = findings
    return finding


def settings_in(tmp_path: Path, text: str = "") -> Settings:
    return loads(text, environment={"HOME": str(tmp_path)})


# ---- versions and access


def test_every_library_is_named_with_its_version() -> None:
    found = {finding.part: finding for finding in system.versions()}
    assert found["numpy"] == Finding("numpy", "ok", np.__version__)
    project = tomllib.loads((Path(__file__).resolve().parents[2] / "pyproject.toml").read_text())["project"]
    needed = {re.split(r"[<>=]", one)[0] for one in project["dependencies"]}
    assert {name.lower() for name in found} == {"python", *needed}


def test_a_library_that_is_not_there_is_missing_with_a_remedy(monkeypatch: pytest.MonkeyPatch) -> None:
    def absent(name: str) -> str:
        raise metadata.PackageNotFoundError(name)

    monkeypatch.setattr(system.metadata, "version", absent)
    found = [finding for finding in system.versions() if finding.part != "python"]
    assert [finding.mark for finding in found] == ["missing"] * 8
    assert all("pip install" in finding.remedy for finding in found)


@pytest.mark.parametrize(("governor", "mark"), [("performance", "ok"), ("powersave", "warn"), ("ondemand", "warn")])
def test_a_sleepy_governor_is_warned_about(tmp_path: Path, governor: str, mark: str) -> None:
    place(tmp_path, "/sys/devices/system/cpu/cpu0/cpufreq/scaling_governor", f"{governor}\n".encode())
    assert only(system.clock(machine(tmp_path))).mark == mark


def test_a_machine_without_a_governor_says_nothing(tmp_path: Path) -> None:
    assert list(system.clock(machine(tmp_path))) == []


def test_devices_that_are_not_there_are_missing(tmp_path: Path) -> None:
    found = {finding.part: finding for finding in system.devices(machine(tmp_path), load(None))}
    assert {part: finding.mark for part, finding in found.items()} == {
        "/dev/i2c-1": "missing", "/dev/gpiochip0": "missing",
    }  # fmt: skip
    assert "dtparam=i2c_arm=on" in found["/dev/i2c-1"].remedy
    assert "undertoe demo" in found["/dev/gpiochip0"].remedy


def test_devices_that_are_not_asked_for_are_not_looked_at(tmp_path: Path) -> None:
    settings = settings_in(tmp_path, "display: {kind: none}\nswitches: {pins: []}")
    assert list(system.devices(machine(tmp_path), settings)) == []


def test_an_spi_panel_asks_for_the_spi_device(tmp_path: Path) -> None:
    settings = settings_in(tmp_path, "display: {bus: spi}\nswitches: {pins: []}")
    bus, *_ = system.devices(machine(tmp_path), settings)
    assert (bus.part, bus.mark) == ("/dev/spidev0.0", "missing")


@pytest.mark.parametrize(("found", "mark"), [(None, "missing"), (object(), "ok")])
def test_an_spi_panel_asks_for_the_library_of_spi(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, found: object, mark: str
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: found if name == "spidev" else None)
    settings = settings_in(tmp_path, "display: {bus: spi}\nswitches: {pins: []}")
    _, library, *_ = system.devices(machine(tmp_path), settings)
    assert (library.part, library.mark) == ("spidev", mark)
    assert ("-m pip install spidev" in library.remedy) == (mark == "missing")


@pytest.mark.parametrize(
    ("groups", "remedy"), [(frozenset(), "usermod -aG gpio USER"), (frozenset({"gpio"}), "look at its udev rule")]
)
def test_a_closed_device_names_its_group(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, groups, remedy) -> None:
    place(tmp_path, "/dev/gpiochip0")
    monkeypatch.setattr(system.os, "access", lambda path, mode: False)
    settings = settings_in(tmp_path, "display: {kind: none}")
    finding = only(system.devices(machine(tmp_path, groups=groups), settings))
    assert finding.mark == "missing"
    assert remedy in finding.remedy


@pytest.mark.parametrize(("limit", "mark"), [(0, "warn"), (19, "warn"), (20, "ok"), (resource.RLIM_INFINITY, "ok")])
def test_the_real_time_limit(limit: int, mark: str) -> None:
    assert only(system.real_time(limit)).mark == mark


# ---- sound


class Tape:
    """A source whose clock advances with its blocks, so that it runs at any true rate without waiting."""

    def __init__(
        self, label_hz: int, true_hz: float, *, peak: float = 0.5, overflows: int = 0, lost: int = 0, length: int = 9**9
    ) -> None:
        self.lost = lost
        self.label_hz, self.true_hz, self.peak, self.overflows, self.left = label_hz, true_hz, peak, overflows, length
        self.time_s, self.closed = 0.0, False

    def open(self) -> StreamFacts:
        return StreamFacts("tape", self.label_hz, 128, 1)

    def read(self) -> Block | None:
        self.time_s += (128 + self.lost) / self.true_hz
        self.left -= 1
        if self.left < 0:
            raise DeviceError("the audio input stopped (gone): plug it in again")
        return Block(np.full(128, self.peak, np.float32), self.lost, self.overflows)

    def close(self) -> None:
        self.closed = True

    def clock(self) -> float:
        return self.time_s


def heard(tape: Tape) -> list[Finding]:
    found = list(sound.input_in_use(tape, load(None), tape.clock))
    assert tape.closed
    return found


def heard_of(part: str, tape: Tape) -> Finding:
    return next(finding for finding in heard(tape) if finding.part == part)


def test_a_true_rate_is_ok() -> None:
    assert [finding.mark for finding in heard(Tape(48_000, 48_000))] == ["ok", "ok", "ok"]
    level = heard_of("input level", Tape(48_000, 48_000))
    assert level == Finding("input level", "ok", "peak -6 dBFS in a second")


@pytest.mark.parametrize(
    ("label_hz", "true_hz", "words"),
    # 1200 log2(48000 / 44100) = 146.7 cents.
    [(48_000, 44_100, "+147 cents"), (44_100, 48_000, "-147 cents"), (48_000, 24_000, "+1200 cents")],
)
def test_a_wrong_label_is_told_in_cents(label_hz: int, true_hz: int, words: str) -> None:
    finding = only(f for f in heard(Tape(label_hz, true_hz)) if "cents" in f.fact)
    assert finding.mark == "missing"
    assert words in finding.fact


@pytest.mark.parametrize("ppm", [-1000, -100, 100, 1000])
def test_the_drift_of_a_crystal_is_no_wrong_label(ppm: int) -> None:
    assert heard_of("input rate", Tape(48_000, 48_000 * (1 + ppm * 1e-6))).mark == "ok"


def test_lost_samples_do_not_make_the_rate_look_wrong() -> None:
    assert heard_of("input rate", Tape(48_000, 48_000, lost=16, overflows=1)).mark == "ok"


def test_another_rate_than_asked_is_told_and_the_level_and_losses_too() -> None:
    warnings = [f for f in heard(Tape(44_100, 44_100, peak=1.0, overflows=1)) if f.mark == "warn"]
    assert [f.part for f in warnings] == ["input rate", "input flow", "input level"]
    assert warnings[0].remedy.startswith("set audio.rate_hz to 44100")


def test_silence_is_no_fault_but_has_advice() -> None:
    finding = heard_of("input level", Tape(48_000, 48_000, peak=0.0))
    assert finding.mark == "ok"
    assert "play while the doctor listens" in finding.remedy


def test_a_device_that_is_lost_while_it_is_heard_is_closed_and_told() -> None:
    tape = Tape(48_000, 48_000, length=200)
    found = look_safely("input in use", partial(sound.input_in_use, tape, load(None), tape.clock))
    assert only(found) == Finding("input in use", "missing", "the audio input stopped (gone)", "plug it in again")
    assert tape.closed


def test_devices_are_listed_and_their_absence_is_told() -> None:
    duplex = SoundDevice(2, "an interface", 2, 2, 48_000, is_default_input=True)
    assert only(sound.devices([duplex])).fact == "an interface: 2 in, 2 out, 48000 Hz, default input"
    assert [finding.mark for finding in sound.devices([])] == ["missing", "warn"]


# ---- the panel and its bus


def bus_at(root: Path, clock_hz: int | None) -> Machine:
    place(root, "/dev/i2c-1")
    if clock_hz is not None:
        place(root, "/sys/class/i2c-adapter/i2c-1/of_node/clock-frequency", clock_hz.to_bytes(4, "big"))
    return machine(root)


@pytest.mark.parametrize(
    ("clock_hz", "mark", "words"),
    # 1034 bytes of 9 clocks each (I2C): 93 ms at 100 kHz, 23 ms at 400 kHz.
    [
        (100_000, "warn", "93.1 ms"),
        (None, "warn", "100 kHz (assumed)"),
        (400_000, "ok", "23.3 ms"),
        (1_000_000, "ok", "9.3 ms"),
    ],
)
def test_the_frame_time_of_the_bus(tmp_path: Path, clock_hz: int | None, mark: str, words: str) -> None:
    found = {f.part: f for f in panel.panel(bus_at(tmp_path, clock_hz), load(None), lambda port, address: True)}
    assert found["panel"].mark == "ok"
    assert found["panel bus"].mark == mark
    assert words in found["panel bus"].fact
    assert ("i2c_arm_baudrate=400000" in found["panel bus"].remedy) == (mark == "warn")


def asked_of(part: str, here: Machine, answers, settings: Settings | None = None) -> Finding:
    return next(f for f in panel.panel(here, settings or load(None), answers) if f.part == part)


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("display: {panel_height_mm: 27.5}", "ok"),  # 2.42 inch from 1.6 m: 22 rows for 20 minutes of arc
        ("display: {panel_height_mm: 10.9}", "warn"),
        ("display: {panel_height_mm: 10.9, distance_m: 0.5}", "ok"),
        ("display: {panel_height_mm: 10.9, density: close}", "ok"),
    ],
)
def test_a_panel_too_small_for_where_the_player_stands(tmp_path: Path, text: str, mark: str) -> None:
    finding = asked_of("legibility", machine(tmp_path), lambda *_: True, settings_in(tmp_path, text))
    assert (finding.mark, bool(finding.remedy)) == (mark, mark == "warn")


def test_a_silent_panel_and_one_at_the_other_address(tmp_path: Path) -> None:
    here = bus_at(tmp_path, 400_000)
    silent = asked_of("panel", here, lambda port, address: False)
    assert (silent.mark, "four wires" in silent.remedy) == ("missing", True)
    other = asked_of("panel", here, lambda port, address: address == 0x3D)
    assert (other.mark, other.remedy) == ("missing", "set display.i2c_address to 0x3D")


def test_an_spi_panel_and_none(tmp_path: Path) -> None:
    spi = asked_of("panel bus", machine(tmp_path), lambda *_: False, settings_in(tmp_path, "display: {bus: spi}"))
    assert spi.fact == "SPI at 8 MHz: a frame in 1.0 ms"
    none = only(panel.panel(machine(tmp_path), settings_in(tmp_path, "display: {kind: none}"), lambda *_: False))
    assert none == Finding("panel", "ok", "none is configured")


# ---- pins


@pytest.mark.parametrize(("name", "mark"), [("lgpio", "ok"), ("mock", "warn"), ("native", "warn")])
def test_the_pin_library_in_use_is_named(tmp_path: Path, name: str, mark: str) -> None:
    assert list(system.pins(machine(tmp_path), load(None), lambda: PinLibrary(name, "a board")))[-1].mark == mark


def test_a_pin_library_other_than_the_one_asked_for(tmp_path: Path) -> None:
    asked = machine(tmp_path, environment={"GPIOZERO_PIN_FACTORY": "lgpio"})
    last = list(system.pins(asked, load(None), lambda: PinLibrary("native", "a board")))[-1]
    assert last.fact == "lgpio was asked for, native is in use"


@pytest.mark.parametrize(("version", "mark"), [("0.0.0.2", "missing"), ("0.2.2.0", "ok")])
def test_the_empty_lgpio_package_is_known(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, version, mark) -> None:
    monkeypatch.setattr(system.metadata, "version", lambda name: version)
    first = next(system.pins(machine(tmp_path), load(None), lambda: PinLibrary("lgpio", "a board")))
    assert (first.part, first.mark) == ("lgpio", mark)


def test_the_real_pin_library_of_this_machine_is_a_finding(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    import gpiozero

    from pedal.wiring import pin_library

    monkeypatch.setattr(gpiozero.Device, "pin_factory", None)
    monkeypatch.setenv("GPIOZERO_PIN_FACTORY", "mock")
    assert pin_library().name == "mock"
    gpiozero.Device.pin_factory.close()


def test_without_pins_in_the_settings_no_library_is_asked(tmp_path: Path) -> None:
    def never() -> PinLibrary:
        raise AssertionError

    finding = only(system.pins(machine(tmp_path), settings_in(tmp_path, "switches: {pins: []}"), never))
    assert finding.mark == "ok"


@pytest.mark.parametrize("display", ["{bus: spi}", "{i2c_reset_pin: 4}"])
def test_a_panel_with_lines_of_its_own_needs_the_pin_library(tmp_path: Path, display: str) -> None:
    """The fault: without switches and lamp all was "ok", and the panel stayed dark for want of that library."""
    settings = settings_in(tmp_path, f"switches: {{pins: []}}\ndisplay: {display}")

    def missing() -> PinLibrary:
        raise DeviceError("no pin library works here")

    with pytest.raises(DeviceError):
        list(system.pins(machine(tmp_path), settings, missing))
    looked_at = {finding.part for finding in system.devices(machine(tmp_path), settings)}
    assert "/dev/gpiochip0" in looked_at


# ---- storage and service


def test_room_that_is_there(tmp_path: Path) -> None:
    found = {f.part: f for f in storage.storage(settings_in(tmp_path))}
    assert {part: f.mark for part, f in found.items()} == {"state folder": "ok", "free space": "ok", "log": "ok"}
    assert list(tmp_path.iterdir()) == [], "the doctor makes nothing"


def test_a_file_in_the_way_of_the_state_folder(tmp_path: Path) -> None:
    place(tmp_path, ".local/state")
    assert next(storage.storage(settings_in(tmp_path))).mark == "missing"


def test_a_folder_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(storage.os, "access", lambda path, mode: False)
    finding = next(storage.storage(settings_in(tmp_path)))
    assert (finding.mark, "chown" in finding.remedy) == ("missing", True)


def test_a_full_disk_is_warned_about(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = storage.shutil.disk_usage(tmp_path)
    monkeypatch.setattr(storage.shutil, "disk_usage", lambda path: usage._replace(free=99_000_000))
    found = {f.part: f for f in storage.storage(settings_in(tmp_path))}
    assert found["free space"].mark == "warn"


def test_a_sound_log_a_damaged_one_and_a_full_one(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    open_store(log).close()
    text = f"log: {{path: '{log}', max_mb: 1}}"

    def of_the_log() -> Finding:
        return next(f for f in storage.storage(settings_in(tmp_path, text)) if f.part == "log")

    assert of_the_log().mark == "ok"
    with log.open("ab") as file:
        file.write(bytes(950_000))
    assert "nearly full" in of_the_log().fact
    log.write_bytes(b"no database at all, but long enough to be looked at" * 100)
    assert (of_the_log().mark, "damaged" in of_the_log().fact) == ("warn", True)


def test_a_log_that_is_none_of_ours_is_not_read_and_the_remedy_is_not_to_do_nothing(tmp_path: Path) -> None:
    """Another program's, a newer one's, a hostile one (a view without an end), a pipe: what `live` would refuse."""
    views = "CREATE VIEW entry AS WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x FROM n) SELECT x FROM n"
    ours = f"PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = "
    scripts = {
        "belongs to another program": "CREATE TABLE note (x)",
        "newer Undertoe": f"CREATE TABLE note (x); {ours} 99",
        "not built like a log": f"{views}; {ours} {VERSION}",
    }
    for number, (words, script) in enumerate(scripts.items()):
        log = tmp_path / f"log-{number}.sqlite"
        file = sqlite3.connect(log)
        file.executescript(script)
        file.close()
        found = storage.storage(settings_in(tmp_path, f"log: {{path: '{log}'}}"))
        (finding,) = [f for f in found if f.part == "log"]
        assert finding.mark == "missing"
        assert words in finding.fact
        assert "log.path" in finding.remedy
    os.mkfifo(tmp_path / "pipe")
    found = storage.storage(settings_in(tmp_path, f"log: {{path: '{tmp_path / 'pipe'}'}}"))
    assert next(f for f in found if f.part == "log").mark == "missing"


def test_a_finding_is_as_clean_as_json_as_it_is_in_lines() -> None:
    """Names of cards and files come from elsewhere."""
    hostile = Finding("sound", "warn", "input \u202egnp.exe\x9b2J", "name it \x1b[2J otherwise")
    (told,) = json.loads(as_json([hostile]))
    assert told == {"part": "sound", "mark": "warn", "fact": "input ?gnp.exe?2J", "remedy": "name it ?[2J otherwise"}


def test_a_good_file_no_file_and_a_wrong_file(tmp_path: Path) -> None:
    good = place(tmp_path, "good.yaml", b"capo: 2")
    assert service.settings_in_use(good)[0].capo == 2
    assert only(service.settings_in_use(None)[1]).mark == "ok"
    used, found = service.settings_in_use(place(tmp_path, "wrong.yaml", b"capo: x\nfrets: y"))
    assert [f.mark for f in found] == ["missing", "missing"]
    assert used == load(None)


def test_a_service_that_is_absent_asleep_and_enabled(tmp_path: Path) -> None:
    assert "by hand" in only(service.service(machine(tmp_path))).fact
    unit = place(tmp_path, "/etc/systemd/system/undertoe.service")
    assert only(service.service(machine(tmp_path))).remedy == "systemctl enable --now undertoe"
    wants = tmp_path / "etc/systemd/system/multi-user.target.wants"
    wants.mkdir()
    (wants / "undertoe.service").symlink_to(unit)
    watched = machine(tmp_path, environment={"NOTIFY_SOCKET": "/run/x", "WATCHDOG_USEC": "5000000"})
    assert [f.fact for f in service.service(watched)] == ["starts by itself", "listens to this process, watchdog 5 s"]


# ---- by hand


class Canvas:
    """A screen that keeps its pictures."""

    delay_s = 0.0

    def __init__(self, *, breaks: bool = False) -> None:
        self.pictures: list[Image.Image] = []
        self.closed, self._breaks = False, breaks

    def show(self, bitmap: Image.Image) -> None:
        if self._breaks:
            raise DeviceError("the panel does not answer: check its wires")
        self.pictures.append(bitmap)

    def dim(self, share: float) -> None: ...

    def close(self) -> None:
        self.closed = True


@pytest.mark.parametrize("size", ["128x64", "128x32"])
def test_the_panel_is_shown_every_dot_and_its_edges(tmp_path: Path, size: str) -> None:
    canvas, said = Canvas(), []
    display = settings_in(tmp_path, f"display: {{size: {size}}}").display
    ticks = iter([1.0, 1.5])
    found = only(
        interactive_checks.try_panel(canvas, display, said.append, wait=lambda s: None, now_s=lambda: next(ticks))
    )
    assert found.fact == "7 shown; a full frame takes 50.0 ms, measured"
    assert len(said) == 7
    lit, frame = (np.asarray(picture) for picture in canvas.pictures[:2])
    assert lit.shape == (display.height, 128)
    assert lit.all()
    assert frame[0].all()
    assert frame[-1].all()
    assert frame[:, 0].all()
    assert frame[:, -1].all()
    timed = [np.asarray(picture) for picture in canvas.pictures[-interactive_checks.FRAMES :]]
    assert all((a != b).all() for a, b in zip(timed, timed[1:], strict=False))
    assert canvas.closed


def test_the_panel_is_shown_its_pictures_as_the_pedal_would_show_them(tmp_path: Path) -> None:
    """Else the arrow points down on a panel that is right, and the builder turns it."""
    plain, turned = Canvas(), Canvas()
    for canvas, words in ((plain, ""), (turned, "rotation: 180, inverse: true")):
        display = settings_in(tmp_path, f"display: {{{words}}}").display
        only(interactive_checks.try_panel(canvas, display, lambda words: None, wait=lambda s: None))
    pairs = list(zip(plain.pictures, turned.pictures, strict=True))[: -interactive_checks.FRAMES]
    assert len(pairs) == 7
    for own, shown in pairs:
        assert np.array_equal(np.asarray(shown), ~np.asarray(own)[::-1, ::-1])


def test_a_panel_that_stops_is_let_go(tmp_path: Path) -> None:
    canvas = Canvas(breaks=True)
    found = look_safely("panel", lambda: interactive_checks.try_panel(canvas, load(None).display, lambda words: None))
    assert (only(found).mark, only(found).remedy) == ("missing", "check its wires")
    assert canvas.closed


class Foot:
    """Switches whose edges are written down beforehand."""

    def __init__(self, *edges: tuple[float, int, bool]) -> None:
        self.edges, self.closed = edges, False

    def open(self, edge) -> None:
        for one in self.edges:
            edge(*one)

    def close(self) -> None:
        self.closed = True


def test_each_switch_that_was_pressed_is_ok_and_a_worn_one_is_warned_about() -> None:
    said: list[str] = []
    foot = Foot(
        (1.0, 1, True), (1.002, 1, False), (1.004, 1, True), (1.5, 1, False),
        (2.0, 2, True), (2.01, 2, False), (2.03, 2, True), (2.6, 2, False),
    )  # fmt: skip
    found = list(interactive_checks.try_switches(foot, (17, 27), said.append))
    assert [f.mark for f in found] == ["ok", "warn"]
    assert "4.0 ms" in found[0].fact
    assert "30 ms" in found[1].fact
    assert said[1:] == ["Switch 1 (GPIO 17) pressed.", "Switch 2 (GPIO 27) pressed."]
    assert foot.closed


def test_a_switch_that_never_came_and_one_that_stayed_down(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(interactive_checks, "PATIENCE_S", 0.01)
    foot = Foot((1.0, 1, True))
    found = list(interactive_checks.try_switches(foot, (17, 27), lambda words: None))
    assert [f.mark for f in found] == ["missing", "missing"]
    assert "did not come up" in found[0].fact
    assert "no press came on GPIO 27" in found[1].fact


# ---- whatever breaks


def broken() -> Iterator[Finding]:
    yield Finding("first", "ok", "before it broke")
    raise ImportError("libsomething.so: cannot open\nsecond line")


def aborting() -> Iterator[Finding]:
    os.abort()
    yield


def silent() -> Iterator[Finding]:
    threading.Event().wait()
    yield


def test_a_look_that_breaks_is_a_finding_of_one_line() -> None:
    first, second = look_safely("sound", broken)
    assert first.fact == "before it broke"
    assert second.mark == "missing"
    assert "libsomething.so" in second.fact
    assert "\n" not in second.fact


def test_a_library_that_aborts_takes_only_itself_along() -> None:
    finding = only(look_apart("sound", aborting))
    assert (finding.mark, finding.fact) == ("missing", "died while it was asked (status -6)")


def test_a_library_that_never_answers_is_given_up() -> None:
    finding = only(look_apart("sound", silent, patience_s=1.0))
    assert (finding.mark, finding.fact) == ("missing", "does not answer within 1 s")


def test_a_look_apart_brings_its_findings_home() -> None:
    assert look_apart("python", system.versions) == list(system.versions())


# ---- the report and the command


def test_lines_and_summary() -> None:
    found = [Finding("a", "ok", "fine"), Finding("b", "warn", "slow", "hurry")]
    found.append(Finding("c", "missing", "gone", "find it"))
    assert as_lines(found)[1:3] == ["warn     b                slow", " " * 26 + "-> hurry"]
    assert summary(found[:1]) == "All that the settings ask for works."
    assert summary(found[:2]) == "All that the settings ask for works; 1 thing could be better."
    assert summary(found) == "1 thing of what the settings ask for is missing; 1 thing could be better."
    assert json.loads(as_json(found))[2] == {
        "part": "c",
        "mark": "missing",
        "fact": "gone",
        "remedy": "find it",
    }


@pytest.fixture
def bare(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A home of its own, and no sound server to hear."""
    monkeypatch.setenv("HOME", str(tmp_path))
    for name in ("XDG_STATE_HOME", "XDG_CONFIG_HOME", "STATE_DIRECTORY", "GPIOZERO_PIN_FACTORY"):
        monkeypatch.delenv(name, raising=False)
    return tmp_path


def test_the_command_ends_with_1_when_something_is_missing_and_says_it_as_json(bare: Path, capsys) -> None:
    wrong = place(bare, "wrong.yaml", b"capo: x")
    status = main(["doctor", "--no-listen", "--json", "--config", str(wrong)])
    told = capsys.readouterr()
    found = json.loads(told.out)
    assert status == 1
    assert found[0]["fact"].startswith(f"{wrong}:1: capo: expected")
    assert "Traceback" not in told.out + told.err


def test_the_command_never_shows_a_traceback_here(bare: Path, capsys) -> None:
    status = main(["doctor"])
    told = capsys.readouterr()
    assert status in (0, 1)
    assert "Traceback" not in told.out + told.err
    assert told.out.splitlines()[-1].startswith("All that" if status == 0 else tuple("123456789"))


def test_a_panel_that_is_not_there_is_told_and_not_looked_at(bare: Path, capsys) -> None:
    """The fault: "cannot be looked at (ValueError: chip must be ...): install the pedal anew"."""
    config = place(bare, "none.yaml", b"switches: {pins: []}\ndisplay: {kind: none}\n")
    main(["doctor", "--no-listen", "--panel", "--json", "--config", str(config)])
    found = [one for one in json.loads(capsys.readouterr().out) if one["part"] == "panel"]
    assert [one["fact"] for one in found] == ["none is configured", "there is no panel to try"]
    assert found[1]["remedy"] == "set display.kind in the settings"


def test_switches_without_pins_are_told(bare: Path, capsys) -> None:
    config = place(bare, "none.yaml", b"switches: {pins: []}\ndisplay: {kind: none}\n")
    assert main(["doctor", "--no-listen", "--switches", "--config", str(config)]) == 1
    assert "there are no switches to press" in capsys.readouterr().out
