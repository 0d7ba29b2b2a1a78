"""Settings -> the player's guitar: neck, strings, scale and the thresholds of force."""

from __future__ import annotations

from pedal.settings.parts import Settings
from pedal.theory.effort import Rig, Thresholds
from pedal.theory.neck import Neck
from pedal.theory.strings import GuitarString, usual_string

METRES_A_MM = 1e-3


def neck_of(settings: Settings) -> Neck:
    """The tuned neck of the settings."""
    return Neck(settings.tuning, settings.capo, settings.frets)


def rig_of(settings: Settings) -> Rig:
    """The guitar of the settings; raises ValueError where its strings do not fit it.

    Where no cores are given, strings are the ones usually sold in their gauges. A core as thick as its string makes a
    plain one.
    """
    gauges, cores = settings.strings.gauges_in, settings.strings.cores_in
    strings = tuple(usual_string(gauge) for gauge in gauges)
    if cores is not None:
        pairs = zip(gauges, cores, strict=True)
        strings = tuple(GuitarString(gauge, core if core < gauge else None) for gauge, core in pairs)
    force = settings.force
    return Rig(
        neck=neck_of(settings),
        strings=strings,
        scale_m=settings.strings.scale_mm * METRES_A_MM,
        a4_hz=settings.a4_hz,
        after_m=settings.strings.after_mm * METRES_A_MM,
        thresholds=Thresholds(force.medium_n, force.heavy_n, force.very_heavy_n),
    )
