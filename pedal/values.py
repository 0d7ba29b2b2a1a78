"""Frozen values: `@frozen` is `@dataclass(frozen=True, slots=True)`, made with half of the compiling.

A data class writes six functions as text and has each compiled when its module is loaded: for the values of the live
pedal that was half of the instructions of a start, and a small board's panel stayed dark for as long. What compares,
tells and hashes is the same for every class but for the names of its fields, so here it is written once; and what makes
a value sets each slot by its own door, in half of the time that asking `object` to do it takes. All else is a data
class: `field`, `fields`, `replace`, `asdict`, `match`, `__post_init__`, `FrozenInstanceError` for who assigns.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import MISSING, Field, dataclass, field, fields
from operator import attrgetter
from typing import Any, TypeVar, dataclass_transform

T = TypeVar("T")


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def frozen(cls: type[T]) -> type[T]:
    """Make a class of frozen, slotted values out of its annotations; what it defines itself stays."""
    own = set(vars(cls))
    plain = cls.__base__ is object and not hasattr(cls, "__post_init__")
    plain = plain and not any(isinstance(each, Field) for each in vars(cls).values())
    made: Any = dataclass(frozen=True, slots=True, repr=False, eq=False, init=not plain)(cls)
    if plain:
        made.__init__ = _maker(made)
    told = [each.name for each in fields(made) if each.repr]
    compared = _getter(each.name for each in fields(made) if each.compare)

    def tell(self: Any) -> str:
        words = ", ".join([f"{name}={getattr(self, name)!r}" for name in told])
        return f"{type(self).__qualname__}({words})"

    def equals(self: Any, other: object) -> bool:
        return compared(self) == compared(other) if type(other) is type(self) else NotImplemented

    def number(self: Any) -> int:
        return hash(compared(self))

    for name, function in (("__repr__", tell), ("__eq__", equals), ("__hash__", number)):
        if name not in own:
            setattr(made, name, function)
    return made  # type: ignore[no-any-return]


def _maker(made: type) -> Callable[..., None]:
    """What makes a value of fields that have a default or none, as a data class would."""
    known: dict[str, Any] = {}
    arguments, lines = ["self"], []
    for each in fields(made):
        name = each.name
        known[f"_{name}"], known[f"_{name}_default"] = getattr(made, name).__set__, each.default
        arguments.append(name if each.default is MISSING else f"{name}=_{name}_default")
        lines.append(f"  _{name}(self, {name})")
    text = f"def __init__({', '.join(arguments)}):\n" + "\n".join(lines or ["  pass"])
    exec(text, known)  # noqa: S102 - of the names of fields, as the library's own
    init: Callable[..., None] = known["__init__"]
    init.__qualname__ = f"{made.__qualname__}.__init__"
    return init


def _getter(names: Iterable[str]) -> Callable[[Any], tuple[Any, ...]]:
    """What gives the values of these fields as a tuple."""
    names = tuple(names)
    if len(names) > 1:
        return attrgetter(*names)
    return lambda which: tuple([getattr(which, name) for name in names])
