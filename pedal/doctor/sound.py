"""The sound devices, and whether the configured input delivers what its label says."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from pedal.doctor.finding import Finding
from pedal.ports import AudioSource, SoundDevice
from pedal.settings.parts import Settings
from pedal.theory.cents import cents_between
from pedal.values import frozen

LISTEN_S = 1.0
SETTLE_S = 0.25
"""A sound server delivers its first blocks in a burst; they are not counted."""
PLAUSIBLE_CENTS = 50.0
"""Bursts of 10 ms in a second make 17 cents; the nearest pair of usual rates, 44.1 and 48 kHz, is 146.7 apart."""
_SILENT_DB, _CLIPPED_DB = -70.0, -0.1


def survey(settings: Settings, *, hear: bool) -> Iterator[Finding]:
    """The library, every device, and with `hear` what the configured input delivers."""
    from pedal import wiring

    yield Finding("sound library", "ok", wiring.portaudio_version())
    found = wiring.sound_devices()
    yield from devices(found)
    if hear and any(device.inputs for device in found):
        yield from input_in_use(wiring.audio_source(settings.audio), settings)


def devices(found: Sequence[SoundDevice]) -> Iterator[Finding]:
    """Every device in and out, and whether there is an input at all."""
    for device in found:
        ways = [f"{n} {way}" for n, way in ((device.inputs, "in"), (device.outputs, "out")) if n]
        usual = [
            way for is_it, way in ((device.is_default_input, "input"), (device.is_default_output, "output")) if is_it
        ]
        note = f", default {' and '.join(usual)}" if usual else ""
        rate = f"{device.default_rate_hz} Hz"
        yield Finding(f"sound device {device.number}", "ok", f"{device.name}: {', '.join(ways)}, {rate}{note}")
    if not any(device.inputs for device in found):
        remedy = "plug the interface in and look again; as a service, the user must be in group audio"
        yield Finding("sound input", "missing", "no device has an input", remedy)
    if not any(device.outputs for device in found):
        yield Finding("sound output", "warn", "no device has an output", "without one there is no drone")


@frozen
class Delivered:
    """What came in `LISTEN_S` seconds: samples a second by the clock, the peak, and blocks that were lost."""

    rate_hz: float
    peak_db: float
    overflows: int


def listen(source: AudioSource, now_s: Callable[[], float] = time.monotonic) -> tuple[str, int, Delivered]:
    """(device, rate by its label, what came); raises DeviceError."""
    facts = source.open()
    try:
        began = now_s()
        while now_s() - began < SETTLE_S:
            source.read()
        began, samples, peak, overflows = now_s(), 0, 0.0, 0
        while now_s() - began < LISTEN_S:
            block = source.read()
            if block is None:
                break
            samples += len(block.samples) + block.lost_samples
            overflows += block.overflows
            peak = max(peak, float(np.max(np.abs(block.samples), initial=0.0)))
        took = max(now_s() - began, 1e-6)
    finally:
        source.close()
    return facts.device, facts.sample_rate, Delivered(samples / took, 20 * math.log10(max(peak, 1e-6)), overflows)


def input_in_use(
    source: AudioSource, settings: Settings, now_s: Callable[[], float] = time.monotonic
) -> Iterator[Finding]:
    """Open the configured input for a second: whether it opens, at the rate asked for, and tells its rate truly."""
    device, label_hz, delivered = listen(source, now_s)
    yield Finding("input in use", "ok", f"{device}, {label_hz} Hz, channel {settings.audio.channel}")
    if label_hz != settings.audio.rate_hz:
        remedy = f"set audio.rate_hz to {label_hz}; judging is as good at this rate"
        yield Finding("input rate", "warn", f"{settings.audio.rate_hz} Hz was asked for", remedy)
    yield from _truth_of_the_rate(label_hz, delivered)
    yield from _level(delivered)


def _truth_of_the_rate(label_hz: int, delivered: Delivered) -> Iterator[Finding]:
    if delivered.rate_hz <= 0:
        remedy = "wake or replug the interface; a muted or suspended sound server does this too"
        yield Finding("input rate", "missing", "the stream opens but nothing comes", remedy)
        return
    off_cents = cents_between(delivered.rate_hz, label_hz)
    fact = f"{delivered.rate_hz:.0f} samples a second by the clock"
    if abs(off_cents) <= PLAUSIBLE_CENTS:
        yield Finding("input rate", "ok", fact)
    else:
        remedy = "set audio.rate_hz to what the interface really runs at, or end what else has set its clock"
        yield Finding("input rate", "missing", f"{fact}: every note would read {off_cents:+.0f} cents off", remedy)


def _level(delivered: Delivered) -> Iterator[Finding]:
    fact = f"peak {delivered.peak_db:.0f} dBFS in a second"
    if delivered.overflows:
        yield Finding("input flow", "warn", f"{delivered.overflows} overflows in a second", "raise audio.block_samples")
    if delivered.peak_db >= _CLIPPED_DB:
        yield Finding("input level", "warn", f"{fact}: clipped", "turn the input gain down")
    elif delivered.peak_db < _SILENT_DB:
        remedy = "play while the doctor listens; if it stays silent look at cable, volume, gain and audio.channel"
        yield Finding("input level", "ok", f"{fact}: silence", remedy)
    else:
        yield Finding("input level", "ok", fact)
