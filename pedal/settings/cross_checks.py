"""Settings that are right alone and wrong together: each rule names the keys of which one must change."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

Values = dict[str, Any]
Complaint = tuple[tuple[str, ...], str]
"""The keys of which one must change, the likeliest first, and the sentence."""

_RISING = (
    ("bands.true_cents", "bands.near_cents"),
    ("bands.curl_least_cents", "bands.zone_low_cents"),
    ("bands.zone_high_cents", "bands.zone_near_cents"),
    ("force.medium_n", "force.heavy_n"),
    ("force.heavy_n", "force.very_heavy_n"),
    ("audio.drone_db", "audio.drone_ceiling_db"),
    ("display.dim_after_s", "display.blank_after_s"),
)
"""Pairs of which the first may not be the greater."""
_APART = (
    ("bands.zone_low_cents", "bands.zone_high_cents"),
    ("switches.debounce_s", "switches.both_s"),
    ("switches.both_s", "switches.double_s"),
    ("switches.double_s", "switches.long_s"),
    ("switches.long_s", "switches.held_s"),
    ("switches.held_s", "switches.stuck_s"),
)
"""Pairs of which the first must be the less: the same that `GestureTimes` and `BlueZone` ask for."""
_BUS_PINS = {"i2c": (2, 3), "spi": (7, 8, 9, 10, 11)}
"""GPIO numbers that the two buses of the 40-pin header take."""


def disagreements(values: Values, *, given: frozenset[str]) -> Iterator[tuple[str, str]]:
    """(key, sentence) for each rule that the `given` keys break; the key is one of them, since defaults agree."""
    for rule in _RULES:
        for keys, sentence in rule(values):
            if written := [key for key in keys if key in given]:
                yield written[0], sentence


def _rising(values: Values) -> Iterator[Complaint]:
    for low, high in _RISING:
        if values[low] > values[high]:
            yield (high, low), f"expected {low} not above {high} (got {values[low]:g} and {values[high]:g})"
    for low, high in _APART:
        if values[low] >= values[high]:
            yield (high, low), f"expected {low} below {high} (got {values[low]:g} and {values[high]:g})"


def _capo(values: Values) -> Iterator[Complaint]:
    capo, frets = values["capo"], values["frets"]
    if capo + 12 > frets:
        yield ("capo", "frets"), f"expected an octave of frets above the capo (got capo {capo} on {frets} frets)"


def _string_set(values: Values) -> Iterator[Complaint]:
    strings, gauges, cores = values["tuning"].strings, values["strings.gauges_in"], values["strings.cores_in"]
    for key, diameters in (("strings.gauges_in", gauges), ("strings.cores_in", cores)):
        if diameters is not None and len(diameters) != strings:
            sentence = f"expected {strings} diameters in {key}, one a string of the tuning (got {len(diameters)})"
            yield (key, "tuning"), sentence
    for number, (gauge, core) in enumerate(zip(gauges, cores or (), strict=False), start=1):
        if core > gauge:
            sentence = f"expected the core of string {number} no thicker than the string (got {core:g} in {gauge:g})"
            yield ("strings.cores_in", "strings.gauges_in"), sentence


def _start_mode(values: Values) -> Iterator[Complaint]:
    if values["modes.start"] not in values["modes.order"]:
        yield ("modes.start", "modes.order"), f"expected one of modes.order (got {values['modes.start']})"


def _players(values: Values) -> Iterator[Complaint]:
    names, forces = values["players.names"], values["players.heavy_n"]
    if forces and len(forces) != len(names):
        sentence = f"expected one force for each player, or none at all (got {len(forces)} for {len(names)})"
        yield ("players.heavy_n", "players.names"), sentence


def _pins(values: Values) -> Iterator[Complaint]:
    taken: dict[int, str] = {}
    for key, pin in _pins_in_use(values):
        if pin in taken:
            yield (key, taken[pin]), f"expected one use for each GPIO (got {pin} for {taken[pin]} and for {key})"
        taken[pin] = key


def _pins_in_use(values: Values) -> Iterator[tuple[str, int]]:
    if values["display.kind"] != "none":
        bus = values["display.bus"]
        yield from (("display.bus", pin) for pin in _BUS_PINS[bus])
        if bus == "i2c" and values["display.i2c_reset_pin"] is not None:
            yield "display.i2c_reset_pin", values["display.i2c_reset_pin"]
        if bus == "spi":
            yield from ((key, values[key]) for key in ("display.data_pin", "display.reset_pin"))
    yield from (("switches.pins", pin) for pin in values["switches.pins"])
    if values["lamp.pin"] is not None:
        yield "lamp.pin", values["lamp.pin"]


def _actions(values: Values) -> Iterator[Complaint]:
    switches = len(values["switches.pins"])
    for path, action in values.items():
        section, _, gesture = path.rpartition(".")
        if section != "switches.actions" or action is None:
            continue
        if any(int(word) > switches for word in gesture.replace(" ", "_").split("_") if word.isdigit()):
            yield (path, "switches.pins"), f"expected a switch that has a pin (got {gesture} with {switches} pins)"


_RULES: tuple[Callable[[Values], Iterator[Complaint]], ...] = (
    _rising, _capo, _string_set, _start_mode, _players, _pins, _actions,
)  # fmt: skip
