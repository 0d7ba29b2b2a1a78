"""Asks the kernel to let the calling thread run before others, where it may."""

from __future__ import annotations

import os

PRIORITY = 10
"""Of 99: above everything ordinary, below the 50 at which Linux runs its own interrupt threads (sched(7))."""


def ask(priority: int) -> bool:
    """Whether the calling thread runs in real time from now on; False where the limits forbid it.

    First in, first out at `priority`, for this thread and not for what it may start (sched_setscheduler(2): a thread
    number of 0 is the calling thread). Nothing is changed by a refusal.
    """
    try:
        os.sched_setscheduler(0, os.SCHED_FIFO | os.SCHED_RESET_ON_FORK, os.sched_param(priority))
    except (OSError, AttributeError):  # not allowed; or a system that has no such call
        return False
    return True


def told(*, granted: bool) -> str:
    """The sentence of the start."""
    if granted:
        return f"hearing in real time, priority {PRIORITY}"
    return "hearing without real time: see `undertoe doctor`"
