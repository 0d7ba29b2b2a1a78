"""All tries of a log as columns of numbers: a million of them take 30 MB, and none is an object of its own.

A try is a note that was a bend of some kind and could be judged. `Gathering` takes rows as a log holds them, in the
order they were played; `Tries` is what came together.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from pedal.progress.logged_note import Skill, skill_of, target_name

if TYPE_CHECKING:
    Integers: TypeAlias = array[int]
    Numbers: TypeAlias = array[float]
else:  # Python 3.11 has no array[int] at run time, where the API pages ask for it
    Integers = Numbers = array

Row = tuple[
    int,
    int,
    int | None,
    int | None,
    str,
    str,
    str | None,
    str | None,
    str | None,
    float | None,
    float | None,
    float | None,
]
"""number, setting, string, position, kind, verdict, degree, target_degree, target_note, value, rise_s, overshoot_cents.

The value is the height of a curl (`bend_cents`) and the error of everything else (`error_cents`).
"""
_NO_TRY = -1
_Number = TypeVar("_Number", bound=np.generic)


@dataclass(frozen=True, slots=True)
class Sort:
    """What a try was: everything of it that is a word."""

    skill: Skill
    target: str
    hit: bool
    released: bool


@dataclass(slots=True)
class _Columns:
    session: Integers = field(default_factory=lambda: array("i"))
    sort: Integers = field(default_factory=lambda: array("H"))
    setting: Integers = field(default_factory=lambda: array("H"))
    string: Integers = field(default_factory=lambda: array("B"))
    position: Integers = field(default_factory=lambda: array("B"))
    value: Numbers = field(default_factory=lambda: array("d"))
    rise_s: Numbers = field(default_factory=lambda: array("d"))
    overshoot_cents: Numbers = field(default_factory=lambda: array("d"))


class Tries:
    """Tries as columns, equally long but for `rise_s` and `overshoot_cents`, which have a value a bend.

    A part of them is a choice of rows; its columns are made when they are asked for, and held by nobody.

    which : an array with one truth a row of the columns; None for all of them.
    sorts, settings : what the columns `sort` and `setting` are indices into; a setting is (mode, key).
    """

    def __init__(
        self,
        sorts: tuple[Sort, ...],
        settings: tuple[tuple[str, str], ...],
        columns: _Columns,
        which: NDArray[np.bool_] | None = None,
    ) -> None:
        self.sorts, self.settings = sorts, settings
        self._columns, self._which = columns, which
        self._length = len(columns.sort) if which is None else int(np.count_nonzero(which))

    def __len__(self) -> int:
        return self._length

    @property
    def session(self) -> NDArray[np.int32]:
        """The session's place in the order played, one a try, rising."""
        return self._chosen(np.frombuffer(self._columns.session, np.int32))

    @property
    def sort(self) -> NDArray[np.uint16]:
        """Index into `sorts`, one a try."""
        return self._chosen(np.frombuffer(self._columns.sort, np.uint16))

    @property
    def setting(self) -> NDArray[np.uint16]:
        """Index into `settings`, one a try."""
        return self._chosen(np.frombuffer(self._columns.setting, np.uint16))

    @property
    def string(self) -> NDArray[np.uint8]:
        """Number of the string, 1 the highest, 0 where unknown; one a try."""
        return self._chosen(np.frombuffer(self._columns.string, np.uint8))

    @property
    def position(self) -> NDArray[np.uint8]:
        """Number of the position, from 1, 0 where unknown; one a try."""
        return self._chosen(np.frombuffer(self._columns.position, np.uint8))

    @property
    def value(self) -> NDArray[np.float64]:
        """Cents, one a try, NaN where unknown: the height of a curl above its rest note, the error of all others."""
        return self._chosen(np.frombuffer(self._columns.value, np.float64))

    @property
    def rise_s(self) -> NDArray[np.float64]:
        """Seconds from leaving the rest note to the hold, one a bend in order, NaN where unknown."""
        return self._of_bends(np.frombuffer(self._columns.rise_s, np.float64))

    @property
    def overshoot_cents(self) -> NDArray[np.float64]:
        """How far above its hold it came, cents, one a bend in order, NaN where unknown."""
        return self._of_bends(np.frombuffer(self._columns.overshoot_cents, np.float64))

    def are(self, what: Callable[[Sort], bool]) -> NDArray[np.bool_]:
        """Which tries are of a sort that `what` says yes to: an array with one truth a try."""
        return self._table(what)[self.sort]

    def part(self, which: NDArray[np.bool_]) -> Tries:
        """The tries where `which`, an array with one truth a try, says so; they share their columns with these."""
        if self._which is None:
            return Tries(self.sorts, self.settings, self._columns, which)
        chosen = self._which.copy()
        chosen[chosen] = which
        return Tries(self.sorts, self.settings, self._columns, chosen)

    def _chosen(self, column: NDArray[_Number]) -> NDArray[_Number]:
        return column if self._which is None else column[self._which]

    def _of_bends(self, column: NDArray[np.float64]) -> NDArray[np.float64]:
        if self._which is None:
            return column
        bends = self._table(lambda sort: sort.skill == "bend")[np.frombuffer(self._columns.sort, np.uint16)]
        return column[self._which[bends]]

    def _table(self, what: Callable[[Sort], bool]) -> NDArray[np.bool_]:
        return np.array([what(sort) for sort in self.sorts] or [False], np.bool_)


class Gathering:
    """`.add(session, rows)` in the order played, then `.tries()`, once.

    settings : (mode, key) by the number that rows give.
    fits : which rows count; None for all.

    notes : how many rows counted, tries or not.
    """

    def __init__(
        self, settings: Mapping[int, tuple[str, str]], fits: Callable[[Row, tuple[str, str]], bool] | None = None
    ) -> None:
        self.notes = 0
        self._fits = fits
        self._by_id = dict(settings)
        self._settings = list(dict.fromkeys(settings.values()))
        place = {words: at for at, words in enumerate(self._settings)}
        self._setting_of = {number: place[words] for number, words in settings.items()}
        self._sorts: list[Sort] = []
        self._places: dict[Sort, int] = {}
        self._sort_of: dict[tuple[str, str, str | None, str | None], int] = {}
        self._columns = _Columns()

    def add(self, session: int, rows: Sequence[Row]) -> None:
        """Rows of one session, in order; `session` never falls from one call to the next."""
        if self._fits is not None:
            rows = [row for row in rows if self._fits(row, self._by_id[row[1]])]
        if not rows:
            return
        self.notes += len(rows)
        _, setting, string, position, kind, verdict, degree, target_degree, _, value, rise_s, over = zip(
            *rows, strict=True
        )
        sort = np.array([self._sort(key) for key in zip(kind, verdict, degree, target_degree, strict=True)], np.int32)
        kept = sort != _NO_TRY
        sort = sort[kept]
        bend = kept & np.array([one in ("bend", "bend_release") for one in kind], np.bool_)
        columns = self._columns
        columns.session.frombytes(np.full(len(sort), session, np.int32).tobytes())
        columns.sort.frombytes(sort.astype(np.uint16).tobytes())
        columns.setting.frombytes(np.array([self._setting_of[one] for one in setting], np.uint16)[kept].tobytes())
        columns.string.frombytes(np.array([one or 0 for one in string], np.uint8)[kept].tobytes())
        columns.position.frombytes(np.array([one or 0 for one in position], np.uint8)[kept].tobytes())
        columns.value.frombytes(_numbers(value)[kept].tobytes())
        columns.rise_s.frombytes(_numbers(rise_s)[bend].tobytes())
        columns.overshoot_cents.frombytes(_numbers(over)[bend].tobytes())

    def tries(self) -> Tries:
        """All that was added; nothing more can be added after."""
        return Tries(tuple(self._sorts), tuple(self._settings), self._columns)

    def _sort(self, key: tuple[str, str, str | None, str | None]) -> int:
        found = self._sort_of.get(key)
        if found is None:
            found = self._sort_of[key] = self._new_sort(*key)
        return found

    def _new_sort(self, kind: str, verdict: str, degree: str | None, target_degree: str | None) -> int:
        skill = skill_of(kind, verdict)
        if skill is None:
            return _NO_TRY
        sort = Sort(skill, target_name(skill, degree, target_degree), verdict == "true", verdict == "released")
        if sort not in self._places:
            self._places[sort] = len(self._sorts)
            self._sorts.append(sort)
        return self._places[sort]


def is_try(row: Row) -> bool:
    """Whether a row counts as a try."""
    return skill_of(row[4], row[5]) is not None


def _numbers(values: Sequence[float | None]) -> NDArray[np.float64]:
    """NaN for None."""
    return np.array(values, np.float64)
