"""Mixtures of real sound, drawn by number: two recordings, each done violence to, and what the pedal makes of them.

Recordings: Debian's `sonic-pi-samples` (CC0), notes of the sound font that the tests play, and every WAV, FLAC and AIFF
below the folder that UNDERTOE_FUZZ_FOLDER names, if it names one.

Two recordings **overlap** in a note where both sound and neither is more than 6 dB below the other (RMS of 20 ms, of
each as it is mixed) for at least half of the time that the note lasts. A verdict has a **number** where it is not
"unclear" or gives an error in cents.

    python -m tests.fuzz.mixing --first 0 --count 250
    python -m tests.fuzz.mixing --each

print the rates, of mixtures or of each recording alone, and a line for each that breaks a rule. A number always gives
the same mixture, as long as the recordings are the same.
"""

from __future__ import annotations

import argparse
import math
import os
import traceback
from collections import Counter
from dataclasses import dataclass, field, fields
from functools import lru_cache
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy.signal import resample_poly

from pedal.chain import Chain, hop_samples
from pedal.pitch import Reading
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Aim
from pedal.verdicts.verdict import Verdict
from tests.sound_server.sampled_guitar import SampledGuitar, Sounded

SAMPLES = Path("/usr/share/sonic-pi/samples")
FOLDER = "UNDERTOE_FUZZ_FOLDER"
RATES = (44_100, 48_000, 88_200, 96_000)
ALIGNMENTS = 8
LONGEST_S = 4.0
OVERLAP_DB, OVERLAP_SHARE = 6.0, 0.5
_FRAME_S, _SOUNDS_DB = 0.02, -60.0
_LOW_HZ, _HIGH_HZ = 20.0, 5000.0
_KEYS = ("G minor pentatonic", "E blues", "C# minor pentatonic", "A major")

Sound = NDArray[np.float64]


@dataclass(frozen=True)
class FontNote:
    """A note of the sound font: a General MIDI program, a key, and a bend in cents that takes so long."""

    program: int
    midi: int
    cents: float

    def __str__(self) -> str:
        return f"font:{self.program}/{self.midi}{self.cents:+g}"


Source = Path | FontNote
FONT_NOTES = tuple(
    FontNote(program, midi, cents)
    for program in (0, 24, 25, 26, 27, 28, 29, 30, 33, 40, 56, 65, 73)
    for midi, cents in ((40, 0.0), (50, 200.0), (58, 35.0), (65, 200.0), (69, 300.0), (76, 0.0))
)
"""Pianos, guitars, a bass, a violin, winds: some bent, as a finger would."""


def sources() -> list[Source]:
    """Everything that may be mixed, in an order that stays."""
    found: list[Source] = [*sorted(SAMPLES.glob("*.flac")), *FONT_NOTES]
    folder = os.environ.get(FOLDER)
    if folder:
        kinds = {".wav", ".flac", ".aif", ".aiff"}
        found += sorted(path for path in Path(folder).rglob("*") if path.suffix.lower() in kinds)
    return found


@lru_cache(64)
def recorded(source: Source) -> tuple[Sound, int]:
    """Samples of peak 1 and their rate."""
    if isinstance(source, FontNote):
        guitar = SampledGuitar(source.program)
        sound, rate = guitar.play(Sounded(source.midi, [(0.35, 0.0), (0.3, source.cents), (1.2, source.cents)])), 48_000
        guitar.close()
    else:
        with soundfile.SoundFile(source) as file:
            rate = file.samplerate
            sound = file.read(round(2 * LONGEST_S * rate), dtype="float64", always_2d=True).mean(axis=1)
    return sound / max(1e-9, float(np.abs(sound).max(initial=0.0))), rate


@dataclass
class Mixture:
    """What the pedal hears, the two sounds apart, and how it was made."""

    rate: int
    heard: NDArray[np.float32]
    apart: tuple[Sound, Sound]
    lost: dict[int, int]
    """At a sample of `heard`: how many were lost before it, told to the pedal as a driver tells."""
    words: list[str] = field(default_factory=list)


def mixture(number: int, among: list[Source]) -> Mixture:
    """The mixture of this number."""
    rng = np.random.default_rng([15, number])
    rate = RATES[int(rng.integers(len(RATES)))]
    words = [f"{rate} Hz"]
    one, two = (_drawn(among[int(rng.integers(len(among)))], rate, rng, words) for _ in range(2))
    level_db = float(rng.uniform(-6, 6) if rng.random() < 0.6 else rng.uniform(-24, 24))
    two = two * 10 ** (level_db / 20)
    later = int(rng.uniform(0, 0.8) * rate) if rng.random() < 0.5 else 0
    lead = int(0.5 * rate) + int(rng.integers(ALIGNMENTS)) * hop_samples(rate) // ALIGNMENTS
    length = lead + max(len(one), later + len(two)) + int(0.3 * rate)
    apart = np.zeros((2, length))
    apart[0, lead : lead + len(one)] = one
    apart[1, lead + later : lead + later + len(two)] = two
    loud = 10 ** (rng.uniform(-40, 0) / 20) / max(1e-9, float(np.abs(apart.sum(axis=0)).max()))
    apart *= loud
    heard = apart.sum(axis=0) + rng.normal(size=length) * 10 ** (rng.uniform(-90, -55) / 20)
    words.append(f"second {level_db:+.1f} dB, {later / rate:.2f} s later")
    if rng.random() < 0.25:
        gain = float(rng.uniform(2, 30))
        heard = np.clip(heard * gain, -1, 1)
        words.append(f"clipped ×{gain:.0f}")
    lost: dict[int, int] = {}
    if rng.random() < 0.35:
        heard, apart, lost = _with_gaps(heard, apart, rate, rng, words)
    return Mixture(rate, np.clip(heard, -1, 1).astype(np.float32), (apart[0], apart[1]), lost, words)


def alone(number: int, among: list[Source]) -> Mixture:
    """The recording of this number as it is, at a rate and an alignment that change with the number."""
    sound, own_rate = recorded(among[number])
    rate = RATES[number % len(RATES)]
    lead = int(0.5 * rate) + (number // len(RATES)) % ALIGNMENTS * hop_samples(rate) // ALIGNMENTS
    piece = resample_poly(sound[: int(LONGEST_S * own_rate)], *_fraction(rate / own_rate))
    heard = np.concatenate([np.zeros(lead), 0.5 * piece, np.zeros(int(0.3 * rate))])
    return Mixture(rate, heard.astype(np.float32), (heard, np.zeros(len(heard))), {}, [f"{among[number]} at {rate} Hz"])


def _drawn(source: Source, rate: int, rng: np.random.Generator, words: list[str]) -> Sound:
    """A piece of a recording, at another speed, perhaps backwards."""
    sound, own_rate = recorded(source)
    octaves = float(rng.uniform(-3, 3)) if rng.random() < 0.6 else 0.0
    ratio = rate / own_rate / 2**octaves
    up, down = _fraction(ratio)
    needed = int(LONGEST_S * rate / ratio)
    first = int(rng.uniform(0, max(1, len(sound) - needed // 4))) if rng.random() < 0.6 else 0
    piece = resample_poly(sound[first : first + needed], up, down)[: int(LONGEST_S * rate)]
    piece = piece[: max(1, int(len(piece) * rng.uniform(0.2, 1.0)))] if rng.random() < 0.5 else piece
    backwards = rng.random() < 0.25
    name = source.stem if isinstance(source, Path) else str(source)
    words.append(f"{name} from {first / own_rate:.2f} s {octaves:+.2f} octaves{' backwards' if backwards else ''}")
    return np.asarray(piece[::-1] if backwards else piece, dtype=np.float64)


def _fraction(ratio: float) -> tuple[int, int]:
    """A ratio as two whole numbers that a resampler manages."""
    if ratio >= 1:
        return max(1, round(ratio * 40)), 40
    return 40, max(1, round(40 / ratio))


def _with_gaps(
    heard: Sound, apart: Sound, rate: int, rng: np.random.Generator, words: list[str]
) -> tuple[Sound, Sound, dict[int, int]]:
    """One to three holes: silence in the samples, or samples that the pedal is told are lost."""
    lost: dict[int, int] = {}
    gone = np.zeros(len(heard), dtype=bool)
    for _ in range(int(rng.integers(1, 4))):
        first, length = int(rng.integers(len(heard))), int(rng.uniform(0.001, 0.3) * rate)
        if rng.random() < 0.5:
            heard[first : first + length] = 0.0
            words.append(f"silent for {length / rate:.3f} s")
        else:
            gone[first : first + length] = True
            words.append(f"lost {length / rate:.3f} s")
    edges = np.flatnonzero(np.diff(gone.astype(np.int8), prepend=0, append=0))
    before = 0
    for first, end in edges.reshape(-1, 2).tolist():
        lost[first - before] = end - first
        before += end - first
    return heard[~gone], apart, lost


@dataclass
class Rates:
    """What was counted over mixtures; `broken` has a line for each that broke a rule."""

    counts: Counter[str] = field(default_factory=Counter)
    broken: dict[str, list[str]] = field(default_factory=dict)

    def breaks(self, rule: str, what: str) -> None:
        """Count it, and keep a line."""
        self.broken.setdefault(rule, []).append(what)


def play(number: int, mixed: Mixture, rates: Rates) -> None:
    """Let the pedal hear a mixture and count what it does."""
    told = f"{number}: " + ", ".join(mixed.words)
    rates.counts["mixtures"] += 1
    rates.counts["seconds"] += round(len(mixed.heard) / mixed.rate)
    rng = np.random.default_rng([16, number])
    chain = Chain(mixed.rate, Aim(parse_key(_KEYS[number % len(_KEYS)])))
    verdicts: list[Verdict] = []
    try:
        for piece, lost in _pieces(mixed, rng):
            for heard in chain.push(piece, lost_samples=lost):
                if isinstance(heard, Reading):
                    _look_at_reading(heard, told, rates)
                elif isinstance(heard, Verdict):
                    verdicts.append(heard)
            if chain.now_hz and not _LOW_HZ <= chain.now_hz <= _HIGH_HZ:
                rates.breaks("readings outside", f"{told}: now {chain.now_hz:.1f} Hz")
        verdicts += [heard for heard in chain.finish() if isinstance(heard, Verdict)]
    except Exception:
        rates.breaks("crashes", f"{told}\n{traceback.format_exc()}")
    for verdict in verdicts:
        _look_at_verdict(verdict, mixed, told, rates)


def _pieces(mixed: Mixture, rng: np.random.Generator) -> list[tuple[NDArray[np.float32], int]]:
    """The sound cut anywhere; a piece begins wherever samples were lost."""
    cuts, at = {0, *mixed.lost}, 0
    while (at := at + int(rng.integers(1, 6000))) < len(mixed.heard):
        cuts.add(at)
    starts = sorted(cut for cut in cuts if cut < len(mixed.heard))
    ends = [*starts[1:], len(mixed.heard)]
    return [(mixed.heard[a:b], mixed.lost.get(a, 0)) for a, b in zip(starts, ends, strict=True)]


def _look_at_reading(reading: Reading, told: str, rates: Rates) -> None:
    rates.counts["readings"] += 1
    if reading.hz == 0.0:
        return
    rates.counts["readings with a pitch"] += 1
    if not (_LOW_HZ <= reading.hz <= _HIGH_HZ and 0.0 <= reading.confidence <= 1.0):
        rates.breaks("readings outside", f"{told}: {reading}")


def has_number(verdict: Verdict) -> bool:
    """Whether a player would read a figure or a judgement off it."""
    return verdict.verdict != "unclear" or verdict.error_cents is not None


def overlap_share(mixed: Mixture, begin_s: float, end_s: float) -> float:
    """Share of the time in which both recordings sound within 6 dB of each other."""
    frame = round(_FRAME_S * mixed.rate)
    first, last = (
        int(begin_s * mixed.rate) // frame,
        max(1 + int(begin_s * mixed.rate) // frame, int(end_s * mixed.rate) // frame),
    )
    levels = []
    for sound in mixed.apart:
        piece = sound[first * frame : last * frame]
        piece = piece[: len(piece) - len(piece) % frame].reshape(-1, frame)
        levels.append(10 * np.log10(np.mean(piece**2, axis=1) + 1e-12))
    one, two = levels
    both = (one > _SOUNDS_DB) & (two > _SOUNDS_DB) & (np.abs(one - two) <= OVERLAP_DB)
    return float(np.mean(both)) if len(both) else 0.0


def _look_at_verdict(verdict: Verdict, mixed: Mixture, told: str, rates: Rates) -> None:
    rates.counts["verdicts"] += 1
    numbers = [getattr(verdict, f.name) for f in fields(verdict) if isinstance(getattr(verdict, f.name), float)]
    if not all(map(math.isfinite, numbers)) or verdict.end_s < verdict.onset_s:
        rates.breaks("verdicts that are none", f"{told}: {verdict}")
    overlap = overlap_share(mixed, verdict.onset_s, verdict.end_s) >= OVERLAP_SHARE
    rates.counts["verdicts while two overlap"] += overlap
    if has_number(verdict):
        rates.counts["verdicts with a number"] += 1
        if overlap:
            what = (
                f"{verdict.kind} {verdict.rest_note} {verdict.verdict} {verdict.error_cents} at {verdict.onset_s:.2f}"
            )
            rates.breaks("numbers while two overlap", f"{told}: {what} to {verdict.end_s:.2f} s")


def main() -> None:
    """Rates over a slice of mixtures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--each", action="store_true", help="each recording alone, in place of mixtures")
    wanted = parser.parse_args()
    rates, among = Rates(), sources()
    numbers = range(len(among)) if wanted.each else range(wanted.first, wanted.first + wanted.count)
    for number in numbers:
        play(number, alone(number, among) if wanted.each else mixture(number, among), rates)
    print(dict(rates.counts))
    for rule, lines in rates.broken.items():
        print(f"{rule}: {len(lines)}", *lines, sep="\n  ")


if __name__ == "__main__":
    main()
