"""Kinds of value that only this trade has: a key, a tuning, the names of the players."""

from __future__ import annotations

import json

from pedal.safe_text import is_clean, unaccented
from pedal.settings.document import Listing, Node, short
from pedal.settings.kinds import Unfit, nearest, scalar_text, shown
from pedal.theory.neck import TUNINGS, Tuning, TuningError, parse_tuning
from pedal.theory.scale import SCALES, Key, KeyNameError, parse_key
from pedal.values import frozen

MOST_PLAYERS, LONGEST_NAME = 8, 20
"""As many as a menu is walked through, and a name as long as the panel's line."""
_NOTES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@frozen
class KeyWords:
    """A key, such as "Bb minor pentatonic"."""

    @property
    def expected(self) -> str:
        return f"a tonic and a scale such as 'F# blues' (scales: {', '.join(SCALES)})"

    def read(self, node: Node) -> Key:
        """The key; a bare tonic means minor pentatonic."""
        words = scalar_text(node, "text")
        try:
            return parse_key(words)
        except KeyNameError as fault:
            raise Unfit(repr(short(words)), _nearest_key(words)) from fault

    def write(self, value: Key) -> str:
        return str(value)


def _nearest_key(words: str) -> str:
    tonic, _, scale = words.strip().partition(" ")
    try:
        return str(parse_key(f"{tonic} {nearest(scale, list(SCALES))}"))
    except KeyNameError:
        return ""


@frozen
class PlayerNames:
    """Names of players, told apart as the panel draws them: without regard to capitals and accents."""

    @property
    def expected(self) -> str:
        apart = "different as the panel draws them, without accents"
        return f"a list of up to {MOST_PLAYERS} names of at most {LONGEST_NAME} letters, {apart}"

    def read(self, node: Node) -> tuple[str, ...]:
        """The names, each stripped."""
        if not isinstance(node, Listing) or len(node.items) > MOST_PLAYERS:
            raise Unfit(shown(node))
        names = tuple(scalar_text(item, "text", "number").strip() for item in node.items)
        seen: dict[str, str] = {}
        for name in names:
            as_drawn = "".join(sign if sign.isascii() else "?" for sign in unaccented(name)).casefold()
            if not 0 < len(name) <= LONGEST_NAME or not is_clean(name) or as_drawn == "guest":
                raise Unfit(repr(short(name)))
            if as_drawn in seen:
                raise Unfit(f"{seen[as_drawn]!r} and {name!r}")
            seen[as_drawn] = name
        return names

    def write(self, value: tuple[str, ...]) -> str:
        return "[" + ", ".join(json.dumps(name, ensure_ascii=False) for name in value) + "]"


@frozen
class TuningWords:
    """Open strings: the name of a tuning, or their notes from the lowest string up, as words or as a list."""

    @property
    def expected(self) -> str:
        return f"the open strings from the lowest up, such as E2 A2 D3 G3 B3 E4, or one of {', '.join(TUNINGS)}"

    def read(self, node: Node) -> Tuning:
        """The tuning; raises `Unfit` with the nearest name."""
        if isinstance(node, Listing):
            words = " ".join(scalar_text(item, "text") for item in node.items)
        else:
            words = scalar_text(node, "text")
        try:
            return parse_tuning(words)
        except TuningError as fault:
            raise Unfit(repr(short(words)), nearest(words, list(TUNINGS))) from fault

    def write(self, value: Tuning) -> str:
        return " ".join(f"{_NOTES[midi % 12]}{midi // 12 - 1}" for midi in reversed(value.open_midi))
