"""Figures of a cable from output to input -> a sentence each, with what to do where one is not good."""

from __future__ import annotations

from collections.abc import Iterator

from pedal.soundcheck.cable import CableFigures
from pedal.soundcheck.noise import NOISY_DB, noise_fact_and_remedy
from pedal.values import frozen

OUT_SAMPLES = 1024
"""The output's blocks: it has time, and one that runs dry would say nothing of the input."""
SLOW_S = 0.1
"""Two of the output's blocks and the input's, at 44.1 kHz, are some 50 ms; twice that is a server with long buffers."""
FAINT_DB = -40.0
"""Quieter than this the way back is not what was played: another channel, a volume at its end."""
DISTORTED_PERCENT = 1.0
"""Of a converter's output and input together, 0.01 % is usual and 0.1 % poor; from here something overloads (from
memory). A guitar's own partials are judged all the same."""
APART_PPM = 300.0
"""Crystals keep within 100 millionths of what they say (makers' usual bound, from memory); two of them within twice."""
CENTS_A_PPM = 1.731e-3
"""1200 / ln 2 millionths of a cent."""


@frozen
class CableRun:
    """One run: its figures, and what the program itself saw of it.

    told_lost_samples : those that the input said it lost; they are in the recording as silence.
    delay_s : from asking for a sample of the output to having it from the input.
    """

    figures: CableFigures
    told_lost_samples: int
    delay_s: float
    seconds: float
    rate_hz: int
    block_samples: int

    @property
    def holds(self) -> bool:
        """No sample was lost on the way in, known or not, and no sound came back torn."""
        return not (self.told_lost_samples or self.figures.lost_samples or self.figures.holes)


@frozen
class CableRemark:
    """One sentence: what it is about, whether that is good, the fact with its figure, and a remedy or ""."""

    part: str
    good: bool
    fact: str
    remedy: str = ""


def cable_remarks(run: CableRun) -> tuple[CableRemark, ...]:
    """All of them, in the order of a page."""
    return (*_of_time(run), *_of_sound(run))


def _of_time(run: CableRun) -> Iterator[CableRemark]:
    figures, block_ms = run.figures, 1e3 * run.block_samples / run.rate_hz
    if run.delay_s < 0.0:  # no sound comes back before it was asked for
        fact = "the stream stopped and went on while it was measured: no delay could be told"
        yield CableRemark("cable delay", False, fact, "end what else this machine does, and measure anew")
    else:
        way = f"out in blocks of {OUT_SAMPLES} and back in {run.block_samples} ({block_ms:.1f} ms)"
        good = run.delay_s <= SLOW_S
        remedy = "choose the interface itself rather than a sound server; docs/realtime.md says what each step costs"
        yield CableRemark("cable delay", good, f"{1e3 * run.delay_s:.1f} ms {way}", "" if good else remedy)
    lost, told = figures.lost_samples, run.told_lost_samples
    if not told + lost:
        yield CableRemark("cable losses", True, f"no sample lost in {run.seconds:.0f} s")
    else:
        fact = f"{told + lost} samples lost in {run.seconds:.0f} s, {lost} of them unnoticed"
        yield CableRemark("cable losses", False, fact, "raise audio.block_samples, and end what else this machine does")
    if figures.holes:
        places = "1 place" if figures.holes == 1 else f"{figures.holes} places"
        fact = f"torn in {places}: level and distortion are of the longest whole stretch"
        yield CableRemark("cable holes", False, fact, "end what else this machine does, and measure anew")
    if figures.added_samples:
        fact = f"the output ran dry for {figures.added_samples} samples in {run.seconds:.0f} s"
        yield CableRemark("cable output", False, fact, "end what else this machine does; a drone would click")
    words = "samples hold" if run.holds else "samples do not hold"
    yield CableRemark("block size", run.holds, f"{run.block_samples} {words} for {run.seconds:.0f} s")
    ppm = figures.drift_ppm
    good = abs(ppm) <= APART_PPM
    faster = "input" if ppm > 0 else "output"
    fact = f"{abs(ppm):.1f} millionths apart ({abs(ppm) * CENTS_A_PPM:.2f} cents), the {faster}'s the faster"
    yield CableRemark("two clocks", good, fact, "" if good else "let one device both play and record")


def _of_sound(run: CableRun) -> Iterator[CableRemark]:
    figures = run.figures
    if figures.clipped:
        yield CableRemark("cable level", False, "what comes back is clipped", "turn the input's gain down")
    else:
        way = "upside down, " if figures.inverted else ""
        good = figures.gain_db > FAINT_DB
        remedy = "" if good else "turn the output's volume up, or look whether this is the channel of the cable"
        yield CableRemark("cable level", good, f"{way}{figures.gain_db:+.1f} dB against what was sent", remedy)
        good = figures.distortion_percent <= DISTORTED_PERCENT
        fact = f"{figures.distortion_percent:.3f} % ({figures.distortion_db:.0f} dB), harmonics 2 to 10 of 997 Hz"
        yield CableRemark("distortion", good, fact, "" if good else "turn the output's volume or the input's gain down")
    noise = figures.noise
    if noise is not None:
        good = noise.total_db < NOISY_DB
        yield CableRemark("cable noise", good, *noise_fact_and_remedy(noise))
        hum = f"{noise.mains_hz:.0f} Hz at {noise.hum_db:.0f} dBFS" if noise.mains_hz else "none stands out of the hiss"
        yield CableRemark("cable hum", good or not noise.mains_hz, hum)
