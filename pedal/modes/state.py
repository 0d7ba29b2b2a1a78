"""Where the player is: key, neck, position, bands, drone. What the settings give and the menu changes."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from pedal.modes.lick_shelf import KeptLick
from pedal.modes.log_entry import LogEntry
from pedal.modes.names import MODES, ModeName
from pedal.modes.rungs import Crossing, Rung, rungs_of
from pedal.practice.course import REST_S
from pedal.practice.homework import Homework
from pedal.practice.item import Item, items_of
from pedal.practice.load import HEAVY_MOST
from pedal.theory.cents import A4_HZ
from pedal.theory.chords import ChordKind
from pedal.theory.effort import BIG_BEND_SEMITONES, HEAVY, Rig, RigError, Thresholds
from pedal.theory.force import SEMITONES_MOST
from pedal.theory.neck import PLAIN_NECK, TUNINGS, Bend, Neck, PositionError, position, positions, tuning_words
from pedal.theory.pulse import Feel
from pedal.theory.scale import Key, parse_key
from pedal.theory.strings import StringSetError
from pedal.values import frozen
from pedal.verdicts.aim import Bands
from pedal.verdicts.verdict import Verdict

Order = Literal["in_order", "lightest_first", "by_need"]
DroneSound = ChordKind
Backing = Literal["drone", "one_chord", "twelve_bars", "quick_change"]
Follow = Literal["key", "chord"]
Density = Literal["glance", "close"]

QUIET_DB, CEILING_DB = -30.0, -12.0
"""How loud the drone is, and at most may be, dBFS, until the settings say otherwise."""
DEFAULT_BANDS, LIGHT_RIG = Bands(), Rig()
DEMO_KEY = parse_key("G minor pentatonic")


def hand_of(usual: Thresholds, heavy_n: float | None) -> Thresholds:
    """The thresholds of a hand for which a bend is heavy from `heavy_n` on: the others stand in proportion."""
    if heavy_n is None:
        return usual
    share = heavy_n / usual.heavy_n
    return replace(usual, firm_n=usual.firm_n * share, heavy_n=heavy_n, too_heavy_n=usual.too_heavy_n * share)


@frozen
class PedalState:
    """All that the modes need to know of the configuration; frozen, replaced when the player moves on.

    position : 1 up; where the neck does not hold it, the pedal takes the nearest that it holds.
    modes : those there are, in the order that the switch steps through them; `mode` is one of them.
    order : how Ladder and Blind choose the next target.
    crossed_off : bends that are never asked for.
    drone, drone_on, chord : what the drone plays, whether it does, and on which step of the key (0 i, 1 iv, 2 v).
    backing : a sustained drone, or chords in time; `bpm` quarter notes a minute, `feel` of its eighths.
    follow : whether bends aim at the key's notes, or at the third and seventh of the chord first.
    delay_ms, delay_heard : what the drivers hide of the way out and back in, and whether that is known: heard by the
        pedal's own clicks, or measured by hand.
    drone_db, ceiling_db : how loud the drone is, and how loud the menu may make it.
    device, devices : the audio input in use ("" for the system's own) and those the menu may offer.
    rig : string set, scale length and thresholds of force, for the support that a bend calls for.
    tunings : those the menu offers, as words that `parse_tuning` reads.
    licks, lick : those that are kept, and the number of the one chosen; 0 is the one played last.
    held_for_model : which switch is held for a model, by mode; 0, or no entry, where that is not known.
    repeat : a rung of Ladder stays until it was true, or missed as often as Round allows.
    bend : the bend to practise, asked of the modes once; None for what they choose themselves.
    players, player : names that may be chosen, and who plays now; "" for a guest.
    hands : for players who have said so, from which force on a bend is heavy for them, newtons.
    homework : what a teacher asked for; None for nothing.
    round_minutes, round_rest_s, heavy_most : how long a Round is, how long its rests, how many heavy bends an hour.
    """

    key: Key = DEMO_KEY
    neck: Neck = PLAIN_NECK
    a4_hz: float = A4_HZ
    bands: Bands = DEFAULT_BANDS
    position: int = 1
    mode: ModeName = "watch"
    modes: tuple[ModeName, ...] = MODES
    order: Order = "in_order"
    crossed_off: frozenset[Crossing] = frozenset()
    drone: DroneSound = "root"
    drone_on: bool = False
    chord: int = 0
    backing: Backing = "drone"
    bpm: int = 80
    feel: Feel = "shuffle"
    follow: Follow = "key"
    delay_ms: float = 0.0
    delay_heard: bool = True
    drone_db: float = QUIET_DB
    ceiling_db: float = CEILING_DB
    density: Density = "glance"
    rig: Rig = LIGHT_RIG
    device: str = ""
    devices: tuple[str, ...] = ()
    tunings: tuple[str, ...] = tuple(TUNINGS.values())
    licks: tuple[KeptLick, ...] = ()
    lick: int = 0
    held_for_model: tuple[tuple[ModeName, int], ...] = ()
    repeat: bool = False
    bend: Rung | None = None
    players: tuple[str, ...] = ()
    player: str = ""
    hands: tuple[tuple[str, float], ...] = ()
    homework: Homework | None = None
    round_minutes: int = 10
    round_rest_s: float = REST_S
    heavy_most: int = HEAVY_MOST

    @property
    def bands_now(self) -> Bands:
        """The bands in force: those of bends are halved while the drone sounds."""
        return self.bands.against_drone() if self.drone_on else self.bands

    def rungs(self) -> tuple[Rung, ...]:
        """The bends of the position, lowest first; none where no position of the key fits the neck."""
        try:
            held = position(self.key, self.position, self.neck)
        except PositionError:
            return ()
        return rungs_of(self.key, held, self.strung())

    @property
    def holds_position(self) -> bool:
        """Whether the position fits the neck; one that does may still have no bend, in a scale of wide gaps."""
        return self.position in self.held_positions()

    def items(self) -> tuple[Item, ...]:
        """What Round may ask for in the position; what was crossed off is not among it."""
        try:
            held = position(self.key, self.position, self.neck)
        except PositionError:
            return ()
        found = items_of(self.key, held, self.strung())
        return tuple(i for i in found if Crossing(i.string, i.fret, i.semitones) not in self.crossed_off)

    def is_heavy(self, string: int, fret: int, semitones: int) -> bool:
        """Whether a bend counts against the ceiling of heavy ones; no bend that can be computed is none."""
        rig, neck = self.strung(), self.neck
        if rig is None:
            return semitones >= BIG_BEND_SEMITONES
        if not (0 < semitones <= SEMITONES_MOST and neck.capo < fret <= neck.frets and string <= neck.tuning.strings):
            return False
        midi = neck.midi(string, fret)
        return rig.effort(Bend(string, fret, midi, midi + semitones)).grade in HEAVY

    def same_bends(self, other: PedalState) -> bool:
        """Whether the rungs are the same; asked before they are worked out anew, which takes half a millisecond."""
        ours = (self.key, self.neck, self.position, self.rig, self.player)
        return ours == (other.key, other.neck, other.position, other.rig, other.player)

    def same_forces(self, other: PedalState) -> bool:
        """Whether the rungs are the same and take the same force: strings at another A4 pull otherwise."""
        return self.same_bends(other) and self.a4_hz == other.a4_hz

    def strung(self) -> Rig | None:
        """The guitar as it is tuned now; None where its strings do not fit the tuning that the menu chose."""
        try:
            thresholds = hand_of(self.rig.thresholds, dict(self.hands).get(self.player))
            return replace(self.rig, neck=self.neck, a4_hz=self.a4_hz, thresholds=thresholds)
        except (RigError, StringSetError):
            return None

    def held_positions(self) -> tuple[int, ...]:
        """Numbers of the positions that the neck holds, rising."""
        return tuple(held.number for held in positions(self.key, self.neck))

    def entry(self, mode: ModeName, verdict: Verdict, *, rung: Rung | None = None) -> LogEntry:
        """The line of the log for a judged note; the pedal adds whether the drone sounded."""
        target = rung.target if rung else verdict.target_note
        return self.line(mode, verdict.onset_s, verdict, target=target, rung=rung)

    def skipped(self, mode: ModeName, rung: Rung, *, time_s: float) -> LogEntry:
        """The line of the log for a rung that was passed over."""
        return self.line(mode, time_s, None, target=rung.target, rung=rung)

    def line(
        self, mode: ModeName, time_s: float, verdict: Verdict | None, *, target: str | None, rung: Rung | None = None
    ) -> LogEntry:
        """A line of the log, with what all of them say of key and guitar; without a verdict it was skipped.

        mode, time_s : in which mode, and when it began, seconds since the first sample.
        target : scientific pitch of the note that was aimed at; None where there was none.
        """
        return LogEntry(
            time_s,
            mode,
            str(self.key),
            verdict,
            position=self.position if rung else None,
            string=rung.string if rung else None,
            fret=rung.fret if rung else None,
            target_note=target,
            skipped=verdict is None,
            a4_hz=self.a4_hz,
            tuning=tuning_words(self.neck.tuning),
        )
