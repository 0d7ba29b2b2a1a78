"""Figures of noise in words, with what to do about them."""

from __future__ import annotations

from pedal.soundcheck.noise import Noise

QUIET_DB, NOISY_DB = -70.0, -55.0
"""Silence is taken to be at -75 dBFS until it was heard, and a note is heard 8 dB over it: below -70 nothing is lost.
From -55 a note at -20 dBFS, which loses some 10 dB a second, is lost in noise after two to three seconds."""
HUM_OVER_HISS_DB = 3.0
"""From here the hum is what is heard."""
SOUNDED_DB = 14.0
"""The loudest 5 ms of noise stand this far over its mean at most: twice what hum and its peaks reach; a note, more."""


def noise_title(noise: Noise) -> str:
    """One word: QUIET, HUM or HISS."""
    if noise.total_db < QUIET_DB:
        return "QUIET"
    return "HUM" if noise.mains_hz and noise.hum_db >= noise.hiss_db + HUM_OVER_HISS_DB else "HISS"


def noise_words(noise: Noise) -> str:
    """One sentence with its figures and, where something could be better, what to do."""
    return " ".join(f"{words}." for words in noise_fact_and_remedy(noise) if words)


def noise_fact_and_remedy(noise: Noise) -> tuple[str, str]:
    """Both apart, without a full stop; the remedy is "" where nothing could be better."""
    level = f"{noise.total_db:.0f} dBFS"
    if noise.total_db < QUIET_DB:
        return f"Quiet: noise at {level}", ""
    how = "Much" if noise.total_db >= NOISY_DB else "Some"
    if noise_title(noise) == "HUM":
        return f"{how} hum: {noise.mains_hz:.0f} Hz at {noise.hum_db:.0f} dBFS", "Isolated supply, one outlet for all"
    return f"{how} hiss: {level}", "Guitar at full volume, input gain lower"
