"""A neck and a key -> positions, bends and curls: which fret of which string, found by rule for any tuning.

Strings are numbered from 1, the highest. Frets count from the nut, as the dots on the neck do; a capo takes the nut's
place, so that fret `capo` is the open string and the first fret the hand can bend is `capo + 1`.
"""

from __future__ import annotations

from itertools import pairwise

from pedal.theory.force import SEMITONES_MOST
from pedal.theory.scale import CURL_SEMITONES, Key, plain_name
from pedal.theory.spelling import NoteNameError, parse_pitch, pitch_name
from pedal.values import frozen

LOWEST_OPEN, HIGHEST_OPEN = 23, 76
"""B0, the lowest string of a five-string bass, to E5, an octave above a guitar's highest."""
LOWEST_HEARD = 34
"""Bb1, the lowest note that the ear finds a pitch of; a neck may go lower, and is silent to it there."""
STRINGS_LEAST, STRINGS_MOST = 4, 8
FRETS_LEAST, FRETS_MOST = 5, 36
TUNINGS: dict[str, str] = {
    "standard": "E2 A2 D3 G3 B3 E4",
    "drop D": "D2 A2 D3 G3 B3 E4",
    "half-step down": "Eb2 Ab2 Db3 Gb3 Bb3 Eb4",
    "whole-step down": "D2 G2 C3 F3 A3 D4",
    "open D": "D2 A2 D3 F#3 A3 D4",
    "open G": "D2 G2 D3 G3 B3 D4",
    "all fourths": "E2 A2 D3 G3 C4 F4",
    "seven": "B1 E2 A2 D3 G3 B3 E4",
    "eight": "F#1 B1 E2 A2 D3 G3 B3 E4",
    "baritone": "B1 E2 A2 D3 F#3 B3",
    "bass": "E1 A1 D2 G2",
}
"""Tunings that have a name in the trade, lowest string first."""


class TuningError(ValueError):
    """Strings that are no tuning."""


class NeckError(ValueError):
    """A capo, fret count, string or fret that this neck cannot have."""


class PositionError(ValueError):
    """A position that the scale does not have or the neck does not hold."""


@frozen
class Tuning:
    """The open strings as MIDI numbers, string 1 (the highest) first.

    Raises `TuningError` for too few or too many, for one out of range, and where they fall.
    """

    open_midi: tuple[int, ...]

    def __post_init__(self) -> None:
        count = len(self.open_midi)
        if not STRINGS_LEAST <= count <= STRINGS_MOST:
            raise TuningError(f"a tuning of {count} strings is not known here: give {STRINGS_LEAST} to {STRINGS_MOST}")
        for midi in self.open_midi:
            if not LOWEST_OPEN <= midi <= HIGHEST_OPEN:
                raise TuningError(f"an open string at MIDI {midi} is out of range: give B0 (23) to E5 (76)")
        if any(higher < lower for higher, lower in pairwise(self.open_midi)):
            raise TuningError("the strings of a tuning must not fall: name them lowest first, as in E2 A2 D3 G3 B3 E4")

    @property
    def strings(self) -> int:
        """How many strings there are."""
        return len(self.open_midi)


def parse_tuning(words: str) -> Tuning:
    """`Tuning` of a name in `TUNINGS` or of pitches from the lowest string up, such as "D2 A2 D3 G3 B3 E4".

    Raises
    ------
    TuningError
        For a word that is no pitch, strings that fall, or a count out of range.
    """
    named = {name.lower(): pitches for name, pitches in TUNINGS.items()}
    pitches = named.get(" ".join(words.lower().split()), words).replace(",", " ").split()
    try:
        open_midi = {pitch: parse_pitch(pitch) for pitch in pitches}
    except NoteNameError as fault:
        raise TuningError(f"{words!r} is no tuning: {fault}; or say {', '.join(TUNINGS)}") from fault
    for pitch, midi in open_midi.items():
        if not LOWEST_OPEN <= midi <= HIGHEST_OPEN:
            raise TuningError(f"an open string at {pitch} is out of range: give B0 to E5")
    return Tuning(tuple(open_midi[pitch] for pitch in reversed(pitches)))


_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")


def tuning_words(tuning: Tuning) -> str:
    """The open strings from the lowest up, as `parse_tuning` reads them: "E2 A2 D3 G3 B3 E4".

    As logs and memories keep them: one note has one name, whatever stands beside it.
    """
    return " ".join(f"{_NAMES[midi % 12]}{midi // 12 - 1}" for midi in reversed(tuning.open_midi))


def open_string_names(tuning: Tuning, *, capo: int) -> tuple[str, ...]:
    """What the open strings sound, string 1 first, for a player: flats beside Eb or Bb, else sharps, never both.

    A capo may bring B beside F#, C# or G#: Eb is D# then, since a fourth above F# is B. Common practice, no source.
    """
    sounding = [midi + capo for midi in tuning.open_midi]
    classes = {midi % 12 for midi in sounding}
    needs_sharps = 11 in classes and not classes.isdisjoint({1, 6, 8})
    flat = not needs_sharps and not classes.isdisjoint({3, 10})
    return tuple(pitch_name(midi, plain_name(midi, flat=flat)) for midi in sounding)


STANDARD = parse_tuning("standard")


@frozen
class Neck:
    """A tuned neck: `capo` is the fret it sits on (0 for none), `frets` the number of the last one.

    Raises `NeckError` for a count of frets that no guitar has, and a capo that is not on it.
    """

    tuning: Tuning = STANDARD
    capo: int = 0
    frets: int = 22

    def __post_init__(self) -> None:
        if not FRETS_LEAST <= self.frets <= FRETS_MOST:
            raise NeckError(f"a neck of {self.frets} frets is not known here: give {FRETS_LEAST} to {FRETS_MOST}")
        if not 0 <= self.capo < self.frets:
            raise NeckError(
                f"a capo on fret {self.capo} does not fit a neck of {self.frets} frets: give 0 to {self.frets - 1}"
            )

    @property
    def lowest_midi(self) -> int:
        """The lowest note of the neck, capo included."""
        return self.tuning.open_midi[-1] + self.capo

    def midi(self, string: int, fret: int) -> int:
        """MIDI number of a fretted (or open) note; raises `NeckError` off the neck."""
        if not 1 <= string <= self.tuning.strings:
            raise NeckError(f"string {string} does not exist: this neck has strings 1 to {self.tuning.strings}")
        if not self.capo <= fret <= self.frets:
            raise NeckError(f"fret {fret} cannot be played: this neck has frets {self.capo} to {self.frets}")
        return self.tuning.open_midi[string - 1] + fret


def unheard(neck: Neck) -> tuple[tuple[int, int], ...]:
    """Strings that begin below what is heard, each with the last fret at which it is; string 1 is the highest."""
    last_frets = ((string, LOWEST_HEARD - 1 - midi) for string, midi in enumerate(neck.tuning.open_midi, 1))
    return tuple((string, fret) for string, fret in last_frets if fret >= neck.capo)


PLAIN_NECK = Neck()
"""Six strings in standard tuning, no capo, 22 frets."""


@frozen
class Spot:
    """One fretted note: string (1 is the highest), fret from the nut, MIDI number."""

    string: int
    fret: int
    midi: int


@frozen
class Bend:
    """A scale bend: where it is fretted, and the MIDI numbers it goes from and to."""

    string: int
    fret: int
    from_midi: int
    to_midi: int

    @property
    def semitones(self) -> int:
        """How far it rises."""
        return self.to_midi - self.from_midi


@frozen
class Position:
    """A place for the hand: its number (from 1), the degree it starts on, and its notes from the lowest up."""

    number: int
    degree: str
    spots: tuple[Spot, ...]

    @property
    def lowest_fret(self) -> int:
        """The fret nearest the nut."""
        return min(spot.fret for spot in self.spots)

    @property
    def highest_fret(self) -> int:
        """The fret nearest the bridge."""
        return max(spot.fret for spot in self.spots)


def position(key: Key, number: int, neck: Neck = PLAIN_NECK) -> Position:
    """The position that starts on the `number`-th degree of the scale on the lowest string.

    A scale of five notes lies two notes to a string, in order: in minor pentatonic these are the trade's five
    positions, twelve notes on six strings, whatever the tuning. A scale of another size lies under a hand that stays:
    a note moves to the next string as soon as it is found there no lower than one fret below the fret the position
    started on. An open string cannot be bent by the fretting hand: a position that would touch one moves up an octave.

    Parameters
    ----------
    key : Key
        Tonic and scale.
    number : int
        1 to the number of notes in the scale.
    neck : Neck
        Tuning, capo and frets.

    Raises
    ------
    PositionError
        If the scale has no such position, or the neck ends before it does.

    Notes
    -----
    Positions by two notes a string: common practice. The hand that stays gives the common in-position fingering of the
    major scale (strings 6 to 1 of G at frets 2 to 5); common practice as well, no source.

    Examples
    --------
    >>> from pedal.theory.scale import parse_key
    >>> [(s.string, s.fret) for s in position(parse_key("G minor pentatonic"), 1).spots][:5]
    [(6, 3), (6, 6), (5, 3), (5, 5), (4, 3)]
    """
    if not 1 <= number <= len(key.degrees):
        raise PositionError(f"position {number} does not exist: {key} has positions 1 to {len(key.degrees)}")
    first = _first_note(key, number, above=neck.lowest_midi)
    spots = _lay_out(key, first, neck)
    while min(spot.fret for spot in spots) <= neck.capo:
        spots = tuple(Spot(spot.string, spot.fret + 12, spot.midi + 12) for spot in spots)
    highest = max(spot.fret for spot in spots)
    if highest > neck.frets:
        raise PositionError(f"position {number} of {key} needs fret {highest}: this neck ends at fret {neck.frets}")
    return Position(number, key.degrees[number - 1], spots)


def positions(key: Key, neck: Neck = PLAIN_NECK) -> tuple[Position, ...]:
    """Every position of the key that the neck holds, by number."""
    found = []
    for number in range(1, len(key.degrees) + 1):
        try:
            found.append(position(key, number, neck))
        except PositionError:
            continue
    return tuple(found)


def bends(key: Key, place: Position) -> tuple[Bend, ...]:
    """The scale bends of a position, from each of its notes to the one above it in the scale, from the lowest up.

    In minor pentatonic on six strings there are twelve, of two or three semitones (common practice, no source). Where
    an own scale has a gap that no hand bends over, the note below it has no bend; there may be none at all.
    """
    to_the_next = (Bend(spot.string, spot.fret, spot.midi, key.next_above(spot.midi)) for spot in place.spots)
    return tuple(bend for bend in to_the_next if bend.semitones <= SEMITONES_MOST)


def curls(key: Key, place: Position) -> tuple[Spot, ...]:
    """The notes of a position that are curled: every minor third and flat seventh, from the lowest up."""
    return tuple(spot for spot in place.spots if key.steps_above_tonic(spot.midi) in CURL_SEMITONES)


def _first_note(key: Key, number: int, *, above: int) -> int:
    """The lowest note of the degree that is fretted, not open, on the lowest string."""
    degree = key.degrees[number - 1]
    return next(midi for midi in range(above + 1, above + 13) if key.degree_of(midi) == degree)


def _lay_out(key: Key, first: int, neck: Neck) -> tuple[Spot, ...]:
    """Scale notes from `first` on over all strings; frets may fall below the nut."""
    if len(key.degrees) == 5:
        return _two_to_a_string(key, first, neck.tuning)
    return _under_a_hand_that_stays(key, first, neck.tuning)


def _two_to_a_string(key: Key, first: int, tuning: Tuning) -> tuple[Spot, ...]:
    spots, midi = [], first
    for string in range(tuning.strings, 0, -1):
        for _ in range(2):
            spots.append(Spot(string, midi - tuning.open_midi[string - 1], midi))
            midi = key.next_above(midi)
    return tuple(spots)


def _under_a_hand_that_stays(key: Key, first: int, tuning: Tuning) -> tuple[Spot, ...]:
    # Above string 1 the rule imagines one more string, a fourth higher, so that the last string ends like the others.
    open_midi = (tuning.open_midi[0] + 5, *tuning.open_midi)
    anchor = first - tuning.open_midi[-1]
    spots, midi = [], first
    string = tuning.strings
    while string:
        spots.append(Spot(string, midi - open_midi[string], midi))
        midi = key.next_above(midi)
        if midi - open_midi[string - 1] >= anchor - 1:
            string -= 1
    return tuple(spots)
