"""`undertoe live` whose first note takes as long to judge as on the slowest board: the words of the command."""

from __future__ import annotations

import time

from pedal.live.engine import Engine
from pedal.verdicts.verdict import Verdict

JUDGED_IN_S = 0.9
"""Ten times what the end of the longest notes takes on a desk's machine, as `pedal.live.capture` reckons with."""


def judge_the_first_note_slowly() -> None:
    """The thread that hears stands still; the one that takes the sound in goes on, so nothing is lost."""
    judged = Engine._judged

    def slowly(this: Engine, verdict: Verdict) -> None:
        time.sleep(JUDGED_IN_S)
        Engine._judged = judged  # type: ignore[method-assign]
        judged(this, verdict)

    Engine._judged = slowly  # type: ignore[method-assign]


if __name__ == "__main__":
    from pedal.cli.entry import program

    judge_the_first_note_slowly()
    program()
