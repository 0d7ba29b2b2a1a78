"""Advice on the latest sessions first, and on each player apart: what was mended is not held against anybody.

A log of a month says what was, its last sessions what is. So what the last `LATEST` sessions support is said first, and
says that it is of these; then what the whole supports, of targets that the last sessions say too little of. Where they
say enough and nothing stands out any more, nothing is said, but for a trend. Tries of two players are never put
together: each is advised on their own, who played last first, and by name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from pedal.progress.advice import MOST_SENTENCES, Advice, advise
from pedal.progress.figures import Figures, target_table
from pedal.progress.naming import folded
from pedal.progress.tries import Tries
from pedal.verdicts.aim import Bands

LATEST = 5
"""Sessions: a week or two of practice. A choice, with no study behind it."""
_YOUR = "Your "


def advise_each(
    tries: Tries,
    players: Sequence[str],
    *,
    rows: Sequence[Figures] | None = None,
    bands: Bands | None = None,
) -> list[Advice]:
    """Advice on all tries; `players` are the names of session 1, 2, ... in the order played, "" for a nameless one.

    players : a name for each player there is, also for those that gave none on several pedals.

    rows : the `target_table` of these tries, if it is known already.

    One player, named or not, is spoken to as "you", several are named.
    """
    names = list(dict.fromkeys(folded(name) for name in reversed(players)))
    if len(names) <= 1:
        return _latest_first(tries, rows, bands)
    said: list[Advice] = []
    for name in names:
        own = [order for order, player in enumerate(players, 1) if folded(player) == name]
        shown = next((player for player in reversed(players) if folded(player) == name), "").strip()
        part = tries.part(np.isin(tries.session, own))
        said += [_named(one, shown or "Nameless") for one in _latest_first(part, None, bands)]
    return said


def _latest_first(tries: Tries, rows: Sequence[Figures] | None, bands: Bands | None) -> list[Advice]:
    sessions = np.unique(tries.session)
    whole = advise(tries, rows=rows, bands=bands, most=None)
    if len(sessions) <= LATEST:
        return whole[:MOST_SENTENCES]
    late = tries.part(tries.session >= sessions[-LATEST])
    late_rows = target_table(late)
    known = {row.name for row in late_rows if row.enough}
    lately = [replace(one, sentence=_lately(one.sentence)) for one in advise(late, rows=late_rows, bands=bands)]
    told = {one.target for one in lately}
    older = [one for one in whole if one.target not in told and (one.target not in known or one.rule == "moving")]
    return [*lately, *older][:MOST_SENTENCES]


def _lately(sentence: str) -> str:
    return f"In the last {LATEST} sessions your {sentence.removeprefix(_YOUR)}"


def _named(advice: Advice, name: str) -> Advice:
    said = advice.sentence
    return replace(advice, sentence=f"{name}: {said[0].lower()}{said[1:]}", player=name)
