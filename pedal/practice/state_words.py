"""The state of a Round -> one line of plain words that outlives a power cut, and back."""

from __future__ import annotations

import json
import math
from typing import Any, get_args

from pedal.practice.course import MINUTES, State
from pedal.practice.item import MOST_LICKS, ItemName, Part
from pedal.practice.score import Outcome, Score

_LETTERS: dict[Outcome, str] = {"true": "t", "near": "n", "missed": "m"}
_OUTCOMES = {letter: outcome for outcome, letter in _LETTERS.items()}
_MOST_ITEMS, _MOST_TRIES, _MOST_SECTIONS = 400, 100, 64
_NUMBERS = ("elapsed_s", "until_s", "force_n", "rested_s", "begun_s")


def words_of(state: State) -> str:
    """One line; "" once the Round is over. Seconds and cents are rounded to tenths."""
    if state.over:
        return ""
    numbers = {name: round(getattr(state, name), 1 if name != "force_n" else 6) for name in _NUMBERS}
    resting = None if state.resting_until_s is None else round(state.resting_until_s, 1)
    return json.dumps(
        {
            "minutes": state.minutes,
            "at": state.at,
            "heavy": state.heavy,
            "after_heavy": state.after_heavy,
            **numbers,
            "resting_until_s": resting,
            "now": None if state.now is None else list(state.now),
            "score": _score_words(state.score),
            "done": [list(name) for name in sorted(state.done)],
            "history": [[list(name), _score_words(score)] for name, score in state.history.items()],
        },
        separators=(",", ":"),
    )


def state_of(words: str) -> State:
    """The state of such a line; raises ValueError for one that is damaged."""
    try:
        kept: Any = json.loads(words)
        state = State(
            _whole(kept["minutes"], MINUTES[-1]),
            elapsed_s=_number(kept["elapsed_s"]),
            at=_whole(kept["at"], _MOST_SECTIONS),
            until_s=_number(kept["until_s"]),
            force_n=_number(kept["force_n"]),
            rested_s=_number(kept["rested_s"]),
            begun_s=_number(kept["begun_s"]),
            resting_until_s=None if kept["resting_until_s"] is None else _number(kept["resting_until_s"]),
            now=None if kept["now"] is None else _name(kept["now"]),
            score=_score(kept["score"]),
            heavy=_whole(kept["heavy"], 1000),
            after_heavy=bool(kept["after_heavy"]),
            done={_name(one) for one in _few(kept["done"])},
            history={_name(name): _score(score) for name, score in _few(kept["history"])},
        )
    except (KeyError, TypeError, RecursionError) as fault:
        raise ValueError(f"a remembered Round is damaged: {fault}") from fault
    if state.minutes not in MINUTES:
        raise ValueError(f"a Round of {state.minutes} minutes was never begun")
    return state


def _score_words(score: Score) -> list[object]:
    return ["".join(_LETTERS[outcome] for outcome in score.outcomes), [round(error, 1) for error in score.errors]]


def _score(kept: Any) -> Score:
    letters, errors = kept
    return Score(
        [_OUTCOMES[letter] for letter in str(letters)[:_MOST_TRIES]], [_number(e, signed=True) for e in _few(errors)]
    )


def _name(kept: Any) -> ItemName:
    part, string, fret, target = kept
    most_fret = MOST_LICKS if part == "lick" else 36
    if part not in get_args(Part) or not isinstance(target, str) or len(target) > 5:
        raise ValueError(f"{kept!r} is no item")
    return ItemName(part, _whole(string, 8), _whole(fret, most_fret), target)


def _few(kept: Any) -> list[Any]:
    if not isinstance(kept, list) or len(kept) > _MOST_ITEMS:
        raise ValueError("a list of a remembered Round is damaged")
    return kept


def _whole(kept: Any, most: int) -> int:
    if not isinstance(kept, int) or isinstance(kept, bool) or not 0 <= kept <= most:
        raise ValueError(f"{kept!r} is no whole number up to {most}")
    return kept


def _number(kept: Any, *, signed: bool = False) -> float:
    if not isinstance(kept, int | float) or isinstance(kept, bool) or not math.isfinite(kept):
        raise ValueError(f"{kept!r} is no number")
    if abs(kept) > 10_000 or (kept < 0 and not signed):
        raise ValueError(f"{kept!r} is out of range")
    return float(kept)
