"""What makes a card, keeps it, and shortens the start: each can be undone, and a bundle counts only with its digest."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest
import yaml

from pedal.settings.door import of_the_card
from pedal.settings.export import changes
from pedal.settings.load import load_over, loads, values_of

REPOSITORY = Path(__file__).resolve().parents[2]
INSTALL = REPOSITORY / "install"
SCRIPTS = [*INSTALL.glob("card/*.sh"), *(REPOSITORY / "tests/systemd").glob("*.sh")]
CONFIG = "dtparam=audio=on\ndtoverlay=vc4-kms-v3d\n"


@pytest.mark.skipif(shutil.which("shellcheck") is None, reason="no shellcheck on this machine")
@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_the_shell_checker_accepts_the_scripts(script: Path) -> None:
    done = subprocess.run(["shellcheck", script], capture_output=True, text=True, timeout=60, check=False)
    assert done.stdout == ""


class Machine:
    """A machine in a folder, with programs that say that we are root and what they were asked."""

    def __init__(self, folder: Path) -> None:
        self.root, self.bin = folder, folder / "bin"
        self.bin.mkdir()
        for name, text in {
            "id": "echo 0",
            "systemctl": f'case "$1" in is-enabled) grep -qx "$2" {folder}/enabled && echo enabled ;; '
            f'disable) sed -i "/^$3$/d" {folder}/enabled ;; enable) echo "$3" >>{folder}/enabled ;; esac',
            "dpkg": "echo arm64",
            "mkfs.ext4": f'echo "$@" >>{folder}/made; eval last=\\${{$#}}; touch "$last"',
        }.items():
            program = self.bin / name
            program.write_text(f"#!/bin/sh\n{text}\n")
            program.chmod(0o755)
        (folder / "etc").mkdir()
        (folder / "etc/fstab").write_text("PARTUUID=x-02 / ext4 defaults,noatime 0 1\n")
        (folder / "etc/initramfs-tools").mkdir()
        (folder / "var/lib/undertoe").mkdir(parents=True)
        self.boot = folder / "boot/firmware"
        self.boot.mkdir(parents=True)
        (self.boot / "config.txt").write_text(CONFIG)

    def run(self, script: str, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            ["sh", INSTALL / script, *words], capture_output=True, text=True, timeout=60, check=False,
            env={"PATH": f"{self.bin}:/usr/sbin:/usr/bin:/sbin:/bin", "DESTDIR": str(self.root), **more},
        )  # fmt: skip


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    return Machine(tmp_path)


def test_a_shorter_start_is_undone_to_the_letter(machine: Machine) -> None:
    enabled = machine.root / "enabled"
    enabled.write_text("bluetooth.service\nssh.service\napt-daily.timer\n")
    assert machine.run("quick_start.sh").returncode == 0
    assert enabled.read_text() == "ssh.service\n", "login stays"
    assert "dtoverlay=disable-bt" in (machine.boot / "config.txt").read_text()
    assert machine.run("quick_start.sh").returncode == 0, "again changes nothing"
    assert (machine.boot / "config.txt").read_text().count("disable-bt") == 1
    done = machine.run("quick_start.sh", "undo")
    assert done.returncode == 0
    assert sorted(enabled.read_text().split()) == ["apt-daily.timer", "bluetooth.service", "ssh.service"]
    assert (machine.boot / "config.txt").read_text() == CONFIG
    assert "nothing to undo" in machine.run("quick_start.sh", "undo").stdout


@pytest.mark.parametrize("added", ["", "dtparam=spi=on\n"])
def test_a_file_without_a_last_line_end_is_shortened_and_undone_to_the_letter(machine: Machine, added: str) -> None:
    """The fault: the mark went behind the last line, which said nothing any more, and no undoing found it."""
    config = machine.boot / "config.txt"
    config.write_text(CONFIG.rstrip("\n"))
    assert machine.run("quick_start.sh").returncode == 0
    assert config.read_text().startswith(f"{CONFIG}# undertoe quick start: begin\n")
    assert machine.run("quick_start.sh").returncode == 0, "again changes nothing"
    assert config.read_text().count("disable-bt") == 1
    config.write_text(config.read_text() + added)
    assert machine.run("quick_start.sh", "undo").returncode == 0
    assert config.read_text() == (CONFIG + added if added else CONFIG.rstrip("\n"))


def test_no_unit_that_a_login_or_the_pedal_needs_is_switched_off() -> None:
    units = re.search(r'units="(.*?)"', (INSTALL / "quick_start.sh").read_text(), re.DOTALL)
    assert units is not None
    kept = ("ssh", "NetworkManager.service", "wpa_supplicant", "systemd-udev", "getty", "undertoe", "fake-hwclock")
    assert not [unit for unit in units[1].split() if unit.startswith(kept)]


def test_the_card_is_kept_and_opened_again(machine: Machine) -> None:
    fstab = (machine.root / "etc/fstab").read_text()
    (machine.root / "var/lib/undertoe/log.sqlite").write_text("a log")
    done = machine.run("keep_card.sh", STATE_MB="1")
    assert (done.returncode, done.stderr) == (0, "")
    assert (machine.root / "etc/fstab").read_text() == fstab
    unit = (machine.root / "etc/systemd/system/undertoe-log.service").read_text()
    for option in ("loop", "data=journal", "commit=1", "nosuid", "nodev", "noexec"):
        assert re.search(rf"mount -t ext4 -o [^ ]*\b{option}\b", unit), option
    hook = machine.root / "etc/initramfs-tools/scripts/init-bottom/undertoe-overlay"
    assert os.access(hook, os.X_OK)
    kept = (machine.root / "etc/fstab.kept").read_text().splitlines()
    assert kept[0].startswith("#PARTUUID=x-02 / "), "nothing mounts the system's own root another way"
    assert subprocess.run(["sh", hook, "prereqs"], check=False).returncode == 0
    assert machine.run("keep_card.sh", STATE_MB="1").returncode == 0
    assert (machine.root / "made").read_text().count("undertoe-log") == 1, "again changes nothing"
    assert machine.run("keep_card.sh", "undo").returncode == 0
    assert (machine.root / "etc/fstab").read_text() == fstab
    assert not (machine.root / "etc/systemd/system/undertoe-log.service").exists()
    assert not hook.exists() and not (machine.root / "var/lib/undertoe.img").exists()
    assert (machine.root / "var/lib/undertoe/log.sqlite").read_text() == "a log"


def test_a_pedal_whose_log_is_gone_starts_all_the_same(machine: Machine) -> None:
    """Seen on an emulated machine: an entry in fstab made the service need the partition, and it stayed dark."""
    machine.run("keep_card.sh", STATE_MB="1")
    assert "/var/lib/undertoe" not in (machine.root / "etc/fstab").read_text()
    unit = machine.root / "etc/systemd/system/undertoe-log.service"
    assert "ExecStart=-/bin/sh -c" in unit.read_text(), "its failure is no failure"
    assert "Requires" not in (REPOSITORY / "systemd/undertoe.service").read_text()
    command = re.search(r"^ExecStart=-/bin/sh -c '(.*)'$", unit.read_text(), re.MULTILINE)
    assert command is not None
    assert subprocess.run(["sh", "-n", "-c", command[1].replace("$$", "$")], check=False).returncode == 0


def test_the_start_up_image_needs_no_more_than_a_start_up_image_has(machine: Machine) -> None:
    """Seen on an emulated machine: without busybox there is neither sed nor grep, and mount wants a device always."""
    machine.run("keep_card.sh", STATE_MB="1")
    hook = (machine.root / "etc/initramfs-tools/scripts/init-bottom/undertoe-overlay").read_text()
    commands = {line.split()[0] for line in hook.splitlines() if line and not line.startswith("#")}
    assert not commands & {"sed", "grep", "awk", "mv", "sync", "findmnt"}
    assert "| grep" not in hook and "if grep" not in hook
    assert all(len(line.split()) >= 5 for line in hook.splitlines() if "remount" in line)


def test_a_partition_that_is_none_is_never_formatted(machine: Machine) -> None:
    done = machine.run("keep_card.sh", STATE_PARTITION="/dev/null")
    assert (done.returncode, done.stderr) == (1, "undertoe: /dev/null is no partition\n")
    assert not (machine.root / "made").exists()


def test_what_is_asked_and_not_known_is_a_sentence(machine: Machine) -> None:
    done = machine.run("keep_card.sh", "maybe")
    assert (done.returncode, done.stderr) == (1, "undertoe: expected nothing, undo or status (got maybe)\n")


def first_run(
    machine: Machine, bundle: bytes, digest: str, release: str = "bookworm"
) -> subprocess.CompletedProcess[str]:
    """The script as make_card.sh writes it, in a folder that stands for the card, on a system of this name."""
    setup = machine.boot / "undertoe-setup"
    setup.mkdir(exist_ok=True)
    (setup / "bundle.tar").write_bytes(bundle)
    (machine.root / "etc/os-release").write_text(f"VERSION_CODENAME={release}\n")
    text = (INSTALL / "card/first-run.sh").read_text().replace("@DIGEST@", digest)
    for path in ("/etc/os-release", "/var/tmp", "/var/lib"):
        text = text.replace(path, f"{machine.root}{path}")
    (machine.root / "var/tmp").mkdir(exist_ok=True)
    (setup / "first-run.sh").write_text(text)
    return subprocess.run(
        ["sh", setup / "first-run.sh"], capture_output=True, text=True, timeout=60, check=False,
        env={"PATH": f"{machine.bin}:/usr/sbin:/usr/bin:/sbin:/bin"},
    )  # fmt: skip


def test_a_bundle_that_is_not_the_one_is_not_opened(machine: Machine) -> None:
    """Security, and bad cards: nothing is unpacked, nothing is changed, and any computer can read why."""
    done = first_run(machine, b"another", hashlib.sha256(b"the one").hexdigest())
    assert done.returncode == 1
    assert "bundle.tar is damaged, or not the one" in (machine.boot / "undertoe-setup/result.txt").read_text()
    assert (machine.boot / "config.txt").read_text() == CONFIG
    assert not (machine.root / "var/tmp/undertoe-setup").exists()


def test_another_system_is_refused_by_name(machine: Machine) -> None:
    assert first_run(machine, b"", "", "bullseye").returncode == 1
    assert "it found bullseye on arm64" in (machine.boot / "undertoe-setup/result.txt").read_text()


def test_a_fault_does_not_come_round_for_ever(machine: Machine) -> None:
    addition = (INSTALL / "card/cmdline-addition.txt").read_text().rstrip("\n")
    (machine.boot / "cmdline.txt").write_text(f"console=tty1 root=PARTUUID=x rootwait{addition}\n")
    assert first_run(machine, b"", "wrong").returncode == 1
    assert (machine.boot / "cmdline.txt").read_text() == "console=tty1 root=PARTUUID=x rootwait\n"


def test_the_first_start_is_asked_for_in_the_systems_own_words() -> None:
    """`cloud-init schema --config-file` of 22.4 (Debian 12) found it valid; here, that it runs what is there."""
    text = (INSTALL / "card/user-data.in").read_text()
    assert text.startswith("#cloud-config\n")
    asked = yaml.safe_load(text)
    assert asked["runcmd"] == [["sh", "/boot/firmware/undertoe-setup/first-run.sh"]]
    assert asked["power_state"]["mode"] == "reboot"
    assert "users" not in asked and asked["ssh_pwauth"] is False


def test_the_settings_that_a_card_begins_with_change_nothing_and_all_that_they_name_counts() -> None:
    text = (INSTALL / "card/undertoe.yaml").read_text()
    assert changes(loads(text), loads("")) == []
    open_lines = "\n".join(line.removeprefix("#") for line in text.splitlines() if not line.startswith("# "))
    load_over(values_of(None), open_lines, name="undertoe.yaml", refused=of_the_card)


def test_what_makes_a_card_mounts_nothing_where_others_see_it() -> None:
    """Seen: a link to /proc in an unpacked system, and with its unmounting the machine's own /proc was gone."""
    script = (INSTALL / "make_card.sh").read_text()
    assert script.index("exec unshare --mount --propagation private") < script.index("mount -t")
    assert '[ ! -L "$root/proc" ] || rm "$root/proc"' in script


def test_the_emulated_machine_removes_no_folder_of_this_one() -> None:
    """Seen: a run was killed and left this machine's folders bound below the one that the next run removes."""
    script = (REPOSITORY / "tests/systemd/machine.sh").read_text()
    assert script.index("exec unshare --mount --propagation private") < script.index("mount --rbind")
    assert script.index('[ -z "$(mounted)" ] ||') < script.index('rm -rf "$work"')


def test_no_index_is_asked_where_a_bundle_is_there() -> None:
    script = (INSTALL / "install.sh").read_text()
    assert 'pip="$pip --no-index --find-links $bundle/wheels"' in script
    for line in script.splitlines():
        if '-r "$bundle' in line:
            assert "--require-hashes" in line and "--only-binary :all:" in line, line
