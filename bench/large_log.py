"""A log of years by a player who does not exist, and what reviewing it takes.

    python -m bench.large_log make years.sqlite --sessions 1000 --notes 304
    python -m bench.large_log measure review --log years.sqlite

`measure` runs `undertoe` with the words after it in a process of its own and prints its seconds and the most memory it
held (the kernel's ru_maxrss). The notes are invented: five kinds of bend in three keys, errors that drift over the
years, a tenth of level notes; no traces, which the pedal itself lets go first.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from pedal.log.row import AROUND_COLUMNS, ENTRY_COLUMNS, VERDICT_COLUMNS, placeholders
from pedal.log.writer import open_store

FIRST_DAY_S, DAY_S = 1_693_526_400.0, 86_400.0
KEYS = ("G minor pentatonic", "A blues", "E minor pentatonic")
TUNING = "E2 A2 D3 G3 B3 E4"
BENDS = [  # degree, target degree, rest note, target note, semitones
    ("b7", "1", "F4", "G4", 2), ("1", "b3", "G4", "Bb4", 3), ("b3", "4", "Bb3", "C4", 2), ("4", "5", "C4", "D4", 2),
    ("5", "b7", "D4", "F4", 3), ("b3", "4", "Bb4", "C5", 2), ("4", "b5", "C4", "Db4", 1), ("b5", "5", "Db4", "D4", 1),
]  # fmt: skip
CURLS = [("b3", "Bb3"), ("b7", "F4"), ("b3", "Bb4")]
WORDS = ("true", "near", "flat", "sharp")


def make(path: Path, *, sessions: int, notes: int, seed: int = 15) -> None:
    """Write a log of so many sessions of so many notes; every fortieth session has a clock that was never set."""
    noise = np.random.default_rng(seed)
    store = open_store(path)
    file = store._connection
    pedal_uid = file.execute("SELECT value FROM about WHERE name = 'pedal_uid'").fetchone()[0]
    settings = [(mode, key) for key in KEYS for mode in ("ladder", "curl", "blind", "watch")]
    for number, (mode, key) in enumerate(settings, 1):
        file.execute("INSERT INTO setting VALUES (?, ?, ?, ?, ?, ?)", (number, mode, key, 0, 440.0, TUNING))
    insert = f"INSERT INTO entry ({', '.join(ENTRY_COLUMNS)}) VALUES ({placeholders(ENTRY_COLUMNS)})"
    file.execute("PRAGMA synchronous = OFF")
    for session in range(1, sessions + 1):
        uid = noise.bytes(16).hex()
        begun_s, doubtful = (100.0, 1) if session % 40 == 0 else (FIRST_DAY_S + DAY_S * session, 0)
        file.execute("BEGIN")
        file.execute(
            "INSERT INTO session VALUES (?, ?, ?, ?, ?, ?, 0, ?)",
            (session, uid, pedal_uid, session, "Ann" if session % 3 else "Ben", begun_s, doubtful),
        )
        rows = [entry(session, n, session / sessions, noise) for n in range(1, notes + 1)]
        file.executemany(insert, rows)
        file.execute("COMMIT")
    store.close()


def entry(session: int, number: int, share: float, noise: np.random.Generator) -> tuple[object, ...]:
    """One row of `ENTRY_COLUMNS`."""
    kind = str(noise.choice(["bend", "bend_release", "prebend", "curl", "steady"], p=[0.5, 0.1, 0.1, 0.2, 0.1]))
    time_s, string = 4.0 * number, int(noise.integers(1, 7))
    mode = {"curl": 1, "prebend": 2, "steady": 3}.get(kind, 0)
    setting = 4 * (session % len(KEYS)) + mode + 1
    own = (session, number, setting, time_s, session % 5 + 1, string, 3, None, 0)
    verdict = dict.fromkeys(VERDICT_COLUMNS)
    verdict |= {
        "onset_s": time_s, "end_s": time_s + 1.4, "rest_cents": float(noise.normal(0, 3)), "shape": "rise",
        "kind": kind, "ending": "cut_sharp", "vibrato_hz": 0.0, "vibrato_cents": 0.0, "hold_s": 0.7,
        "reason": "Invented.", "rest_heard": 1, "begun_by": "pluck",
    }  # fmt: skip
    if kind == "steady":
        verdict |= {"rest_note": "C4", "degree": "4", "shape": "level", "verdict": "unclear"}
    elif kind == "curl":
        degree, rest = CURLS[int(noise.integers(len(CURLS)))]
        height = float(noise.normal(38, 10))
        released = bool(noise.random() < 0.3 - 0.2 * share)
        word = "released" if released else WORDS[int(noise.integers(4))]
        verdict |= {"rest_note": rest, "degree": degree, "bend_cents": height, "peak_cents": height, "verdict": word}
    else:
        at = int(noise.integers(len(BENDS)))
        degree, goal_degree, rest, goal, semitones = BENDS[at]
        error = float(noise.normal((at - 4) * 4 * (1 - share), 6 + 12 * (1 - share)))
        verdict |= {
            "rest_note": rest, "degree": degree, "target_note": goal, "target_degree": goal_degree,
            "bend_cents": 100.0 * semitones + error, "error_cents": error, "absolute_cents": error + 1.0,
            "peak_cents": 100.0 * semitones + error + 3.0, "overshoot_cents": abs(float(noise.normal(6, 4))),
            "rise_s": None if kind == "prebend" else float(noise.uniform(0.1, 0.5)),
            "final_cents": 100.0 * semitones + error,
            "verdict": "true" if abs(error) <= 10 else "near" if abs(error) <= 25 else "flat" if error < 0 else "sharp",
        }  # fmt: skip
    return (*own, *(verdict[name] for name in VERDICT_COLUMNS), *[None] * len(AROUND_COLUMNS))


def measure(words: list[str]) -> str:
    """Seconds by the clock and of the processor, megabytes and status of `undertoe` with these words."""
    begun_s = time.monotonic()
    done = subprocess.run([sys.executable, "-m", "pedal.cli.entry", *words], stdout=subprocess.DEVNULL, check=False)
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    processor_s = used.ru_utime + used.ru_stime
    return (
        f"{time.monotonic() - begun_s:.1f} s, {processor_s:.1f} s of processor, {used.ru_maxrss / 1024:.0f} MB, "
        f"status {done.returncode}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    verbs = parser.add_subparsers(dest="verb", required=True)
    making = verbs.add_parser("make")
    making.add_argument("file", type=Path)
    making.add_argument("--sessions", type=int, default=1000)
    making.add_argument("--notes", type=int, default=304)
    verbs.add_parser("measure").add_argument("words", nargs=argparse.REMAINDER)
    arguments = parser.parse_args()
    if arguments.verb == "make":
        make(arguments.file, sessions=arguments.sessions, notes=arguments.notes)
    else:
        print(f"{measure(arguments.words)}: undertoe {' '.join(arguments.words)}")


if __name__ == "__main__":
    main()
