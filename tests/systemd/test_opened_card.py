"""What a kept card gives back when it is opened, also where no folder stands before the paths, as on a real machine."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

INSTALL = Path(__file__).resolve().parents[2] / "install"
STATE, IMAGE, UNIT = "var/lib/undertoe", "var/lib/undertoe.img", "etc/systemd/system/undertoe-log.service"
HOOK = "etc/initramfs-tools/scripts/init-bottom/undertoe-overlay"
OLDER = "var/lib/undertoe.back"  # what the script once left when it failed half-way

# What is mounted covers a folder, which stands beside it here until it is uncovered.
PROGRAMS = {
    "id": "echo 0",
    "sync": "true",
    "update-initramfs": "[ ! -e {root}/no-room-in-boot ]",
    "findmnt": "[ -e {root}/covered ] && echo /dev/loop7",
    "blkid": "case $* in *PTTYPE*) [ ! -e {root}/partitioned ] || echo dos ;; *TYPE*) ;; *) echo undertoe-log ;; esac",
    "mount": 'echo "mount $*" >>{root}/asked',
    "umount": "[ ! -e {root}/busy ] || {{ echo 'umount: target is busy.' >&2; exit 32; }}\n"
    "mv {root}/{state} {root}/unmounted && mv {root}/covered {root}/{state}",
    "systemctl": 'echo "systemctl $*" >>{root}/asked\ncase $* in *is-active*) [ ! -e {root}/stopped ] ;; '
    "*is-enabled*) [ ! -e {root}/never ] ;; 'stop undertoe') touch {root}/stopped ;; "
    "'start --no-block undertoe') rm -f {root}/stopped ;; esac",
    "mkfs.ext4": 'echo "the file system is full" >&2; exit 1',
}


class KeptCard:
    """A machine in a folder whose card is open for this start: the log on its own file system, an old one below."""

    def __init__(self, root: Path) -> None:
        self.root = root
        (root / "bin").mkdir()
        for name, text in PROGRAMS.items():
            program = root / "bin" / name
            program.write_text(f"#!/bin/sh\n{text.format(root=root, state=STATE)}\n")
            program.chmod(0o755)
        for folder in ("run/systemd/system", "proc", "etc/undertoe", "etc/initramfs-tools", f"{UNIT}/..", f"{HOOK}/.."):
            (root / folder).resolve().mkdir(parents=True, exist_ok=True)
        self.write("proc/mounts", "/dev/mmcblk0p2 / ext4 rw 0 0\n")
        self.write("etc/fstab", "PARTUUID=x-02 / ext4 defaults 0 1\n")
        for path in ("etc/fstab.kept", "etc/undertoe/card-is-open", UNIT, HOOK, IMAGE):
            self.write(path, "kept")
        self.write(f"{STATE}/log.sqlite", "the log")
        self.write(f"{STATE}/takes/one.flac", "a take")
        self.write("covered/log.sqlite", "the log as it was before the card was kept")

    def write(self, path: str, text: str) -> None:
        (self.root / path).parent.mkdir(parents=True, exist_ok=True)
        (self.root / path).write_text(text)

    def read(self, path: str) -> str:
        return (self.root / path).read_text()

    def has(self, path: str) -> bool:
        return (self.root / path).exists()

    def run(self, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
        """The script as it is, without DESTDIR, its paths in this folder; a file stands for a block device."""
        for script in ("keep_card.sh", "kept.sh"):
            text = (INSTALL / script).read_text()
            for path in ("/etc/", "/var/lib", "/run/", "/proc/"):
                text = text.replace(path, f"{self.root}{path}")
            self.write(script, text.replace("[ -b ", "[ -e "))
        return subprocess.run(
            ["sh", self.root / "keep_card.sh", *words], capture_output=True, text=True, timeout=60, check=False,
            env={"PATH": f"{self.root / 'bin'}:/usr/bin:/bin", **more},
        )  # fmt: skip

    def asked(self) -> list[str]:
        return self.read("asked").splitlines() if self.has("asked") else []


@pytest.fixture
def card(tmp_path: Path) -> KeptCard:
    return KeptCard(tmp_path)


def test_an_opened_card_has_its_log_and_takes_back_and_the_pedal_plays(card: KeptCard) -> None:
    """The fault: an empty DESTDIR ended it half-way ("root: parameter not set or null"), and the pedal stayed dark."""
    done = card.run("undo")
    assert (done.returncode, done.stderr) == (0, "")
    assert (card.read(f"{STATE}/log.sqlite"), card.read(f"{STATE}/takes/one.flac")) == ("the log", "a take")
    assert not any(card.has(path) for path in (UNIT, IMAGE, HOOK, "etc/undertoe/card-is-open", "etc/fstab.kept"))
    assert "systemctl stop undertoe" in card.asked() and card.asked()[-1] == "systemctl start --no-block undertoe"
    assert done.stdout.splitlines()[-1] == "undertoe: the card is open"


def test_what_lay_under_the_log_is_put_aside_and_named(card: KeptCard) -> None:
    """Notes may be in it alone: those of a start at which the log's file system was not there."""
    done = card.run("undo")
    assert card.read("var/lib/undertoe.before/log.sqlite") == "the log as it was before the card was kept"
    assert f"{card.root}/var/lib/undertoe.before" in done.stdout


def test_an_empty_folder_under_the_log_leaves_nothing_behind(card: KeptCard) -> None:
    (card.root / "covered/log.sqlite").unlink()
    assert card.run("undo").returncode == 0
    assert sorted(path.name for path in (card.root / "var/lib").iterdir()) == ["undertoe"]


def test_a_pedal_that_was_off_stays_off(card: KeptCard) -> None:
    card.write("stopped", "")
    card.write("never", "")
    assert card.run("undo").returncode == 0
    assert "systemctl start --no-block undertoe" not in card.asked()


@pytest.mark.parametrize("tries", [1, 2])
def test_a_log_that_somebody_still_uses_stays_where_it_is(card: KeptCard, tries: int) -> None:
    card.write("busy", "")
    card.write(f"{OLDER}/log.sqlite", "a copy of an earlier try")
    for _ in range(tries):
        done = card.run("undo")
        assert done.returncode == 1
        assert done.stderr.splitlines()[-1].startswith("undertoe: the log's file system is in use"), done.stderr
    assert card.read(f"{STATE}/log.sqlite") == "the log"
    assert card.read(f"{OLDER}/log.sqlite") == "a copy of an earlier try"
    assert all(card.has(path) for path in (UNIT, IMAGE, HOOK, "etc/undertoe/card-is-open", "etc/fstab.kept"))
    assert card.asked()[-2:] == [f"mount -o remount,rw {card.root}/{STATE}", "systemctl start --no-block undertoe"]
    (card.root / "busy").unlink()
    assert card.run("undo").returncode == 0
    assert card.read(f"{STATE}/log.sqlite") == "the log"


def test_a_card_without_room_for_the_log_keeps_it_where_it_is(card: KeptCard) -> None:
    (card.root / "bin/cp").write_text("#!/bin/sh\necho 'cp: No space left on device' >&2\nexit 1\n")
    (card.root / "bin/cp").chmod(0o755)
    done = card.run("undo")
    assert done.returncode == 1 and "no room for the log" in done.stderr
    assert card.read(f"{STATE}/log.sqlite") == "the log" and card.has(IMAGE) and card.has(UNIT)
    assert card.asked()[-1] == "systemctl start --no-block undertoe"


def test_the_folder_under_a_log_that_is_not_mounted_is_not_taken_for_it(card: KeptCard) -> None:
    """As the old fault left it: the file system unmounted, the old folder in its place; the image alone has the log."""
    (card.root / "covered").rename(card.root / "under")
    (card.root / STATE).rename(card.root / "in-the-image")
    (card.root / "under").rename(card.root / STATE)
    card.write(f"{OLDER}/log.sqlite", "the log")
    before = set(card.root.rglob("*"))
    done = card.run("undo")
    assert done.returncode == 1
    assert "the log's own file system is not there: start the pedal anew, then make open-card again" in done.stderr
    made_here = {card.root / name for name in ("keep_card.sh", "kept.sh", "asked")}
    assert set(card.root.rglob("*")) - made_here == before
    assert card.read(f"{OLDER}/log.sqlite") == "the log" and card.has(IMAGE)
    assert not [line for line in card.asked() if "undertoe" in line], "the service is not touched"


def test_a_copy_that_an_earlier_try_left_is_kept_and_named(card: KeptCard) -> None:
    card.write(f"{OLDER}/log.sqlite", "a copy of an earlier try")
    done = card.run("undo")
    assert done.returncode == 0
    assert card.read(f"{OLDER}/log.sqlite") == "a copy of an earlier try"
    assert f"{card.root}/{OLDER}" in done.stdout


def test_a_start_up_image_that_cannot_be_made_is_made_at_the_next_try(card: KeptCard) -> None:
    """Else the next start keeps the card again, and the log that was brought back lies in memory."""
    card.write("no-room-in-boot", "")
    for _ in range(2):
        done = card.run("undo")
        assert (done.returncode, done.stderr[:46]) == (1, "undertoe: the start-up image cannot be made: i")
        assert card.has("etc/undertoe/card-is-open"), "the start-up image as it is asks for this file"
        assert card.read(f"{STATE}/log.sqlite") == "the log" and not card.has(UNIT)
        assert not card.has("stopped")
    (card.root / "no-room-in-boot").unlink()
    assert card.run("undo").returncode == 0
    assert not card.has("etc/undertoe/card-is-open")


def test_a_log_that_finds_no_room_in_what_was_asked_for_stays_and_the_pedal_plays(card: KeptCard) -> None:
    """The fault: the file of that size stayed beside the system, and the pedal stayed stopped, without a sentence."""
    for path in (UNIT, IMAGE, HOOK, "etc/fstab.kept"):
        (card.root / path).unlink()
    done = card.run(STATE_MB="1")
    assert done.returncode == 1
    assert "undertoe: the log and the takes (1 MB) find no room in it" in done.stderr
    assert card.read(f"{STATE}/log.sqlite") == "the log"
    assert not list((card.root / "var/lib").glob("*.img*")) and not card.has(UNIT) and not card.has(HOOK)
    assert card.asked()[-1] == "systemctl start --no-block undertoe"


@pytest.fixture
def open_card(card: KeptCard) -> KeptCard:
    """The same machine before its card was ever kept."""
    for path in (UNIT, IMAGE, HOOK, "etc/fstab.kept", "etc/undertoe/card-is-open", "covered/log.sqlite"):
        (card.root / path).unlink()
    (card.root / "covered").rmdir()
    card.write("bin/mkfs.ext4", f'#!/bin/sh\necho "mkfs.ext4 $*" >>{card.root}/asked\n')
    card.write("stick", "")
    return card


def test_a_disk_that_was_meant_to_be_its_partition_is_not_formatted(open_card: KeptCard) -> None:
    """The fault: a partition table is no file system, so the disk passed for empty and all of its partitions went."""
    open_card.write("partitioned", "")
    stick = f"{open_card.root}/stick"
    done = open_card.run(STATE_PARTITION=stick)
    assert done.returncode == 1
    assert done.stderr == f"undertoe: {stick} is a whole disk with partitions: name an empty one of them\n"
    assert open_card.asked() == []


@pytest.mark.parametrize("boot_is_full", [False, True])
def test_a_pedal_that_rests_until_the_next_start_says_so(open_card: KeptCard, *, boot_is_full: bool) -> None:
    """The fault: the panel went dark without a word."""
    if boot_is_full:
        open_card.write("no-room-in-boot", "")
    done = open_card.run(STATE_PARTITION=f"{open_card.root}/stick")
    assert done.returncode == int(boot_is_full)
    assert "undertoe: the log is moved; the pedal rests until the next start" in done.stdout.splitlines()
    assert open_card.has("stopped")


def test_a_pedal_that_did_not_play_is_not_said_to_rest(open_card: KeptCard) -> None:
    open_card.write("stopped", "")
    open_card.write("never", "")
    done = open_card.run(STATE_PARTITION=f"{open_card.root}/stick")
    assert done.returncode == 0 and "rests" not in done.stdout
