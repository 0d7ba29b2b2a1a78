"""The takes of the bench: notes of six strings, clean and degraded, with their truth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bench.curves import BLOCK, BLOCK_S, MOTIONS, RATE, Curve
from bench.strings import GUITARS, Sampler, Sound, modelled, note_hz, samplers

OPEN_STRINGS = (40, 45, 50, 55, 59, 64)
SILENCE_S = 0.3
HIGHEST_FRET = 17
DEGRADATIONS = ("hum", "hiss", "clipped", "crunch", "quiet", "offset", "ringing")


@dataclass(frozen=True)
class Take:
    """Samples, and the truth a block: `times_s`, `cents` over 10 Hz (void outside the note), `speed` in cents/s."""

    name: str
    motion: str
    region: str
    degraded: str
    samples: NDArray[np.float32]
    times_s: Curve
    cents: Curve
    speed: Curve
    onset_s: float
    end_s: float


def render(seed: int, rounds: int) -> list[Take]:
    """`rounds` takes of every motion on each of the two kinds of source, then a degraded copy of some."""
    rng = np.random.default_rng(seed)
    fonts = samplers()
    clean = []
    for source in ("modelled", "sampled") if fonts else ("modelled",):
        for round_ in range(rounds):
            for i, motion in enumerate(MOTIONS):
                string = OPEN_STRINGS[(round_ + i) % 6]
                clean.append(_one(source, motion, string, fonts, rng))
    worse = [
        _degrade(clean[rng.integers(len(clean))], how, rng) for how in DEGRADATIONS for _ in range(max(1, rounds // 2))
    ]
    return clean + worse


def _one(source: str, motion: str, string: int, fonts: list[Sampler], rng: np.random.Generator) -> Take:
    played = MOTIONS[motion](rng)
    key = string + int((HIGHEST_FRET + 1) * rng.random() ** 1.4)
    fade = round(played.fade_s / BLOCK_S)
    cents = np.concatenate([played.cents, np.full(fade, played.cents[-1])])
    if source == "modelled":
        tuning = rng.uniform(-8, 8)
        after_pluck = rng.uniform(0, 6) * np.exp(-np.arange(len(cents)) * BLOCK_S / 0.08)
        hz = note_hz(key) * 2 ** ((cents + tuning + after_pluck) / 1200)
        sound = modelled(hz, open_hz=note_hz(string), rng=rng)
    else:
        sound, hz = _sampled(key, cents, fonts, rng)
    return _framed(f"{source} {motion} {key}", motion, sound, hz, cents, fade, rng)


def _sampled(key: int, cents: Curve, fonts: list[Sampler], rng: np.random.Generator) -> tuple[Sound, Curve]:
    for _ in range(100):
        font, program = fonts[rng.integers(len(fonts))], int(rng.choice(GUITARS))
        offset = font.offset_cents(program, key)
        if offset is None:
            continue
        sound, whole = font.play(program, key, cents)
        if np.std(sound[-BLOCK * 40 :]) > 0.02 * np.abs(sound).max():
            return sound, note_hz(key) * 2 ** ((whole + offset) / 1200)
    raise RuntimeError(f"no steady sample of key {key} in {[f.name for f in fonts]}")


def _framed(name: str, motion: str, sound: Sound, hz: Curve, cents: Curve, fade: int, rng: np.random.Generator) -> Take:
    """Fade out, find where the tone starts (samples begin with pick noise), set between silences with a faint hiss."""
    sound[-fade * BLOCK :] *= np.cos(np.linspace(0, np.pi / 2, fade * BLOCK)) ** 2
    loud = np.abs(sound)
    onset = int(np.argmax(loud > 0.2 * loud[: int(0.12 * RATE)].max())) / RATE
    end = (len(hz) - fade * (1 - 2 / np.pi * np.arccos(10**-0.5))) * BLOCK_S  # 20 dB down
    lead = round(SILENCE_S / BLOCK_S)
    silence = np.zeros(lead * BLOCK)
    x = np.concatenate([silence, sound / loud.max(), silence]) * 10 ** (rng.uniform(-15, -4) / 20)
    x += rng.normal(size=len(x)) * 10 ** (-82 / 20)
    around = np.pad(hz, lead, mode="edge")
    speed = np.pad(np.gradient(cents, BLOCK_S), lead)
    middle = float(np.median(hz))
    region = "low" if middle < 150 else "mid" if middle < 350 else "high"
    times = (np.arange(len(around)) + 0.5) * BLOCK_S
    start = SILENCE_S
    return Take(
        name,
        motion,
        region,
        "",
        x.astype(np.float32),
        times,
        1200 * np.log2(around / 10),
        speed,
        start + onset,
        start + end,
    )


def _degrade(take: Take, how: str, rng: np.random.Generator) -> Take:
    x = take.samples.astype(np.float64)
    x /= np.abs(x).max()
    t = np.arange(len(x)) / RATE
    inside = (t > take.onset_s) & (t < take.end_s)
    if how == "hum":
        mains = rng.choice([50.0, 60.0])
        x += 10**-1.6 * sum(
            g * np.sin(2 * np.pi * mains * k * t + k) for k, g in ((1, 1), (2, 0.4), (3, 0.5), (5, 0.3))
        )
    elif how == "hiss":
        x += rng.normal(size=len(x)) * np.std(x[inside]) * 0.1
    elif how == "clipped":
        x = np.clip(x, -0.35, 0.35)
    elif how == "crunch":
        x = np.clip(x + 0.05, -0.12, 0.12)
    elif how == "offset":
        x += rng.choice([-0.5, 0.5])
    elif how == "ringing":
        other = sum(np.sin(2 * np.pi * note_hz(k + rng.uniform(-0.05, 0.05)) * t) for k in OPEN_STRINGS)
        x += 0.056 * inside * other / np.abs(other).max()
    peak = 10 ** (-50 / 20) if how == "quiet" else 0.5
    x = x / np.abs(x).max() * peak + rng.normal(size=len(x)) * 10 ** ((-92 if how == "quiet" else -82) / 20)
    return Take(
        f"{take.name} {how}", take.motion, take.region, how, x.astype(np.float32),
        take.times_s, take.cents, take.speed, take.onset_s, take.end_s,
    )  # fmt: skip
