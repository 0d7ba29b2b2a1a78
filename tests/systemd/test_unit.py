"""The service file: nothing to complain of, a sandbox that is safe on the manager's own scale, and what we promise."""

from __future__ import annotations

import configparser
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

UNIT = Path(__file__).resolve().parents[2] / "systemd/undertoe.service"
PROGRAM = "/opt/undertoe/current/bin/undertoe"
analyze = pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="no systemd-analyze on this machine")


def unit_with_a_program(tmp_path: Path, *, text: str | None = None) -> Path:
    """The unit as it would stand where the program is installed."""
    program = tmp_path / "undertoe"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    unit = tmp_path / UNIT.name
    unit.write_text((text or UNIT.read_text()).replace(PROGRAM, str(program)))
    return unit


def analyzed(*words: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "SYSTEMD_COLORS": "0", "LC_ALL": "C.UTF-8"}
    return subprocess.run(
        ["systemd-analyze", *words], capture_output=True, text=True, timeout=120, check=False, env=environment
    )


def complaints(unit: Path) -> str:
    done = analyzed("verify", "--man=no", str(unit))
    return done.stdout + done.stderr


@analyze
def test_the_service_manager_has_nothing_to_complain_of(tmp_path: Path) -> None:
    assert complaints(unit_with_a_program(tmp_path)) == ""


@analyze
def test_nothing_to_complain_of_in_the_governor_s_unit() -> None:
    assert complaints(UNIT.with_name("undertoe-governor.service")) == ""


@analyze
def test_a_misspelt_line_would_be_complained_of(tmp_path: Path) -> None:
    text = UNIT.read_text().replace("WatchdogSec", "WatchdogSek")
    assert "WatchdogSek" in complaints(unit_with_a_program(tmp_path, text=text))


def exposure(unit: Path) -> float:
    done = analyzed("security", "--offline=true", str(unit))
    return float(re.search(r"Overall exposure level for .*: ([0-9.]+)", done.stdout)[1])


@analyze
def test_the_exposure_is_at_most_one_of_ten(tmp_path: Path) -> None:
    assert exposure(unit_with_a_program(tmp_path)) <= 1.0


@analyze
def test_an_open_unit_would_be_exposed(tmp_path: Path) -> None:
    text = f"[Service]\nExecStart={PROGRAM}\n"
    assert exposure(unit_with_a_program(tmp_path, text=text)) > 9.0


def lines() -> dict[str, list[str]]:
    """Every key of the service section with all its values."""
    found: dict[str, list[str]] = {}
    for line in UNIT.read_text().split("[Service]")[1].split("[Install]")[0].splitlines():
        key, sign, value = line.partition("=")
        if sign and not line.startswith("#"):
            found.setdefault(key, []).append(value)
    return found


PROMISES = {
    "it says itself when it is ready": ("Type", "notify"),
    "the watchdog restarts it": ("Restart", "on-failure"),
    "memory has a ceiling": ("MemoryMax", "256M"),
    "real time has a ceiling": ("LimitRTPRIO", "20"),
    "no real-time thread runs on for ever": ("LimitRTTIME", "2s"),
    "there is no network": ("PrivateNetwork", "yes"),
    "it owns its state": ("StateDirectory", "undertoe"),
    "a hang-up reloads": ("ExecReload", "/bin/sh -c 'kill -HUP $MAINPID'"),
    "it is nobody in particular": ("User", "undertoe"),
}


@pytest.mark.parametrize(("key", "value"), PROMISES.values(), ids=PROMISES.keys())
def test_what_the_service_promises(key: str, value: str) -> None:
    assert lines()[key] == [value]


def test_the_devices_are_those_of_the_pedal_and_no_others() -> None:
    assert lines()["DeviceAllow"] == ["char-alsa rw", "char-i2c rw", "char-spi rw", "char-gpiochip rw"]
    assert lines()["DevicePolicy"] == ["closed"]


def test_the_command_of_the_service_is_one_that_the_program_understands() -> None:
    from pedal.cli.entry import _parser

    program, *words = lines()["ExecStart"][0].split()
    assert program == PROGRAM
    arguments = _parser(words).parse_args(words)
    assert (arguments.verb, arguments.wait) == ("live", True)
    assert arguments.config == Path("/etc/undertoe/undertoe.yaml")


def unit() -> configparser.ConfigParser:
    parsed = configparser.ConfigParser(strict=False, interpolation=None)
    parsed.read_string(UNIT.read_text())
    return parsed


def test_it_never_gives_up_and_bad_settings_end_nothing() -> None:
    """0 switches the limit off (systemd.unit(5)); a status that prevents a restart would leave a dark panel."""
    assert unit()["Unit"]["StartLimitIntervalSec"] == "0"
    assert "StartLimitBurst" not in unit()["Unit"]
    assert "RestartPreventExitStatus" not in lines()


def test_the_names_of_its_devices_are_there_before_it_starts() -> None:
    """ "char-NAME" is looked up in /proc/devices when the unit starts (systemd.resource-control(5), DeviceAllow=)."""
    assert "systemd-modules-load.service" in unit()["Unit"]["After"].split()
    modules = (UNIT.parent / "undertoe-modules.conf").read_text().splitlines()
    assert {"snd", "i2c-dev"} <= set(modules)


def test_no_other_unit_waits_for_a_sound_card() -> None:
    assert "sound.target" not in unit()["Unit"]["After"].split()
