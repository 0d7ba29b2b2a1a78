"""Let the machine that power_cuts.sh built play, log all that it writes, and cut its power at moments of that log.

It boots once. QEMU's `blklogwrites` keeps every write and flush of the log's partition; beside it is noted, many times
a second, how long that log was when the machine had said what. Each cut is the partition as it was at one such moment:
once with all that was written till then, and once as a card with a cache of its own that honours flushes would have it
(write_log.py). It is then treated as at the next start, and asked what is on it. As many cuts again are made amid the
writing: after a request drawn from the log, since at most moments there is none under way.

    python3 power_cuts.py CACHE CUTS BENDS partition|file|open     where the log lies, as power_cuts.sh has it
"""

from __future__ import annotations

import random
import re
import shutil
import sqlite3
import subprocess
import sys
import time
from bisect import bisect, bisect_left
from dataclasses import dataclass, replace
from pathlib import Path

from write_log import FLUSH, Request, carry_out, kept_by_a_cache, last_flush, read

AT_ONCE_S, PATIENCE_S = 0.02, 3600
ALIKE_S = 0.001
CONTROLS = 20
CARDS = ("all that was written", "a cache that was lost")


@dataclass(frozen=True, slots=True)
class Moment:
    """How much the machine had written of its log's partition, and said, and when that was by this machine's clock."""

    at_s: float
    log_bytes: int
    said_bytes: int


@dataclass(frozen=True, slots=True)
class Cut:
    """What one cut left: is all clean and whole, and how long ago the oldest bend that is gone had been told."""

    clean: bool
    lost_s: float
    words: str


def run(*words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([str(word) for word in words], capture_output=True, text=True, check=False)


def machine(cache: Path, where: str, disk: Path, log: Path, console: Path) -> list[str]:
    """In real time, unlike `make vm`: the journal's own clock is what counts here, and lost sound is no matter."""
    kernel = next((cache / "base/boot").glob("vmlinuz-*"))
    system = f"if=none,id=system,file={cache / 'disk.img'},format=raw,readonly=on"
    return [
        "qemu-system-x86_64", "-accel", "tcg,thread=multi", "-cpu", "max", "-smp", "2", "-m", "1024",
        "-kernel", str(kernel), "-initrd", str(cache / "initrd"), "-append", "root=/dev/vda ro console=ttyS0 quiet",
        *(["-drive", system, "-device", "virtio-blk-pci,drive=system"] if where == "partition" else []),
        "-blockdev", f"driver=file,node-name=card,filename={disk}",
        "-blockdev", f"driver=file,node-name=log,filename={log}",
        "-blockdev", "driver=blklogwrites,node-name=logged,file=card,log=log", "-device", "virtio-blk-pci,drive=logged",
        "-display", "none", "-serial", f"file:{console}", "-monitor", "none", "-nic", "none",
    ]  # fmt: skip


def play(command: list[str], log: Path, console: Path, bends: int) -> list[Moment]:
    """Moments from the first on, until so many were played; then the power goes."""
    moments: list[Moment] = []
    until = time.monotonic() + PATIENCE_S
    with subprocess.Popen(command) as alive, console.open("rb") as said:
        words = b""
        while not re.search(rb"ENDED %d " % bends, words):
            if time.monotonic() > until or alive.poll() is not None:
                alive.kill()
                sys.exit(f"never played {bends} bends: {words[-2000:].decode(errors='replace')}")
            time.sleep(AT_ONCE_S)
            # The log first: what the machine says meanwhile then counts against it.
            log_bytes, words = log.stat().st_size, words + said.read()
            moments.append(Moment(time.monotonic(), log_bytes, len(words)))
        alive.terminate()
    return moments


def on_the_card(disk: Path, folder: Path) -> tuple[str, bool, list[float], int]:
    """What the journal recovered; whether all is clean and whole then; the onsets in the log; how many takes.

    The disk is that of the log or the system's own, in which the log lies as a file system or as it is.
    """
    recovered = run("e2fsck", "-p", disk)  # what the machine does at its next start: the journal is played
    clean = run("e2fsck", "-f", "-n", disk)
    good, words = recovered.returncode in (0, 1) and clean.returncode == 0, f"e2fsck {recovered.returncode}"
    if clean.returncode:
        words += ", then not clean"
    folder.mkdir(exist_ok=True)
    if run("mount", "-o", "loop", disk, folder).returncode:
        return f"{words}, not mounted", False, [], 0
    try:
        if (within := folder / "var/lib/undertoe.img").exists():
            more, whole, onsets, takes = on_the_card(within, folder.with_name("within"))
            words, good = f"{words} and {more}", good and whole
        else:
            state = folder / "var/lib/undertoe"
            onsets, takes, wrong = found_in(state if state.exists() else folder, disk.with_suffix(".sqlite"))
            words, good = ", ".join([words, *wrong]), good and not wrong
    except (OSError, sqlite3.Error) as fault:
        return f"{words}, {fault}", False, [], 0
    finally:
        run("umount", folder)
    return words, good, onsets, takes


def found_in(folder: Path, copy: Path) -> tuple[list[float], int, list[str]]:
    """The onsets in the log; how many takes; what of log and takes is not whole. What is broken may raise instead."""
    for end in ("", "-wal", "-shm"):
        Path(f"{copy}{end}").unlink(missing_ok=True)
        if (folder / f"log.sqlite{end}").exists() and end != "-shm":
            shutil.copy(folder / f"log.sqlite{end}", f"{copy}{end}")
    base = sqlite3.connect(copy)
    try:
        found = base.execute("PRAGMA integrity_check").fetchone()[0]
        there = base.execute("SELECT count(*) FROM sqlite_master WHERE name = 'entry'").fetchone()[0]
        onsets = [row[0] for row in base.execute("SELECT onset_s FROM entry ORDER BY onset_s")] if there else []
    finally:
        base.close()
    takes = list((folder / "takes").glob("*.wav")) if (folder / "takes").is_dir() else []
    torn = sorted(f"{take.name} of {take.stat().st_size} bytes" for take in takes if not is_whole(take))
    wrong = ([f"log: {found}"] if found != "ok" else []) + ([f"torn: {', '.join(torn)}"] if torn else [])
    return onsets, len(takes), wrong


def is_whole(take: Path) -> bool:
    """A WAV file that is as long as its head says (RIFF: a word, the bytes that follow, and those)."""
    data = take.read_bytes()
    return len(data) > 44 and data[:4] == b"RIFF" and int.from_bytes(data[4:8], "little") == len(data) - 8


def clocks_apart_s(moments: list[Moment], said: bytes) -> float:
    """This machine's clock less the other's: what is said is seen here late by chance, and never early."""
    seen = [moment.said_bytes for moment in moments]
    lines = [line for line in re.finditer(rb"(?:TOLD|ENDED) [0-9.]+ ([0-9.]+)\r?\n", said) if line.end() <= seen[-1]]
    return min(moments[bisect(seen, line.end() - 1)].at_s - float(line[1]) for line in lines)


def judged(said: str, now_s: float, onsets: list[float], card: tuple[str, bool, int]) -> Cut:
    """Hold what is there against what the machine had said by then; `now_s` by its own clock."""
    told = [(float(onset), float(up)) for onset, up in re.findall(r"TOLD ([0-9.]+) ([0-9.]+)\r?\n", said)]
    gone = [now_s - up for onset, up in told if not any(abs(onset - there) < ALIKE_S for there in onsets)]
    lost_s = max(gone, default=0.0)
    checked, clean, takes = card
    words = f", told {', '.join(f'{age_s:.2f}' for age_s in gone)} s before" if gone else ""
    return Cut(
        clean, lost_s, f"at {now_s:6.1f} s, {len(told):3} bends told, {len(onsets):3} in the log, {takes:2} takes; "
        f"{checked}, {'clean' if clean else 'NOT CLEAN'}; {len(gone)} gone{words}",
    )  # fmt: skip


def played(moments: list[Moment], said: bytes) -> list[Moment]:
    """Those after the first bend."""
    return [moment for moment in moments if moment.said_bytes > said.index(b"ENDED 1 ")]


def amid(asked: list[Request], moments: list[Moment], said: bytes, count: int, draw: random.Random) -> list[Moment]:
    """Moments right after a request; what the machine had said is what was seen at the next look, so rather more."""
    seen = played(moments, said)
    ends = [moment.log_bytes for moment in seen]
    within = [request.log_end for request in asked if ends[0] < request.log_end <= ends[-1]]
    looks = [(seen[bisect_left(ends, end)], end) for end in draw.sample(within, count)]
    return [replace(look, log_bytes=end) for look, end in looks]


def cut_all(
    moments: list[Moment], apart_s: float, asked: list[Request], work: Path, draw: random.Random
) -> list[list[Cut]]:
    """For each moment what is left on both kinds of card; a line for each."""
    log, sure, disk, said = work / "writes.log", work / "sure.img", work / "cut.img", (work / "console").read_bytes()
    run("cp", "--sparse=always", work / "empty.img", sure)
    ends, done, cuts = [request.log_end for request in asked], 0, []
    for number, moment in enumerate(moments, 1):
        till = bisect(ends, moment.log_bytes)
        flushed = last_flush(asked[:till])
        apply(asked[done:flushed], log, sure)
        done, since = flushed, asked[flushed:till]
        both = []
        for card, kept in zip(CARDS, (since, kept_by_a_cache(since, draw)), strict=True):
            run("cp", "--sparse=always", sure, disk)
            apply(kept, log, disk)
            checked, clean, onsets, takes = on_the_card(disk, work / "mounted")
            words = said[: moment.said_bytes].decode(errors="replace")
            both.append(judged(words, moment.at_s - apart_s, onsets, (checked, clean, takes)))
            print(f"cut {number:3}, {card} ({len(since)} requests since a flush): {both[-1].words}", flush=True)
        cuts.append(both)
    return cuts


def control(asked: list[Request], work: Path, draw: random.Random) -> int:
    """A card that lies about flushing, on which damage must show: at how many of `CONTROLS` cuts it does."""
    log, disk, wrong = work / "writes.log", work / "cut.img", 0
    for _ in range(CONTROLS):
        till = draw.randrange(len(asked) // 2, len(asked))
        written = [request for request in asked[till - 40 : till] if not request.flags & FLUSH]
        run("cp", "--sparse=always", work / "empty.img", disk)
        apply(asked[: till - 40] + kept_by_a_cache(written, draw), log, disk)
        wrong += not on_the_card(disk, work / "mounted")[1]
    return wrong


def apply(asked: list[Request], log: Path, disk: Path) -> None:
    with log.open("rb") as source, disk.open("r+b") as target:
        carry_out(asked, source, target)


def summed_up(card: str, cuts: list[Cut]) -> str:
    wrong, lost = sum(not cut.clean for cut in cuts), [cut.lost_s for cut in cuts]
    return (
        f"{len(cuts)} cuts, {card}: {wrong} not clean; nothing that was told is gone {lost.count(0.0)} times, "
        f"at most {max(lost):.2f} s of it, {sum(gone > 1 for gone in lost)} times more than 1 s"
    )


def main(cache: Path, count: int, bends: int, where: str) -> int:
    work = Path("/dev/shm/undertoe-cuts")
    shutil.rmtree(work, ignore_errors=True)
    work.mkdir()
    empty, disk, log, console = (work / name for name in ("empty.img", "card.img", "writes.log", "console"))
    for image in (empty, disk):
        run("cp", "--sparse=always", cache / ("logs.img" if where == "partition" else "disk.img"), image)
    console.touch()
    log.touch()
    moments = play(machine(cache, where, disk, log, console), log, console, bends)
    said = console.read_bytes()
    lines = re.findall(r"(?:KEPT|LOG|BELOW|LISTENING) .*", said.decode(errors="replace"))
    print("the machine:", *(words.strip() for words in lines), sep="\n  ")
    asked = read(log)
    seed = int(time.time())
    flushes = sum(bool(request.flags & FLUSH) for request in asked)
    print(f"{len(asked)} requests, {flushes} of them flushes, {log.stat().st_size / 1e6:.0f} MB; drawn by {seed}")
    again = work / "again.img"
    run("cp", "--sparse=always", empty, again)
    apply(asked, log, again)
    same = run("cmp", again, disk).returncode == 0
    print(f"all together are {'what the disk holds, to the byte' if same else 'NOT WHAT THE DISK HOLDS'}", flush=True)
    draw = random.Random(seed)
    apart_s = clocks_apart_s(moments, said)
    wrong = not same
    for what, chosen in (
        ("at any time", draw.sample(played(moments, said), count)),
        ("amid the writing", amid(asked, moments, said, count, draw)),
    ):
        print(f"{count} cuts {what}:", flush=True)
        cuts = cut_all(sorted(chosen, key=lambda moment: moment.log_bytes), apart_s, asked, work, draw)
        for card, column in zip(CARDS, zip(*cuts, strict=True), strict=True):
            print(summed_up(f"{what}, {card}", list(column)))
            wrong = wrong or any(not cut.clean for cut in column)
    damaged = control(asked, work, draw)
    print(f"{CONTROLS} cuts of a card that lies about flushing: {damaged} not clean, so damage would be seen")
    wrong = wrong or not damaged
    shutil.rmtree(work)
    return int(wrong)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), sys.argv[4]))
