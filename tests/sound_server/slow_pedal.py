"""The real command with a hearing that takes ten times as long as it would here, and holds the interpreter's lock.

Run as a module in place of `pedal.cli.entry`. At its end it says how slow it was.
"""

from __future__ import annotations

import atexit
import os
import sys
import time
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from pedal.chain import Chain
from pedal.cli.entry import program

TIMES = 10
_hear = Chain.hear
_spent = {"before_s": 0.0, "after_s": 0.0, "longest_s": 0.0}


def _slowly(self: Chain, samples: Any, *, lost_samples: int = 0) -> Any:
    begun_s = time.thread_time()
    heard = _hear(self, samples, lost_samples=lost_samples)
    cost_s = time.thread_time() - begun_s
    while time.thread_time() - begun_s < TIMES * cost_s:
        sum(range(200))
    took_s = time.thread_time() - begun_s
    _spent["before_s"] += cost_s
    _spent["after_s"] += took_s
    _spent["longest_s"] = max(took_s, _spent["longest_s"])
    return heard


def _tell() -> None:
    times = _spent["after_s"] / max(_spent["before_s"], 1e-9)
    all_s, longest_s = _spent["after_s"], _spent["longest_s"]
    sys.stderr.write(f"slow: {times:.1f} times, {all_s:.2f} s in all, {longest_s:.2f} s at once\n")


if __name__ == "__main__":
    Chain.hear = _slowly  # type: ignore[method-assign]
    atexit.register(_tell)
    program()
