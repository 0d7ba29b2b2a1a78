"""What a stick brought, told to the pedal that runs: a few sentences in its state folder, and SIGHUP.

Whoever may write there is the pedal's own user; the sentences are shown, and decide nothing but whether the pedal is
put together anew.
"""

from __future__ import annotations

import json
import os
import signal
from contextlib import suppress
from pathlib import Path

from pedal.live import one_at_a_time
from pedal.safe_files import writing
from pedal.safe_text import clean
from pedal.values import frozen

FILE = "news.json"
_MOST, _LONGEST, _LARGEST_BYTES = 3, 200, 16_384


@frozen
class News:
    """`sentences` for the panel; `anew`: something was taken that is read when the pedal is put together."""

    sentences: tuple[str, ...]
    anew: bool = False


def tell(state: Path, news: News) -> bool:
    """Leave news for the pedal that holds this state folder; whether there is one. Raises `StoreError`."""
    pedal = one_at_a_time.held_by(state)
    if pedal is None or not news.sentences:
        return False
    with writing(state / FILE) as file:
        json.dump({"sentences": [s[:_LONGEST] for s in news.sentences[:_MOST]], "anew": news.anew}, file)
    with suppress(OSError):
        os.kill(pedal, signal.SIGHUP)
    return True


def heard(state: Path) -> News | None:
    """The news that were left, once."""
    file = state / FILE
    try:
        with file.open("rb") as source:
            found = json.loads(source.read(_LARGEST_BYTES).decode())
        file.unlink()
        sentences = tuple(clean(str(s)[:_LONGEST]) for s in found["sentences"][:_MOST])
        return News(sentences, anew=found["anew"] is True)
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
