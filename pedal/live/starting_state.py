"""Settings and words of the command line -> what the judge aims at and where the pedal begins."""

from __future__ import annotations

import dataclasses
from typing import cast

from pedal.errors import UsageError
from pedal.modes.names import ModeName
from pedal.modes.state import LIGHT_RIG, Backing, Density, Follow, Order, PedalState
from pedal.settings.guitar import neck_of, rig_of
from pedal.settings.parts import Settings
from pedal.theory.cents import A4_LEAST_HZ, A4_MOST_HZ
from pedal.theory.effort import Rig
from pedal.theory.pulse import Feel
from pedal.theory.scale import KeyNameError, parse_key
from pedal.theory.strings import StringSetError
from pedal.verdicts.aim import Aim, JudgeAs


def with_words(settings: Settings, *, key_words: str | None, a4_hz: float | None) -> Settings:
    """The settings with the key and concert pitch of the command line, where given; raises UsageError."""
    if key_words is not None:
        try:
            settings = dataclasses.replace(settings, key=parse_key(key_words))
        except KeyNameError as fault:
            raise UsageError(f"--key: {fault}") from fault
    if a4_hz is not None:
        if not A4_LEAST_HZ <= a4_hz <= A4_MOST_HZ:
            raise UsageError(f"--a4: {a4_hz:g} Hz is no concert pitch: give {A4_LEAST_HZ:g} to {A4_MOST_HZ:g}")
        settings = dataclasses.replace(settings, a4_hz=a4_hz)
    return settings


def aim_of(settings: Settings, *, judge_as: JudgeAs) -> Aim:
    """The aim at any note of the key."""
    return Aim(
        key=settings.key,
        judge_as=judge_as,
        bands=settings.bands,
        a4_hz=settings.a4_hz,
        lowest_midi=neck_of(settings).lowest_midi,
    )


def starting_state(settings: Settings) -> PedalState:
    """Where the pedal begins, before the pedal remembers anything."""
    # The table of settings lets no other words through than those of the modes.
    return PedalState(
        key=settings.key,
        neck=neck_of(settings),
        a4_hz=settings.a4_hz,
        bands=settings.bands,
        mode=cast(ModeName, settings.modes.start),
        modes=cast(tuple[ModeName, ...], settings.modes.order),
        order=cast(Order, settings.modes.ladder),
        backing=cast(Backing, settings.time.backing),
        bpm=settings.time.tempo_bpm,
        feel=cast(Feel, settings.time.feel),
        follow=cast(Follow, settings.time.bends_to),
        delay_ms=settings.time.delay_ms,
        delay_heard=settings.time.delay_ms != 0.0,
        players=settings.players.names,
        player=(*settings.players.names, "")[0],
        hands=tuple(zip(settings.players.names, settings.players.heavy_n, strict=False)),
        repeat=settings.modes.repeat,
        round_minutes=settings.round.minutes,
        round_rest_s=settings.round.rest_s,
        heavy_most=settings.round.heavy_bends,
        density=cast(Density, settings.display.density),
        drone_db=settings.audio.drone_db,
        ceiling_db=settings.audio.drone_ceiling_db,
        rig=_rig(settings),
        device="" if settings.audio.input is None else str(settings.audio.input),
    )


def _rig(settings: Settings) -> Rig:
    """The guitar of the settings, for the support that a bend calls for; light strings where its own would break."""
    try:
        return rig_of(settings)
    except StringSetError:
        return LIGHT_RIG
