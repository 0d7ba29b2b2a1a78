"""The pedal's hardware in one description: what the drawings, the drill template and the figures of the page come from.

Lengths in millimetres. Dimensions of bought parts are what is usual (no source but common practice): measure yours.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log10, pi, sqrt

# ---- the header


HEADER = {
    1: "3.3 V", 2: "5 V", 3: "GPIO2 SDA", 4: "5 V", 5: "GPIO3 SCL", 6: "ground", 7: "GPIO4", 8: "GPIO14", 9: "ground",
    10: "GPIO15", 11: "GPIO17", 12: "GPIO18", 13: "GPIO27", 14: "ground", 15: "GPIO22", 16: "GPIO23", 17: "3.3 V",
    18: "GPIO24", 19: "GPIO10", 20: "ground", 21: "GPIO9", 22: "GPIO25", 23: "GPIO11", 24: "GPIO8", 25: "ground",
    26: "GPIO7", 35: "GPIO19", 38: "GPIO20", 40: "GPIO21",
}  # fmt: skip
"""Of the 40-pin header, as far as it is used (the platform's own documentation; from memory)."""


@dataclass(frozen=True, slots=True)
class Lead:
    """From a header pin to a terminal of a part; `kind` is its colour: power, bus, signal, lamp or ground."""

    pin: int
    terminal: str
    kind: str


PANEL_I2C = (
    Lead(1, "VCC 3.3 V", "power"),
    Lead(3, "SDA", "bus"),
    Lead(5, "SCL", "bus"),
    Lead(6, "GND", "ground"),
    Lead(22, "RES, if it has one", "signal"),
)
PANEL_SPI = (
    Lead(1, "VCC 3.3 V", "power"),
    Lead(6, "GND", "ground"),
    Lead(18, "D/C", "signal"),
    Lead(19, "data (MOSI)", "bus"),
    Lead(22, "RES", "signal"),
    Lead(23, "clock", "bus"),
    Lead(24, "chip select (CS)", "bus"),
)
SWITCHES_AND_LAMP = (
    Lead(11, "switch 1", "signal"),
    Lead(9, "switch 1, other side", "ground"),
    Lead(13, "switch 2", "signal"),
    Lead(14, "switch 2, other side", "ground"),
    Lead(15, "lamp, through 470 Ω", "lamp"),
    Lead(20, "lamp, other side", "ground"),
)

# ---- circuits


@dataclass(frozen=True, slots=True)
class Buffer:
    """The input buffer before a codec: values in ohms and farads, 5 V in."""

    couple_f: float = 22e-9
    bias_ohm: float = 1e6
    series_ohm: float = 1e3
    radio_f: float = 47e-12
    half_ohm: float = 100e3
    half_f: float = 10e-6
    supply_ohm: float = 100.0
    supply_f: float = 100e-6
    out_f: float = 10e-6
    out_ohm: float = 100.0
    drain_ohm: float = 100e3
    amplifier_a: float = 2e-3

    @property
    def low_hz(self) -> float:
        """Below this the coupling capacitor takes bass away (3 dB)."""
        return corner_hz(self.bias_ohm, self.couple_f)

    @property
    def radio_hz(self) -> float:
        """Above this radio is kept out (3 dB)."""
        return corner_hz(self.series_ohm, self.radio_f)

    @property
    def half_hz(self) -> float:
        """Above this the half supply is quiet."""
        return corner_hz(self.half_ohm / 2, self.half_f)

    @property
    def supply_hz(self) -> float:
        """Above this the supply is filtered."""
        return corner_hz(self.supply_ohm, self.supply_f)

    @property
    def supply_drop_v(self) -> float:
        """What the filter takes of the 5 V: the amplifier's current and the divider's."""
        return self.supply_ohm * (self.amplifier_a + 5.0 / (2 * self.half_ohm))

    def out_hz(self, codec_ohm: float) -> float:
        """The low corner into a codec's line input."""
        load = self.drain_ohm * codec_ohm / (self.drain_ohm + codec_ohm)
        return corner_hz(load + self.out_ohm, self.out_f)

    def swing_peak_v(self, supply_v: float = 5.0) -> float:
        """The largest peak that a rail-to-rail amplifier passes, 0.1 V from either rail."""
        return (supply_v - self.supply_drop_v) / 2 - 0.1


LAMP_OHM, LAMP_V, PIN_V, PIN_MOST_A = 470.0, 1.9, 3.3, 16e-3
"""A red LED drops 1.9 V (usual); a pin may give 16 mA (the board's documentation, from memory)."""
BUS_PULL_OHM, MODULE_PULL_OHM, BUS_HZ, BUS_RISE_S, BUS_SINK_A = 1.8e3, 4.7e3, 400e3, 300e-9, 3e-3
"""The board's own pull-ups, a module's usual ones; rise and current by the I2C-bus specification, UM10204, table 10."""
SWITCH_PULL_OHM, SWITCH_C_F, SWITCH_SERIES_OHM = 10e3, 100e-9, 1e3
"""For long leads: a pull-up of one's own, a capacitor at the pin, a resistor in the lead."""


@dataclass(frozen=True, slots=True)
class Draw:
    """What a part takes from the 5 V, in amperes: usual, and at the most (from memory; the label of yours counts)."""

    part: str
    usual_a: float
    most_a: float


CURRENTS = (
    Draw("small board (one or four slow cores)", 0.35, 0.8),
    Draw("large board (four quick cores)", 0.7, 1.5),
    Draw("USB audio interface", 0.2, 0.5),
    Draw("codec board on I2S", 0.03, 0.1),
    Draw("panel of 2.42 inch, all dots lit", 0.06, 0.2),
    Draw("lamp", 0.003, 0.003),
)
USB_MOST_A = 0.5
"""What a USB 2.0 device may take at most (USB 2.0, 7.2.1)."""
LEAD_LEAST_V = 4.63
"""Where boards begin to complain of their supply (from memory)."""
COPPER_OHM_M = 1.724e-8
"""Resistivity of annealed copper at 20 degrees (IEC 60028)."""


def corner_hz(ohm: float, farad: float) -> float:
    """Where a resistor and a capacitor halve the power: 1 / (2 pi R C)."""
    return 1.0 / (2 * pi * ohm * farad)


def loss_db(corner: float, hz: float) -> float:
    """What a first-order high pass takes away at a frequency."""
    return 10 * log10(1 + (corner / hz) ** 2)


def parallel(*ohms: float) -> float:
    """Resistors side by side."""
    return 1.0 / sum(1.0 / ohm for ohm in ohms)


def wire_ohm_m(gauge: int) -> float:
    """Ohms a metre of a wire by its AWG number (diameter by ASTM B258: 0.127 mm times 92 to the (36 - n) / 39)."""
    diameter_m = 0.127e-3 * 92 ** ((36 - gauge) / 39)
    return COPPER_OHM_M / (pi * (diameter_m / 2) ** 2)


def lead_drop_v(gauge: int, metres: float, amperes: float) -> float:
    """There and back."""
    return 2 * metres * amperes * wire_ohm_m(gauge)


def most_bus_f(pull_ohm: float) -> float:
    """The capacitance of leads and parts with which a bus still rises in time: t = 0.8473 R C (UM10204, 7.1)."""
    return BUS_RISE_S / (0.8473 * pull_ohm)


def hiss_v(ohm: float, band_hz: float = 20e3) -> float:
    """Thermal noise of a resistor at 300 K: the root of 4 k T R B."""
    return sqrt(4 * 1.380649e-23 * 300 * ohm * band_hz)


# ---- the case


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole in a face, from its upper left corner."""

    name: str
    x: float
    y: float
    diameter: float


@dataclass(frozen=True, slots=True)
class Window:
    """A square hole in a face, or what lies behind it; from the upper left corner of both."""

    name: str
    x: float
    y: float
    columns: float
    rows: float


@dataclass(frozen=True, slots=True)
class Face:
    """One side of the case, seen from outside."""

    name: str
    columns: float
    rows: float
    holes: tuple[Hole, ...]
    windows: tuple[Window, ...] = ()
    behind: tuple[Window, ...] = ()


CASE_MM = (190.0, 120.0, 60.0)
"""Width, depth, height of a case of two U-shaped sheets of steel, a size that many makers fold."""
SHEET_MM = 1.0
BOARD_MM, BOARD_HOLES_MM = (85.0, 56.0), (58.0, 49.0)
"""A single-board computer with the 40-pin header, and the middle of its holes (its published drawing; from memory)."""
ACTIVE_MM = (55.0, 27.5)
"""The lit area of a panel of 2.42 inch."""
MODULE_HOLES_MM = (66.5, 38.5)
"""Between the middles of its holes: differs from one to the next."""

_PANEL_X, _PANEL_Y = 95.0, 38.0
_W, _H = ACTIVE_MM[0] + 3.0, ACTIVE_MM[1] + 3.0


def _module_holes() -> tuple[Hole, ...]:
    dx, dy = MODULE_HOLES_MM[0] / 2, MODULE_HOLES_MM[1] / 2
    return tuple(Hole("panel, M2.5", _PANEL_X + sx * dx, _PANEL_Y + sy * dy, 2.7) for sy in (-1, 1) for sx in (-1, 1))


TOP = Face(
    "top, seen from above; the player stands below",
    CASE_MM[0],
    CASE_MM[1],
    (
        Hole("switch 1", 45.0, 92.0, 12.2),
        Hole("switch 2", 145.0, 92.0, 12.2),
        Hole("lamp", 95.0, 92.0, 5.2),
        *_module_holes(),
    ),
    windows=(Window("panel", _PANEL_X - _W / 2, _PANEL_Y - _H / 2, _W, _H),),
    behind=(Window("lit area", _PANEL_X - ACTIVE_MM[0] / 2, _PANEL_Y - ACTIVE_MM[1] / 2, *ACTIVE_MM),),
)
BACK = Face(
    "back, seen from behind",
    CASE_MM[0],
    CASE_MM[2],
    (
        Hole("guitar in", 165.0, 30.0, 11.5),
        Hole("to amplifier", 135.0, 30.0, 11.5),
        Hole("drone out", 105.0, 30.0, 11.5),
        Hole("supply, grommet", 30.0, 30.0, 12.5),
        Hole("ground screw", 60.0, 12.0, 4.3),
    ),
)
FACES = (TOP, BACK)
NEAREST_EDGE_MM, LEAST_BETWEEN_MM, FEET_APART_MM = 4.0, 2.0, 65.0
BAR_MM = 100.0
