"""A frozen value is what the standard library's frozen data class is: that is the measure, class by class."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from dataclasses import dataclass, field, fields, replace

import pytest

from pedal.values import frozen

Both = tuple[type, type]


def both(body: dict[str, object], **annotations: object) -> Both:
    """The same class made by the library and by us."""
    made = []
    for maker in (dataclass(frozen=True, slots=True), frozen):
        own = {"__annotations__": annotations, "__module__": __name__, "__doc__": "A value.", **body}
        made.append(maker(type("Value", (), own)))
    return made[0], made[1]


POINT = both({"y": 2.0, "names": field(default_factory=list)}, x=float, y=float, names=list)
HIDING = both({"trace": field(default=None, compare=False, repr=False)}, x=float, trace=object)
EMPTY = both({})
ALONE = both({}, x=float)
CASES = [
    (POINT, (1.0,), {}),
    (POINT, (1.0, 3.0), {"names": ["a"]}),
    (HIDING, (1.0,), {"trace": [1]}),
    (EMPTY, (), {}),
    (ALONE, (float("nan"),), {}),
]


@frozen
class Bend:
    """A value at the top of a module, as all are."""

    cents: float
    words: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.cents > 1200.0:
            raise ValueError("no string bends that far")

    @property
    def semitones(self) -> float:
        return self.cents / 100.0


@pytest.mark.parametrize(("classes", "given", "named"), CASES)
def test_it_reads_and_compares_as_the_library_s_own(classes: Both, given: tuple, named: dict) -> None:
    theirs, ours = (made(*given, **named) for made in classes)
    assert repr(ours) == repr(theirs)
    assert [f.name for f in fields(ours)] == [f.name for f in fields(theirs)]
    assert repr(dataclasses.asdict(ours)) == repr(dataclasses.asdict(theirs))
    assert ours == classes[1](*given, **named)
    assert ours != theirs and ours != (given, named)
    assert classes[1].__match_args__ == classes[0].__match_args__
    assert not hasattr(ours, "__dict__")


@pytest.mark.parametrize(("classes", "given"), [(HIDING, (1.0,)), (EMPTY, ()), (ALONE, (2.5,))])
def test_equal_ones_have_equal_hashes_and_what_is_not_compared_does_not_count(classes: Both, given: tuple) -> None:
    theirs, ours = (made(*given) for made in classes)
    assert hash(ours) == hash(theirs) == hash(classes[1](*given))
    if classes is HIDING:
        assert ours == HIDING[1](1.0, trace="other") and hash(ours) == hash(HIDING[1](1.0, trace="other"))


def test_each_gets_its_own_list() -> None:
    assert POINT[1](1.0).names is not POINT[1](1.0).names


@pytest.mark.parametrize("wrong", [{}, {"x": 1.0, "z": 1.0}])
def test_wrong_arguments_are_refused_as_the_library_does(wrong: dict) -> None:
    for made in POINT:
        with pytest.raises(TypeError):
            made(**wrong)


def test_nothing_can_be_changed() -> None:
    bend = Bend(200.0)
    for change in (lambda: setattr(bend, "cents", 1.0), lambda: delattr(bend, "cents")):
        with pytest.raises(dataclasses.FrozenInstanceError):
            change()
    assert bend == Bend(200.0)


def test_it_is_replaced_copied_pickled_and_matched() -> None:
    bend = Bend(200.0, ("whole",))
    assert replace(bend, cents=100.0) == Bend(100.0, ("whole",))
    assert copy.copy(bend) == copy.deepcopy(bend) == pickle.loads(pickle.dumps(bend)) == bend
    match bend:
        case Bend(cents, words):
            assert (cents, words, bend.semitones) == (200.0, ("whole",), 2.0)


def test_what_a_class_checks_is_checked_however_it_is_made() -> None:
    for make in (lambda: Bend(1300.0), lambda: replace(Bend(100.0), cents=1300.0)):
        with pytest.raises(ValueError, match="no string bends that far"):
            make()


def test_what_a_class_defines_itself_stays() -> None:
    @frozen
    class Loud:
        """Told in its own way."""

        x: int

        def __repr__(self) -> str:
            return "loud"

    assert repr(Loud(1)) == "loud"


@pytest.mark.parametrize(
    ("given", "named"), [((), {}), ((1.0, 2.0), {}), ((), {"x": 1.0, "z": 2.0}), ((1.0,), {"x": 1.0})]
)
def test_who_gives_too_little_or_too_much_is_told_as_by_the_library(given: tuple, named: dict) -> None:
    told = []
    for made in ALONE:
        with pytest.raises(TypeError) as fault:
            made(*given, **named)
        told.append(str(fault.value))
    assert told[0] == told[1]
