"""What a value may be: each kind says in words what it expects, reads a node, and writes a value back as YAML."""

from __future__ import annotations

import difflib
import json
import math
import re
from pathlib import Path
from typing import Any, Protocol

from pedal.settings.document import Listing, Mapping, Node, Scalar, short
from pedal.values import frozen

_WHOLE = re.compile(r"[+-]?(0|[1-9][0-9]{0,11})|0x[0-9a-fA-F]{1,8}")
_AMOUNT = re.compile(r"[+-]?([0-9]{1,12}(\.[0-9]{0,12})?|\.[0-9]{1,12})")
_PLAIN_PATH = re.compile(r"[A-Za-z0-9/._-]+")
_ON_OFF = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False}


class Unfit(ValueError):  # noqa: N818 - reads as what it says of a value
    """A value does not fit its kind. `got`: what stands there; `meant`: the nearest thing that would fit, or ""."""

    def __init__(self, got: str, meant: str = "") -> None:
        super().__init__(got)
        self.got, self.meant = got, meant


class Kind(Protocol):
    """How a kind of value is read from YAML, written back, and told of in a complaint."""

    @property
    def expected(self) -> str:
        """In words, after "expected"."""

    def read(self, node: Node) -> Any:
        """The value; raises `Unfit`."""

    def write(self, value: Any) -> str:
        """The value as YAML."""


def shown(node: Node) -> str:
    """What stands there, short, for a complaint."""
    if isinstance(node, Mapping):
        return "keys below it"
    if isinstance(node, Listing):
        return f"a list of {len(node.items)}"
    if node.sort == "nothing":
        return "nothing"
    return repr(short(node.text)) if node.sort == "text" else short(node.text)


def nearest(word: str, known: list[str]) -> str:
    """The known word most like this one, or ""."""
    if len(word) > 40:
        return ""
    close = difflib.get_close_matches(word.lower(), [k.lower() for k in known], n=1, cutoff=0.6)
    return next((k for k in known if close and k.lower() == close[0]), "")


def scalar_text(node: Node, *sorts: str) -> str:
    """The word as written, if YAML reads it as one of these sorts; raises `Unfit`."""
    if not isinstance(node, Scalar) or node.sort not in sorts:
        raise Unfit(shown(node))
    return node.text


@frozen
class IntRange:
    """A whole number, both ends included; hexadecimal is read too."""

    least: int
    most: int
    unit: str = ""
    hexadecimal: bool = False

    @property
    def expected(self) -> str:
        return f"a whole number from {self.write(self.least)} to {self.write(self.most)}{_unit(self.unit)}"

    def read(self, node: Node) -> int:
        text = scalar_text(node, "number")
        if not _WHOLE.fullmatch(text):
            raise Unfit(short(text))
        value = int(text, 16 if text.startswith("0x") else 10)
        if not self.least <= value <= self.most:
            raise Unfit(text)
        return value

    def write(self, value: int) -> str:
        return f"0x{value:02X}" if self.hexadecimal else str(value)


@frozen
class Amount:
    """A number, both ends included; never infinite, never not-a-number."""

    least: float
    most: float
    unit: str

    @property
    def expected(self) -> str:
        return f"a number from {self.write(self.least)} to {self.write(self.most)}{_unit(self.unit)}"

    def read(self, node: Node) -> float:
        text = scalar_text(node, "number")
        if not _AMOUNT.fullmatch(text):
            raise Unfit(short(text))
        value = float(text)
        if not (math.isfinite(value) and self.least <= value <= self.most):
            raise Unfit(text)
        return value

    def write(self, value: float) -> str:
        return f"{value:.6f}".rstrip("0").rstrip(".")


@frozen
class OnOff:
    """A switch: on or off, yes or no, true or false, as YAML 1.1 has them."""

    @property
    def expected(self) -> str:
        return "on or off"

    def read(self, node: Node) -> bool:
        return _ON_OFF[scalar_text(node, "on_off").lower()]

    def write(self, value: bool) -> str:
        return "on" if value else "off"


@frozen
class OneWord:
    """A word out of a fixed set; a misspelt one is answered with the nearest."""

    words: tuple[str, ...]

    @property
    def expected(self) -> str:
        return "one of " + ", ".join(self.words)

    def read(self, node: Node) -> str:
        text = scalar_text(node, "text", "number", "on_off")
        if text not in self.words:
            raise Unfit(repr(short(text)), nearest(text, list(self.words)))
        return text

    def write(self, value: str) -> str:
        return value


@frozen
class OneNumber:
    """One of a few whole numbers."""

    numbers: tuple[int, ...]
    unit: str

    @property
    def expected(self) -> str:
        return f"one of {', '.join(map(str, self.numbers))}{_unit(self.unit)}"

    def read(self, node: Node) -> int:
        value = IntRange(self.numbers[0], self.numbers[-1]).read(node)
        if value not in self.numbers:
            raise Unfit(str(value), str(min(self.numbers, key=lambda number: abs(number - value))))
        return value

    def write(self, value: int) -> str:
        return str(value)


@frozen
class Device:
    """A sound device: `default` (None), its number, or part of its name."""

    @property
    def expected(self) -> str:
        return "default, a device number, or a part of a device's name"

    def read(self, node: Node) -> str | int | None:
        text = scalar_text(node, "text", "number").strip()
        if isinstance(node, Scalar) and node.sort == "number":
            return IntRange(0, 999).read(node)
        if not 0 < len(text) <= 200:
            raise Unfit(repr(short(text)))
        return None if text == "default" else text

    def write(self, value: str | int | None) -> str:
        return "default" if value is None else json.dumps(value, ensure_ascii=False)


@frozen
class FolderPath:
    """A file or a folder; `~` is the home folder."""

    what: str

    @property
    def expected(self) -> str:
        return f"{self.what} as an absolute path or one that begins with ~"

    def read(self, node: Node) -> Path:
        text = scalar_text(node, "text")
        if not text or "\0" in text or len(text) > 1000 or text[0] not in "/~":
            raise Unfit(repr(short(text)))
        try:
            place = Path(text).expanduser()
        except RuntimeError as fault:  # no such user, or no home folder
            raise Unfit(repr(short(text))) from fault
        return place

    def write(self, value: Path) -> str:
        return str(value) if _PLAIN_PATH.fullmatch(str(value)) else json.dumps(str(value), ensure_ascii=False)


@frozen
class OrNone:
    """Another kind, or a word that stands for None."""

    kind: Kind
    word: str

    @property
    def expected(self) -> str:
        return f"{self.word}, or {self.kind.expected}"

    def read(self, node: Node) -> Any:
        return None if isinstance(node, Scalar) and node.text == self.word else self.kind.read(node)

    def write(self, value: Any) -> str:
        return self.word if value is None else self.kind.write(value)


@frozen
class ListOf:
    """A list of one kind, of bounded length."""

    kind: Kind
    fewest: int
    most: int
    distinct: bool = False

    @property
    def expected(self) -> str:
        number = str(self.most) if self.fewest == self.most else f"{self.fewest} to {self.most}"
        return f"a list of {number}{' different values' if self.distinct else ''}, each {self.kind.expected}"

    def read(self, node: Node) -> tuple[Any, ...]:
        if not isinstance(node, Listing) or not self.fewest <= len(node.items) <= self.most:
            raise Unfit(shown(node))
        values = tuple(self.kind.read(item) for item in node.items)
        if self.distinct and len(set(values)) < len(values):
            raise Unfit("the same one twice")
        return values

    def write(self, value: tuple[Any, ...]) -> str:
        return "[" + ", ".join(self.kind.write(item) for item in value) + "]"


def _unit(unit: str) -> str:
    return f" {unit}" if unit else ""
