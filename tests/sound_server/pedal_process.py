"""`undertoe live` as a process: started, waited for, stopped, and what it said."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

DEADLINE_S = 120.0
TRIES = 4
LATE_S = 10.0
"""So long the rest of a torn sound is waited for, and the word that some is lost: it is said after two seconds."""


def until(true: Callable[[], object], *, what: str, deadline_s: float = DEADLINE_S) -> None:
    """Wait for something that another process does; a generous deadline, never an expected time."""
    assert comes(true, within_s=deadline_s), f"waited {deadline_s:.0f} s for {what}"


def comes(true: Callable[[], object], *, within_s: float) -> bool:
    """The same for what a busy machine may have torn away: whether it came in time."""
    end_s = time.monotonic() + within_s
    while not true():
        if time.monotonic() >= end_s:
            return False
        time.sleep(0.02)
    return True


class PedalProcess:
    """The real command in a folder of its own; leaving the `with` kills what is left of it."""

    def __init__(
        self,
        environment: Mapping[str, str],
        folder: Path,
        *words: str,
        through: Sequence[str] = (),
        program: Sequence[str] = ("-m", "pedal.cli.entry", "live"),
    ) -> None:
        """`through`: a command that runs the rest of its line, and becomes it; `program`: what Python runs."""
        folder.mkdir(parents=True, exist_ok=True)
        self._out, self._err = folder / "out", folder / "err"
        own = {"XDG_STATE_HOME": str(folder), "XDG_CONFIG_HOME": str(folder), "PYTHONUNBUFFERED": "1"}
        with self._out.open("wb") as out, self._err.open("wb") as err:
            self.process = subprocess.Popen(
                [*through, sys.executable, *program, *words],
                env={**environment, **own}, stdin=subprocess.DEVNULL, stdout=out, stderr=err,
            )  # fmt: skip

    def __enter__(self) -> PedalProcess:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait(DEADLINE_S)

    @property
    def said(self) -> str:
        return self._err.read_text()

    @property
    def torn(self) -> bool:
        """Whether sound was missing on its way in."""
        return is_torn(self.said)

    @property
    def lines(self) -> list[dict[str, Any]]:
        # The last one may be half written.
        return [json.loads(line) for line in self._out.read_text().rpartition("\n")[0].splitlines()]

    def until_said(self, words: str, *, times: int = 1) -> None:
        def said() -> bool:
            assert self.process.poll() is None or self.said.count(words) >= times, f"it ended: {self.said}"
            return self.said.count(words) >= times

        until(said, what=f"{words!r}; it said {self.said!r}")

    def hear_out(self, notes: int) -> None:
        """Wait until so many notes were told: of what a busy machine tore fewer come, and `LATE_S` must do."""
        comes(lambda: len(self.lines) >= notes, within_s=LATE_S)

    def stop(self, how: signal.Signals = signal.SIGTERM) -> tuple[int, float]:
        """Its exit status, and the seconds from the signal to the end."""
        os.kill(self.process.pid, how)
        begun_s = time.monotonic()
        status = self.process.wait(DEADLINE_S)
        return status, time.monotonic() - begun_s


def is_torn(said: str) -> bool:
    """Whether a pedal said that sound was missing on its way in, or that its end was cut short: a busy machine."""
    return " lost " in said or "the audio input stopped" in said or "did not stop in time" in said


def true_bends(pedal: PedalProcess) -> int:
    """How many were told so far."""
    return sum(map(is_true_bend, pedal.lines))


def is_true_bend(line: dict[str, Any]) -> bool:
    return (line["kind"], line["verdict"]) == ("bend", "true")


def told_true(pedal: PedalProcess, plays_whole: Callable[[], bool]) -> dict[str, Any]:
    """The verdict of a bend that is told true; played again only if a busy machine tore it, before or in the pedal."""
    for _ in range(TRIES):
        had = len(pedal.lines)
        whole = plays_whole()
        # Of a torn bend perhaps nothing is told; and what is told late must not pass for the answer to the next one.
        comes(lambda: any(map(is_true_bend, pedal.lines[had:])), within_s=LATE_S)  # noqa: B023 - called here
        for line in pedal.lines[had:]:
            if is_true_bend(line):
                return line
        assert pedal.process.poll() is None, f"it ended: {pedal.said}"
        assert not whole or pedal.torn, f"it came whole and was told as {pedal.lines[had:]}; it said {pedal.said!r}"
    raise AssertionError(f"no true bend in {TRIES} plays: {pedal.lines}")
