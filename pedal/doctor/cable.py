"""`undertoe doctor --loop`: a cable from the output to the input tells what this sound device is worth."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from pedal.doctor.finding import Finding
from pedal.live.set_up.cable_run import run_cable
from pedal.settings.parts import Settings
from pedal.soundcheck.cable_signal import PEAK_DB
from pedal.soundcheck.cable_words import CableRun, cable_remarks

LARGER = (2, 4)
"""Where the block of the settings does not hold, these times as many samples are tried."""
PATIENCE_S = 120.0
CARE = (
    "Put a cable from the output to the guitar's input, and headphones and loudspeakers away: "
    "sixteen seconds of test sounds."
)


def try_cable(settings: Settings) -> Iterator[Finding]:
    """Play and record on the devices of the settings; raises DeviceError."""
    from pedal import wiring

    def run(block_samples: int) -> CableRun | None:
        audio = replace(settings.audio, block_samples=block_samples)
        peak_db = min(PEAK_DB, audio.drone_ceiling_db)
        return run_cable(wiring.audio_source(audio), wiring.cable_output(audio), peak_db=peak_db)

    with wiring.hushed():
        yield from findings(run, settings.audio.block_samples)


def findings(run: Callable[[int], CableRun | None], block_samples: int) -> Iterator[Finding]:
    """A finding a figure; where blocks of so many samples do not hold, the first size that does."""
    first = run(block_samples)
    if first is None:
        return
    for remark in cable_remarks(first):
        yield Finding(remark.part, "ok" if remark.good else "warn", remark.fact, remark.remedy)
    if first.holds:
        return
    for times in LARGER:
        larger = run(times * block_samples)
        if larger is not None and larger.holds:
            fact = f"{larger.block_samples} samples hold for {larger.seconds:.0f} s"
            yield Finding("block size", "ok", fact, f"set audio.block_samples to {larger.block_samples}")
            return
    remedy = "another USB socket, no hub, a quicker machine, or docs/realtime.md"
    yield Finding("block size", "warn", f"even {LARGER[-1] * block_samples} samples do not hold", remedy)
