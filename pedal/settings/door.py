"""What counts of settings that have no owner: those of the card's FAT partition and of a stick.

Whoever holds the card or lends a stick may say what is played and how the pedal is wired, but not where anything is
written, how much of the log is thrown away, how loud the drone may be, or how many more heavy bends a Round may ask
for. What is not named here does not count, so a new setting has to be let in on purpose.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Values = dict[str, Any]

PLAYED = ("key", "tuning", "capo", "a4_hz", "frets")
SECTIONS_LET_IN = ("bands", "strings", "force", "display", "switches", "switches.actions", "lamp", "modes", "players")
SOUND = (
    "audio.input", "audio.output", "audio.rate_hz", "audio.block_samples", "audio.channel", "audio.drone_db",
)  # fmt: skip
OF_THE_CARD_ALONE = ("takes.keep",)
"""The card is in the owner's hands; a stick that switches recording on would be a stranger's."""
AT_MOST = ("audio.drone_ceiling_db", "force.medium_n", "force.heavy_n", "force.very_heavy_n", "round.heavy_bends")
AT_LEAST = ("round.rest_s",)
"""What spares ears and hands is made stricter here, and never laxer; so is the hand of each player."""
_GRADES = {"heavy": "force.heavy_n", "medium": "force.medium_n", "very heavy": "force.very_heavy_n"}
_OF_HANDS = frozenset({*_GRADES.values(), "players.names", "players.heavy_n"})
_PANELS = (0x3C, 0x3D)
_HEADER = 1


def of_the_card(values: Values, below: Values) -> Iterator[tuple[str, str]]:
    """What of the card's settings does not count, over those that are installed: (key, sentence)."""
    return _refused(values, below, extra=OF_THE_CARD_ALONE)


def of_a_stick(values: Values, below: Values) -> Iterator[tuple[str, str]]:
    """The same for a stick's."""
    return _refused(values, below, extra=())


def _refused(values: Values, below: Values, *, extra: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for key, value in values.items():
        section = key.rpartition(".")[0]
        if key not in (*PLAYED, *SOUND, *AT_MOST, *AT_LEAST, "round.minutes", *extra) and (
            not section or section not in SECTIONS_LET_IN
        ):
            yield key, "does not count here: it is set in /etc/undertoe/undertoe.yaml alone"
        elif key in AT_MOST and value > below[key]:
            yield key, f"expected at most the installed {below[key]:g} here (got {value:g})"
        elif key in AT_LEAST and value < below[key]:
            yield key, f"expected at least the installed {below[key]:g} here (got {value:g})"
        # Other chips live on other buses and addresses, and some of them forget what they are when they are written to.
        elif key == "display.i2c_address" and value not in (*_PANELS, below[key]):
            yield key, f"expected 0x3C or 0x3D here (got {value:#04x})"
        elif key == "display.i2c_port" and value not in (_HEADER, below[key]):
            yield key, f"expected {_HEADER}, the bus on the header, here (got {value})"
    if not _OF_HANDS.isdisjoint(values):
        refused: dict[str, str] = {}
        for key, sentence in _hands_refused(values, below):
            refused.setdefault(key, sentence)
        yield from refused.items()


def _hands_refused(values: Values, below: Values) -> Iterator[tuple[str, str]]:
    """What makes a bend lighter for a hand, though no single force is above the installed one.

    Names and forces go by their places, so that new names alone change hands; and grades stand in proportion to a
    player's force, so that a lower section force alone raises them.
    """
    merged = below | values | {key: min(values.get(key, below[key]), below[key]) for key in _GRADES.values()}
    for name in merged["players.names"]:
        installed, now = _hand(below, name), _hand(merged, name)
        for grade, most_n in installed.items():
            if now[grade] > most_n:
                sentence = f"expected {grade} from at most the installed {most_n:g} N for {name} here"
                yield _lifted_by(values, installed, now), f"{sentence} (got {now[grade]:g} N)"
                break
    there = {name.casefold() for name in merged["players.names"]}
    for name in below["players.names"]:
        heavy_n = _hand(below, name)["heavy"]
        if name.casefold() not in there and heavy_n < below["force.heavy_n"]:
            yield "players.names", f"expected {name} among them here, for whom a bend is heavy from {heavy_n:g} N"


def _hand(values: Values, name: str) -> dict[str, float]:
    """From which force on a bend has each grade for a player; to a thousandth, as proportions are rounded."""
    names = (known.casefold() for known in values["players.names"])
    own_n = dict(zip(names, values["players.heavy_n"], strict=False)).get(name.casefold(), values["force.heavy_n"])
    return {grade: round(values[key] * own_n / values["force.heavy_n"], 3) for grade, key in _GRADES.items()}


def _lifted_by(values: Values, installed: dict[str, float], now: dict[str, float]) -> str:
    """The key that did it: a player's force can only be lifted by the players, a proportion only by the section."""
    if now["heavy"] <= installed["heavy"]:
        return "force.heavy_n"
    return "players.heavy_n" if "players.heavy_n" in values else "players.names"
