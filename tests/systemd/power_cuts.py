"""Boot the machine that power_cuts.sh built, let it play, and pull its plug at random moments; a line for each cut.

It boots once, and its memory and disk are kept at the moment when it plays; each cut goes on from there for a random
while and kills the emulator. What the guest had not written is lost, as on a board. What it had written and not
flushed is not lost here, since the emulator hands it to this machine: a card that lies about flushing is not tried.
"""

from __future__ import annotations

import random
import re
import shutil
import socket
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

cache, count = Path(sys.argv[1]), int(sys.argv[2])
console, monitor, before = cache / "cuts.console", cache / "cuts.monitor", cache / "cuts.before"
disk, logs, out = cache / "disk.img", cache / "logs.qcow2", cache / "after.img"
kernel = next((cache / "base/boot").glob("vmlinuz-*"))
COMMAND = [
    "qemu-system-x86_64", "-accel", "tcg", "-icount", "shift=1,sleep=off", "-rtc", "clock=vm",
    "-cpu", "max", "-m", "1024",
    "-kernel", str(kernel), "-initrd", str(cache / "initrd"), "-append", "root=/dev/vda ro console=ttyS0 quiet",
    "-drive", f"file={disk},format=raw,if=virtio,readonly=on", "-drive", f"file={logs},format=qcow2,if=virtio",
    "-display", "none", "-serial", f"file:{console}", "-monitor", f"unix:{monitor},server,nowait", "-nic", "none",
]  # fmt: skip


def run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([str(word) for word in words], capture_output=True, text=True, check=False)


def start(*more: str) -> subprocess.Popen[bytes]:
    monitor.unlink(missing_ok=True)
    console.write_bytes(b"")
    return subprocess.Popen([*COMMAND, *more])


def said(pattern: str) -> list[tuple[str, ...]]:
    return re.findall(pattern, console.read_text(errors="replace"))


def wait_for(pattern: str, within_s: float, machine: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + within_s
    while not said(pattern):
        if time.monotonic() > until or machine.poll() is not None:
            sys.exit(f"never said {pattern}: {console.read_text(errors='replace')[-2000:]}")
        time.sleep(0.1)


def order(words: str) -> None:
    with socket.socket(socket.AF_UNIX) as line:
        line.connect(str(monitor))
        line.settimeout(120)
        for text in ("", words):
            if text:
                line.sendall(text.encode() + b"\n")
            answer = b""
            while not answer.rstrip().endswith(b"(qemu)"):
                answer += line.recv(4096)
    if b"rror" in answer:
        sys.exit(answer.decode())


def after() -> tuple[str, bool, list[float], int]:
    """What the journal recovered, whether it is clean then, the times of the notes that are there, and takes."""
    run("qemu-img", "convert", "-U", "-O", "raw", logs, out)
    recovered = run("e2fsck", "-p", out)  # what the machine does at its next start: the journal is played
    clean = run("e2fsck", "-f", "-n", out)
    place = cache / "after"
    place.mkdir(exist_ok=True)
    run("mount", "-o", "loop,ro", out, place)
    try:
        copy = cache / "after.sqlite"
        for end in ("", "-wal", "-shm"):
            Path(f"{copy}{end}").unlink(missing_ok=True)
            if (place / f"log.sqlite{end}").exists() and end != "-shm":
                shutil.copy(place / f"log.sqlite{end}", f"{copy}{end}")
        base = sqlite3.connect(copy)
        sound = base.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        there = base.execute("SELECT count(*) FROM sqlite_master WHERE name = 'entry'").fetchone()[0]
        notes = [row[0] for row in base.execute("SELECT time_s FROM entry ORDER BY time_s")] if there else []
        base.close()
        takes = list((place / "takes").glob("*.wav")) if (place / "takes").is_dir() else []
        whole = all(take.stat().st_size > 44 for take in takes)
    finally:
        run("umount", place)
    return (
        f"e2fsck {recovered.returncode}",
        clean.returncode == 0 and sound and whole and recovered.returncode in (0, 1),
        notes,
        len(takes),
    )


def a_cut(number: int, after_s: float) -> tuple[bool, float]:
    """Go on from the moment that was kept, pull the plug; whether all is clean, and how old the oldest loss is."""
    machine = start("-loadvm", "playing")
    wait_for(r"ALIVE", 120, machine)
    time.sleep(after_s)
    machine.kill()
    machine.wait()
    alive = [float(up) for up in said(r"ALIVE ([0-9.]+)")]
    lines = before.read_text() + console.read_text(errors="replace")
    ended = [(int(n), float(up)) for n, up in re.findall(r"ENDED (\d+) ([0-9.]+)", lines)]
    journal, clean, notes, takes = after()
    missing = [up for n, up in ended if n > len(notes)]
    lost_s = alive[-1] - missing[0] if missing else 0.0
    print(
        f"cut {number}: at {alive[-1]:.1f} s, {ended[-1][0]} bends ended, {len(notes)} in the log, {takes} takes; "
        f"{journal}, {'clean' if clean else 'NOT CLEAN'}; the oldest that is missing ended {lost_s:.1f} s before",
        flush=True,
    )
    return clean, lost_s


def come_to_the_moment() -> None:
    """Boot, and keep the moment when two bends were played."""
    run("qemu-img", "convert", "-f", "raw", "-O", "qcow2", cache / "logs.img", logs)
    machine = start()
    began = time.monotonic()
    wait_for(r"LISTENING", 900, machine)
    heard_s = said(r"LISTENING (.*)")[0].strip()
    print("the machine:", *(words.strip() for words in said(r"(?:KEPT|LOG|BELOW) .*")), sep="\n  ", flush=True)
    print(f"listening after {heard_s} s of its own time, {time.monotonic() - began:.0f} s here", flush=True)
    wait_for(r"ENDED 2 ", 900, machine)
    order("savevm playing")
    machine.kill()
    machine.wait()
    before.write_text("\n".join(f"ENDED {n} {up}" for n, up in said(r"ENDED (\d+) ([0-9.]+)")) + "\n")


def main() -> None:
    if not before.exists():
        come_to_the_moment()
    draw = random.Random(int(time.time()))
    cuts = [a_cut(number, draw.uniform(0.0, 40.0)) for number in range(1, count + 1)]
    wrong, lost_s = sum(not clean for clean, _ in cuts), [lost_s for _, lost_s in cuts]
    print(
        f"{count} cuts: {wrong} not clean; at most {max(lost_s):.1f} s lost, {sum(lost > 1 for lost in lost_s)} times "
        "more than 1 s; the system's own disk could not be written at all"
    )
    sys.exit(1 if wrong else 0)


main()
