"""Every setting, once: where it stands, what it may be, what it is unless told otherwise, and what it means.

Checks, `undertoe check`, the commented default file and docs/configuration.md all follow from these rows.
"""

from __future__ import annotations

from itertools import combinations
from typing import Any, get_args

from pedal.modes.action_map import MOST_SWITCHES, SCREENS
from pedal.modes.input_events import Action
from pedal.modes.names import MODES
from pedal.modes.state import CEILING_DB, QUIET_DB, Backing, Follow, Order
from pedal.practice.course import MINUTES, REST_S
from pedal.practice.load import HEAVY_MOST
from pedal.settings.kinds import Amount, Device, FolderPath, IntRange, Kind, ListOf, OneNumber, OneWord, OnOff, OrNone
from pedal.settings.music_kinds import MOST_PLAYERS, KeyWords, PlayerNames, TuningWords
from pedal.theory.cents import A4_HZ, A4_LEAST_HZ, A4_MOST_HZ
from pedal.theory.neck import FRETS_LEAST, FRETS_MOST, STANDARD, STRINGS_LEAST, STRINGS_MOST
from pedal.theory.pulse import FASTEST_BPM, FEELS, SLOWEST_BPM
from pedal.theory.scale import parse_key
from pedal.values import frozen
from pedal.verdicts.aim import Bands

GPIO = IntRange(0, 27, "(a GPIO number, not a pin of the header)")
DATA_LINE = IntRange(1, 27, "(a GPIO number, not a pin of the header)")
"""luma takes a data line of 0 for none, and the panel would see nothing but commands."""
SPI_CLOCKS_HZ = tuple(round(mhz * 1e6) for mhz in (0.5, 1, 2, 4, 8, 16, 20, 24, 28, 32))
"""Of what the panel's library allows, up to three times what the panels are made for."""
_BANDS = Bands()


@frozen
class Row:
    """One setting. `path` is "section.key" or "key"; `default` is a value as `kind.read` gives it."""

    path: str
    kind: Kind
    default: Any
    meaning: str

    @property
    def section(self) -> str:
        """The part before the dot, "" at the top."""
        return self.path.rpartition(".")[0]

    @property
    def key(self) -> str:
        """The part after the dot."""
        return self.path.rpartition(".")[2]


SECTIONS = {
    "": "What is played",
    "bands": "How true is true, in cents",
    "strings": "The string set, for travel and force of a bend",
    "force": "From which sideways force, in newtons, a bend counts as heavier",
    "audio": "Sound in and out",
    "time": "Chords and a pulse in place of the drone",
    "display": "The panel",
    "switches": "The footswitches",
    "switches.actions": "What each press does, where it is not to do what the map for this many switches says",
    "players": "The players",
    "lamp": "The lamp",
    "modes": "The modes",
    "round": "A practice of some minutes",
    "log": "Verdicts that are kept",
    "takes": "Sound that is kept",
    "state": "What the pedal remembers over a power cut",
}


def _gestures() -> tuple[str, ...]:
    switches = range(1, MOST_SWITCHES + 1)
    alone = [f"{n}_{how}" for n in switches for how in ("short", "long", "double", "held")]
    return (*alone, *(f"{a}_{b}_both" for a, b in combinations(switches, 2)))


GESTURES = _gestures()
"""Every gesture: a switch and a kind of press, or two switches and "both"."""
PRESSES = (*GESTURES, *(f"{screen} {gesture}" for screen in SCREENS for gesture in GESTURES))
"""The same, and each confined to one mode or to the menu: "echo 2_held"."""
ACTIONS: tuple[str, ...] = ("none", *get_args(Action))

ROWS: tuple[Row, ...] = (
    Row("key", KeyWords(), parse_key("G minor pentatonic"), "The key: a tonic and a scale."),
    Row(
        "tuning",
        TuningWords(),
        STANDARD,
        "The open strings without capo, lowest string first, by notes or by name. Notes below Bb1 are not heard.",
    ),
    Row("capo", IntRange(0, 12, "frets"), 0, "The fret a capo sits on, 0 for none."),
    Row("a4_hz", Amount(A4_LEAST_HZ, A4_MOST_HZ, "Hz"), A4_HZ, "Concert pitch; 440 Hz by ISO 16."),
    Row("frets", IntRange(max(FRETS_LEAST, 12), FRETS_MOST), 22, "How many frets the neck has."),
    Row(
        "bands.true_cents",
        Amount(0.5, 50, "cents"),
        _BANDS.true_cents,
        "A scale bend or pre-bend within this is true; halved against a drone.",
    ),
    Row(
        "bands.near_cents", Amount(1, 100, "cents"), _BANDS.near_cents, "Within this it is near; beyond, flat or sharp."
    ),
    Row(
        "bands.curl_least_cents",
        Amount(8, 50, "cents"),
        _BANDS.curl_least_cents,
        "A smaller rise is no curl: frets and picking alone scatter this much.",
    ),
    Row(
        "bands.zone_low_cents",
        Amount(8, 100, "cents"),
        _BANDS.zone_low_cents,
        "Lower edge of the blue zone, above the rest note as it was heard.",
    ),
    Row("bands.zone_high_cents", Amount(1, 100, "cents"), _BANDS.zone_high_cents, "Upper edge of the blue zone."),
    Row(
        "bands.zone_near_cents",
        Amount(1, 99, "cents"),
        _BANDS.zone_near_cents,
        "Up to here a high curl is near; above, the ear hears the next semitone.",
    ),
    Row(
        "strings.gauges_in",
        ListOf(Amount(0.005, 0.2, "inches"), STRINGS_LEAST, STRINGS_MOST),
        (0.010, 0.013, 0.017, 0.026, 0.036, 0.046),
        "Outside diameters, highest string first.",
    ),
    Row(
        "strings.cores_in",
        OrNone(ListOf(Amount(0.005, 0.2, "inches"), STRINGS_LEAST, STRINGS_MOST), "default"),
        None,
        "Diameters of the steel cores, highest string first; default is a usual core for each gauge.",
    ),
    Row("strings.scale_mm", Amount(400, 900, "mm"), 648.0, "Nut to saddle."),
    Row(
        "strings.after_mm",
        Amount(0, 300, "mm"),
        0.0,
        "String beyond nut and saddle that slides along in a bend; 0 where both lock.",
    ),
    Row("force.medium_n", Amount(1, 50, "N"), 6.0, "From here: two fingers."),
    Row("force.heavy_n", Amount(1, 50, "N"), 12.0, "From here: three fingers."),
    Row(
        "force.very_heavy_n",
        Amount(1, 50, "N"),
        18.0,
        "From here: three fingers, and better another place or a lighter string.",
    ),
    Row(
        "audio.input",
        Device(),
        None,
        "Where the guitar comes in: a name or part of it, in quotes; undertoe doctor lists them.",
    ),
    Row("audio.output", Device(), None, "Where the drone goes out; without it, the card that the guitar comes in by."),
    Row(
        "audio.rate_hz",
        IntRange(8000, 192000, "Hz"),
        48000,
        "Samples a second; the nearest that the device has is used, and said.",
    ),
    Row(
        "audio.block_samples",
        IntRange(16, 4096, "samples"),
        128,
        "Samples a block: 128 at 48 kHz are 2.7 ms. More is safer, fewer is quicker.",
    ),
    Row("audio.channel", IntRange(1, 32), 1, "Which channel of the input the guitar is on, counted from 1."),
    Row(
        "audio.drone_db",
        Amount(-60, 0, "dBFS"),
        QUIET_DB,
        "How loud the drone begins. Start quiet: loud sound harms hearing for good.",
    ),
    Row("audio.drone_ceiling_db", Amount(-60, 0, "dBFS"), CEILING_DB, "The drone never gets louder than this."),
    Row(
        "time.backing",
        OneWord(get_args(Backing)),
        "drone",
        "What the drone's press starts: a sustained drone, or chords in time with a count-in.",
    ),
    Row("time.tempo_bpm", IntRange(SLOWEST_BPM, FASTEST_BPM, "beats a minute"), 80, "Quarter notes a minute."),
    Row("time.feel", OneWord(FEELS), "shuffle", "Where the second eighth of a beat ticks: half-way, or at two thirds."),
    Row(
        "time.bends_to",
        OneWord(get_args(Follow)),
        "key",
        "What bends aim at: the next note of the key, or the chord's third and seventh first.",
    ),
    Row(
        "time.delay_ms",
        Amount(-500, 500, "ms"),
        0.0,
        "What interface and drivers hide of the way out and back, until the pedal has heard it by its own clicks.",
    ),
    Row(
        "display.kind",
        OneWord(("ssd1306", "ssd1309", "sh1106", "none")),
        "ssd1306",
        "The panel's controller; none for a pedal without a panel.",
    ),
    Row("display.bus", OneWord(("i2c", "spi")), "i2c", "How the panel is wired."),
    Row("display.i2c_port", IntRange(0, 20), 1, "The I2C bus: 1 is /dev/i2c-1, the one on the header."),
    Row("display.i2c_address", IntRange(0x08, 0x77, hexadecimal=True), 0x3C, "The panel's I2C address; 0x3C or 0x3D."),
    Row(
        "display.i2c_reset_pin",
        OrNone(GPIO, "none"),
        None,
        "I2C only: the GPIO of the panel's reset line, as many of 2.42 inch have one; none without such a line.",
    ),
    Row("display.spi_port", IntRange(0, 6), 0, "The SPI bus: 0 is the one on the header."),
    Row("display.spi_device", IntRange(0, 2), 0, "The SPI chip select."),
    Row(
        "display.spi_hz",
        OneNumber(SPI_CLOCKS_HZ, "Hz"),
        8_000_000,
        "The SPI clock; these panels are made for up to 10 MHz.",
    ),
    Row("display.data_pin", DATA_LINE, 24, "SPI only: the GPIO of the panel's D/C line."),
    Row("display.reset_pin", GPIO, 25, "SPI only: the GPIO of the panel's reset line."),
    Row("display.size", OneWord(("128x64", "128x32")), "128x64", "Dots across and down."),
    Row("display.rotation", OneNumber((0, 180), "degrees"), 0, "180 turns the picture upside down."),
    Row("display.contrast", IntRange(0, 255), 207, "The panel's contrast; lower ages it less."),
    Row("display.inverse", OnOff(), False, "Dark on light."),
    Row(
        "display.density",
        OneWord(("glance", "close")),
        "glance",
        "glance for standing, close for sitting with more figures.",
    ),
    Row("display.distance_m", Amount(0.2, 5, "m"), 1.6, "Eye to panel; 1.6 is a player on their feet."),
    Row(
        "display.panel_height_mm",
        Amount(3, 200, "mm"),
        27.5,
        "Height of the lit area: 0.96 inch 10.9, 1.3 inch 14.7, 2.42 inch 27.5.",
    ),
    Row("display.dim_after_s", Amount(5, 86400, "s"), 120.0, "Silence after which the panel dims."),
    Row(
        "display.blank_after_s",
        Amount(5, 86400, "s"),
        900.0,
        "Silence after which it goes dark until the next note or press.",
    ),
    Row(
        "switches.pins",
        ListOf(GPIO, 0, MOST_SWITCHES, distinct=True),
        (17, 27),
        "GPIO numbers of switch 1, 2, ...; each closes to ground. [] for none.",
    ),
    Row("switches.debounce_s", Amount(0.001, 0.1, "s"), 0.02, "A contact must be still for this long."),
    Row("switches.long_s", Amount(0.2, 3, "s"), 0.6, "Held for this long, a press is long."),
    Row("switches.held_s", Amount(0.2, 5, "s"), 1.2, "Held for this long where a long press means something else."),
    Row("switches.double_s", Amount(0.1, 1, "s"), 0.3, "Two presses within this are a double."),
    Row("switches.both_s", Amount(0.02, 0.5, "s"), 0.08, "Two switches within this are one press of both."),
    Row(
        "switches.stuck_s",
        Amount(5, 600, "s"),
        30.0,
        "A switch down for longer than this is stuck: it is reported and ignored.",
    ),
    *(Row(f"switches.actions.{press}", OrNone(OneWord(ACTIONS), "default"), None, "") for press in PRESSES),
    Row(
        "players.names",
        PlayerNames(),
        (),
        "Who plays this pedal: chosen in the menu, each with a log, crossed-off bends and order by need of their own.",
    ),
    Row(
        "players.heavy_n",
        ListOf(Amount(3, 50, "N"), 0, MOST_PLAYERS),
        (),
        "For each of them, from which force a bend is heavy for that hand; [] leaves it to the section force.",
    ),
    Row("lamp.pin", OrNone(GPIO, "none"), None, "GPIO of the lamp; none for no lamp."),
    Row("modes.start", OneWord(MODES), "watch", "The mode of the very first start; later the pedal remembers."),
    Row(
        "modes.order",
        ListOf(OneWord(MODES), 1, len(MODES), distinct=True),
        MODES,
        "The modes there are, in the order that the switch steps through them.",
    ),
    Row(
        "modes.ladder",
        OneWord(get_args(Order)),
        "lightest_first",
        "The rungs of a position from the lowest note up, the lightest first, or those that need it most first.",
    ),
    Row("modes.repeat", OnOff(), False, "Whether a rung of Ladder stays until it was true, or missed five times."),
    Row("round.minutes", OneNumber(MINUTES, "minutes"), 10, "How long a Round is."),
    Row("round.rest_s", Amount(10, 120, "s"), REST_S, "How long the hand rests in each three minutes or so."),
    Row(
        "round.heavy_bends",
        IntRange(0, 200),
        HEAVY_MOST,
        "Heavy bends in an hour after which Round offers no more. Low on purpose, a choice and no medical advice: "
        "no study known here says how many a hand bears.",
    ),
    Row(
        "log.path", OrNone(FolderPath("a file"), "default"), None, "The log; default is log.sqlite in the state folder."
    ),
    Row(
        "log.max_mb",
        IntRange(1, 100_000, "MB"),
        200,
        "Beyond this the oldest pitch curves go, imported ones first, then the oldest sentences; verdicts stay.",
    ),
    Row("takes.keep", OnOff(), False, "Whether the sound of each judged note is kept."),
    Row(
        "takes.folder", OrNone(FolderPath("a folder"), "default"), None, "Where; default is takes in the state folder."
    ),
    Row("takes.max_mb", IntRange(1, 1_000_000, "MB"), 500, "Beyond this the oldest takes go."),
    Row(
        "state.folder",
        OrNone(FolderPath("a folder"), "default"),
        None,
        "default is the service's state folder, else ~/.local/state/undertoe.",
    ),
)
