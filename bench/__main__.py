"""Plays the takes to everyone, prints Markdown, writes out/bench.md and out/bench.json."""

from __future__ import annotations

import argparse
import json
import platform
import sys
import tracemalloc
import warnings
from pathlib import Path

import numpy as np

from bench.curves import MOTIONS, RATE
from bench.measures import judge, summary
from bench.peers import HOP, PEERS, Peer
from bench.takes import Take, render

Figures = dict[str, float | None]
OVERALL = (
    ("gross %", "gross"), ("octave %", "octave"), ("VR %", "vr"), ("VFA %", "vfa"), ("RPA10 %", "rpa10"),
    ("still med / p95 c", "still", "still_p95"), ("moving med / p95 c", "moving", "moving_p95"),
    ("felt med / p95 c", "felt", "felt_p95"), ("live %", "live"),
)  # fmt: skip
SPEED = (
    ("CPU %", "cpu"), ("µs a hop, median", "hop_us"), ("p99", "hop_us_p99"),
    ("bytes allocated in a hop", "peak_bytes"), ("bytes left after a hop", "left_bytes"),
)  # fmt: skip


def main() -> int:
    """0, or 1 if ours could not be measured."""
    parser = argparse.ArgumentParser(prog="bench", description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rounds", type=int, default=6, help="takes of each motion and source")
    parser.add_argument("--only", action="append", help="a peer whose name contains this; may be repeated")
    parser.add_argument("--out", type=Path, default=Path("out"))
    asked = parser.parse_args()
    warnings.filterwarnings("ignore")
    takes = render(asked.seed, asked.rounds)
    results, missing = {}, {}
    for peer in PEERS:
        if asked.only and not any(part in peer.name for part in (*asked.only, "undertoe")):
            continue
        why = peer.missing()
        if why:
            missing[peer.name] = why
            continue
        print(f"{peer.name} ...", file=sys.stderr, flush=True)
        results[peer.name] = _measure(peer, takes)
    text = _report(results, missing, takes, asked.seed)
    asked.out.mkdir(exist_ok=True)
    (asked.out / "bench.md").write_text(text)
    (asked.out / "bench.json").write_text(
        json.dumps({"seed": asked.seed, "peers": results, "missing": missing}, indent=1)
    )
    print(text)
    return 0 if "undertoe" in results else 1


def _measure(peer: Peer, takes: list[Take]) -> dict[str, Figures]:
    peer.hear(takes[0].samples)  # what is loaded and compiled at the first call is not timed
    cpu_s, walls, judged = 0.0, [], []
    for take in takes:
        answers = peer.hear(take.samples)
        cpu_s += answers.cpu_s
        walls.append(answers.hop_s)
        judged.append(judge(take, answers))
    streaming = peer.stream is not None
    groups = {
        "all": [True] * len(takes),
        "clean": [not t.degraded for t in takes],
        "degraded": [bool(t.degraded) for t in takes],
    }
    groups |= {region: [t.region == region and not t.degraded for t in takes] for region in ("low", "mid", "high")}
    groups |= {motion: [t.motion == motion and not t.degraded for t in takes] for motion in MOTIONS}
    results = {
        group: summary([j for j, is_in in zip(judged, members, strict=True) if is_in], streaming=streaming)
        for group, members in groups.items()
        if any(members)
    }
    hops_us = 1e6 * np.concatenate(walls)
    speed: Figures = {"cpu": 100 * cpu_s / sum(len(t.samples) / RATE for t in takes)}
    if streaming:
        speed |= {"hop_us": float(np.median(hops_us)), "hop_us_p99": float(np.percentile(hops_us, 99))}
        speed |= _allocations(peer, takes[0])
    return {"speed": speed, **results}


def _allocations(peer: Peer, take: Take) -> Figures:
    """Bytes of Python memory that a hop needs at most while it runs, and that are left after it."""
    assert peer.stream is not None
    push = peer.stream()
    blocks = [take.samples[at : at + HOP] for at in range(0, len(take.samples) - HOP + 1, HOP)]
    for block in blocks:
        push(block)
    peaks = np.zeros(len(blocks))  # filled in place: a growing list would be counted as theirs
    tracemalloc.start()
    for block in blocks:  # a first time with the tracer on, so that what it keeps itself is not counted
        push(block)
    before = tracemalloc.get_traced_memory()[0]
    for i, block in enumerate(blocks):
        tracemalloc.reset_peak()
        start = tracemalloc.get_traced_memory()[0]
        push(block)
        peaks[i] = tracemalloc.get_traced_memory()[1] - start
    left = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    return {"peak_bytes": float(np.median(peaks)), "left_bytes": left / len(blocks)}


def _report(results: dict[str, dict[str, Figures]], missing: dict[str, str], takes: list[Take], seed: int) -> str:
    length = sum(len(t.samples) for t in takes) / RATE / 60
    parts = [
        f"# The ear beside its peers\n\n{len(takes)} takes, {length:.1f} minutes, seed {seed}; one run, one thread, "
        f"hops of {HOP} samples at {RATE} Hz, {platform.machine()}, Python {platform.python_version()}. "
        "Definitions: bench/measures.py.",
        "## All takes\n\n" + _table(results, OVERALL, "all"),
        "## Cost\n\n" + _table(results, SPEED, "speed"),
    ]
    waits = [
        (f"{label} {region} ms (never %)", region, key + "_ms", key + "_never")
        for key, label in (("right", "right"), ("close", "within 10 c"))
        for region in ("low", "mid", "high")
    ]
    parts.append("## From the pluck\n\n" + _across(results, waits))
    for title, key in (
        ("Still, median cents", "still"),
        ("Moving, median cents", "moving"),
        ("Felt, median cents", "felt"),
    ):
        groups = [(g, g, key, key + "_p95") for g in ("low", "mid", "high", *MOTIONS, "degraded")]
        parts.append(f"## {title} / 95th percentile, by region and motion\n\n" + _across(results, groups))
    for name, why in missing.items():
        parts.append(f"Missing: **{name}** could not be loaded ({why}).")
    return "\n\n".join(parts) + "\n"


def _table(results: dict[str, dict[str, Figures]], columns: tuple[tuple[str, ...], ...], group: str) -> str:
    return _across(results, [(heading, group, *keys) for heading, *keys in columns])


def _across(results: dict[str, dict[str, Figures]], columns: list[tuple[str, ...]]) -> str:
    """One row a peer; a column is (heading, group, keys...). Columns that nobody fills are left out."""

    def cell(groups: dict[str, Figures], group: str, keys: list[str]) -> str:
        values = [groups.get(group, {}).get(key) for key in keys]
        return " / ".join("–" if v is None else f"{v:.3g}" for v in values) if values[0] is not None else "–"

    rows = [[name, *(cell(groups, group, keys) for _, group, *keys in columns)] for name, groups in results.items()]
    lines = [["peer", *(heading for heading, *_ in columns)], ["---"] * (1 + len(columns)), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


if __name__ == "__main__":
    sys.exit(main())
