"""Writes docs/rounds.md and its picture: one Round as the list of its screens, and a month of Rounds.

Run from the repository: `python docs/make_rounds.py [FOLDER]`. The board, its Round, its log and its order by need are
the real ones; the hand that plays is made up (`pedal/synth/player.py`).
"""

from __future__ import annotations

import argparse
import copy
import sys
from collections.abc import Iterator
from pathlib import Path

from PIL import Image

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from make_screens import sheet_of  # noqa: E402 - found by the line above

from bench.rounds import STEP_S, Asked, month, play, screens  # noqa: E402
from pedal.modes.input_events import LivePitch  # noqa: E402
from pedal.modes.pedal import Pedal, PedalState  # noqa: E402
from pedal.modes.round import PAGE_S, VERDICT_S  # noqa: E402
from pedal.screen.drawing import draw  # noqa: E402
from pedal.synth.player import MadeUpPlayer  # noqa: E402

DAYS = 30
SHOWN_S = VERDICT_S + 1.0
"""A verdict stays for so long, and then what is asked for is shown."""
TOLD_DAYS = (1, 2, 3, 5, 10, 15, 20, 25, 30)
PAGE = """# One Round, and a month of them

Written by `python docs/make_rounds.py`, which lets a made-up hand play on the real board; nobody's hand is told here.
What a Round is: [round.md](round.md).

## One Round of ten minutes

The first screen of each kind, and the first answers, as they are read standing. A verdict stands with the item that it
is of; then comes what is asked for next.

![The screens of a Round](rounds/round.png)

All of it: when it was asked for, string and fret, the force of a bend, and what became of each try.

```
{round}
```

## A month

Thirty Rounds of ten minutes, a day apart. Each spot has a bias of its own, which shrinks by six in a hundred with every
try. *Heavy* is how many heavy bends were asked for; the ceiling is ten an hour. *First* is what needs work most, by the
rule that Round follows (`pedal/progress/need.py`: 1.50 for what was never tried).

| day | tries | true | median error | heavy | length | first by need | last |
|---|---|---|---|---|---|---|---|
{month}

What was heavy and missed leads in the first days; then what was not reached yet comes up, and what was learned sinks
and comes back days later, because a skill that rests is in doubt again.
"""


def first_of_each() -> dict[str, Image.Image]:
    """The first screen of each kind in one Round, the first verdicts, and the three lines at its end."""
    pedal = Pedal(PedalState(mode="round", round_minutes=10))
    found = {"before it begins": draw(pedal.screen())}

    def show(at_s: float, name: str, later_s: float = 0.0) -> None:
        """The board as it stands, or a while later if nothing is played; each name once."""
        label = f"{int(at_s) // 60}:{int(at_s) % 60:02d}  {name}"
        if not any(known.endswith(f"  {name}") for known in found):
            waiting = copy.deepcopy(pedal)
            for step in range(1, round(later_s / STEP_S) + 1):
                waiting.step(LivePitch(at_s + step * STEP_S, 0.0, -80.0))
            found[label] = draw(waiting.screen())

    at_s, what = 0.0, ""
    for one in play(pedal, MadeUpPlayer(pedal.settings.key), begin_s=0.0):
        if isinstance(one, Asked):
            at_s, what = one.at_s, one.what if isinstance(one.what, str) else one.what.part
            if what == "end":
                for line, name in enumerate(("the end", "its second line", "its third line")):
                    show(at_s, name, SHOWN_S + line * PAGE_S)
            else:
                show(at_s, what, SHOWN_S)
        elif one.verdict is not None and what != "between":
            show(at_s, f"{what}: {one.verdict.verdict}")
    return found


def rows_of_month() -> Iterator[str]:
    """The table's rows."""
    for day, order, of in month(DAYS):
        if day in TOLD_DAYS:
            first, last = "<br>".join(order[:3]), "<br>".join(order[-2:])
            yield (
                f"| {day} | {of['tries']} | {of['true']} % | {of['median_error']} cents | {of['heavy']} "
                f"| {of['length_s']:.0f} s | {first} | {last} |"
            )


def page() -> str:
    """The whole page."""
    return PAGE.format(round="\n".join(line.rstrip() for line in screens(10)), month="\n".join(rows_of_month()))


def main() -> None:
    """Write both."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", nargs="?", type=Path, default=HERE)
    folder = parser.parse_args().folder
    (folder / "rounds").mkdir(parents=True, exist_ok=True)
    sheet_of(first_of_each()).save(folder / "rounds" / "round.png", optimize=True)
    (folder / "rounds.md").write_text(page())


if __name__ == "__main__":
    main()
