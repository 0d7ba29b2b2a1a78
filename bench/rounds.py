"""A month of Rounds by a made-up player, without sound: what is asked for, and what that did to the order by need.

    python -m bench.rounds round            one Round of ten minutes, as a list of its screens
    python -m bench.rounds month            thirty Rounds, a day apart

Verdicts are written as the judge would write them; the board, its Round and its log entries are the real ones.
All figures are of an invented hand (`pedal.synth.player`).
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from pedal.modes.history import History
from pedal.modes.input_events import Command, LivePitch
from pedal.modes.log_entry import LogEntry
from pedal.modes.pedal import Pedal, PedalState
from pedal.notes.event import End, Onset
from pedal.notes.note import Note, Trace
from pedal.practice.item import Item
from pedal.progress.need import need_of
from pedal.synth.gestures import bend_word, curl_word
from pedal.synth.player import MadeUpPlayer
from pedal.theory.scale import parse_key
from pedal.verdicts.verdict import Verdict

STEP_S = 0.1
BREATH_S = 1.3
"""From the end of a note to the next pluck."""
NOTE_S = {"plain": 0.55, "between": 0.55, "curl": 0.95, "half": 1.3, "bend": 1.3, "prebend": 0.9}
DAY_S = 86_400.0
_EMPTY = Trace(np.zeros(0), np.zeros(0), np.zeros(0))
_NOTE = Note(0.0, 1.0, "rise", 261.6, 261.6, 293.7, 294.0, 293.0, 0.2, 0.5, "rang_out", None, None, _EMPTY)


@dataclass(frozen=True)
class Asked:
    """Something that was on the screen: since when, and what; `verdict` of the note that answered it."""

    at_s: float
    what: Item | str
    verdict: Verdict | None = None


def verdict_on(item: Item, player: MadeUpPlayer, onset_s: float) -> Verdict:
    """What the judge says of the player's next try at an item."""
    plain = Verdict(
        onset_s, onset_s + NOTE_S[item.part], item.note, 0.0, "1", "level", "steady", None, None, None, None, None,
        None, None, None, 0.5, None, "cut", 0.0, 0.0, "unclear", "",
    )  # fmt: skip
    match item.part:
        case "plain" | "between":
            return plain
        case "curl":
            cents, released = player.curl_cents()
            word = "released" if released else curl_word(cents)
            return replace(plain, shape="rise", kind="curl", bend_cents=cents, verdict=word, ending="cut_sharp")
        case _:
            error = player.error_cents(item.part, item.string, item.fret)
            kind = "prebend" if item.part == "prebend" else "bend"
            return replace(
                plain, shape="rise", kind=kind, target_note=item.target, target_degree="1", error_cents=error,
                bend_cents=100.0 * item.semitones + error, verdict=bend_word(error),
            )  # fmt: skip


def play(pedal: Pedal, player: MadeUpPlayer, *, begin_s: float, most_s: float = 3600.0) -> Iterator[Asked | LogEntry]:
    """One Round from its first press to its three lines: what was asked and answered, and what was logged."""
    pedal.step(LivePitch(begin_s, 0.0, -80.0))
    pedal.step(Command(begin_s, "next_target"))
    now_s, free_s = begin_s, begin_s + BREATH_S
    ends: Verdict | None = None
    shown: Item | str | None = None
    while now_s < begin_s + most_s:
        now_s += STEP_S
        pedal.step(LivePitch(now_s, 0.0, -80.0))
        asked = pedal.asked
        if ends is not None:
            if now_s >= ends.end_s:
                pedal.step(End(now_s, replace(_NOTE, onset_s=ends.onset_s, end_s=ends.end_s)))
                yield Asked(now_s - begin_s, asked or "", ends)
                yield from pedal.step(ends).entries
                ends, free_s = None, now_s + BREATH_S
            continue
        if asked != shown:
            shown = asked
            yield Asked(now_s - begin_s, asked or "")
        if asked == "end":
            return
        if isinstance(asked, Item) and now_s >= free_s:
            pedal.step(Onset(now_s))
            ends = verdict_on(asked, player, now_s)


def order_by_need(history: History, items: Iterable[Item], now_s: float) -> list[str]:
    """Bends and pre-bends of a position, the neediest first."""
    skill = {"bend": "ladder", "prebend": "blind"}
    needs = {
        f"{'pre-' if item.part == 'prebend' else ''}({item.string}){item.fret}▸{item.target}": need_of(
            history.tries(skill[item.part]).get((item.string, item.fret, item.target_midi), ()), now_s
        )
        for item in items
        if item.part in skill
    }
    return [f"{name} {need:.2f}" for name, need in sorted(needs.items(), key=lambda one: -one[1])]


Day = tuple[int, list[str], dict[str, float | None]]


def month(days: int = 30, *, minutes: int = 10, key: str = "G minor pentatonic") -> Iterator[Day]:
    """For each day: its number, the order by need after it, and figures of its Round."""
    place = PedalState(key=parse_key(key), mode="round", round_minutes=minutes)
    player = MadeUpPlayer(place.key)
    log: list[LogEntry] = []
    for day in range(days):
        pedal = Pedal(place, {}, log)
        found = list(play(pedal, player, begin_s=0.0))
        entries = [one for one in found if isinstance(one, LogEntry)]
        tries = [e for e in entries if e.verdict and e.verdict.kind != "curl"]
        errors = [abs(e.verdict.error_cents) for e in tries if e.verdict and e.verdict.error_cents is not None]
        figures = {
            "tries": len(entries),
            "true": round(100 * sum(e.verdict.verdict == "true" for e in entries if e.verdict) / max(1, len(entries))),
            "median_error": round(float(np.median(errors)), 1) if errors else None,
            "heavy": sum(isinstance(a, Asked) and a.verdict is not None and _heavy(a.what) for a in found),
            "length_s": round(max(a.at_s for a in found if isinstance(a, Asked)), 1),
        }
        log = [replace(entry, time_s=entry.time_s - DAY_S) for entry in (*log, *entries)]
        yield day + 1, order_by_need(History(log), place.items(), 0.0), figures


def _heavy(what: Item | str) -> bool:
    return isinstance(what, Item) and what.heavy


def screens(minutes: int) -> Iterator[str]:
    """One Round as a list of its screens."""
    pedal = Pedal(PedalState(mode="round", round_minutes=minutes))
    answers: list[str] = []
    line = ""
    for one in play(pedal, MadeUpPlayer(pedal.settings.key), begin_s=0.0):
        if not isinstance(one, Asked):
            continue
        if one.verdict is not None:
            answers.append("right" if one.verdict.kind == "steady" else one.verdict.verdict)
            continue
        if line:
            yield line + ("" if not answers else f"  {' '.join(answers)}")
        answers = []
        minute = f"{int(one.at_s) // 60}:{int(one.at_s) % 60:02d}"
        if isinstance(one.what, Item):
            item = one.what
            force = f"{item.force_n:.1f} N" if item.force_n else ""
            where = f"({item.string}){item.fret} {item.note}{'' if item.target == item.note else '▸' + item.target}"
            line = f"{minute:>5}  {item.part:8} {where:14} {force:7}{'heavy' if item.heavy else '':6}"
        else:
            line = f"{minute:>5}  {one.what}"
    yield line
    model = pedal.screen()
    yield from (f"       {title}: {whole}" for title, _, whole in getattr(model, "lines", ()))


def main() -> None:
    """Print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=("round", "month"))
    parser.add_argument("--minutes", type=int, default=10, choices=(5, 10, 20))
    parser.add_argument("--days", type=int, default=30)
    arguments = parser.parse_args()
    if arguments.what == "round":
        print("\n".join(screens(arguments.minutes)))
        return
    for day, order, figures in month(arguments.days, minutes=arguments.minutes):
        if day in (1, 2, 3, 5, 10, 15, 20, 25, 30) or day == arguments.days:
            print(f"day {day:2}  {figures}")
            print("        first: " + ", ".join(order[:5]))
            print("        last:  " + ", ".join(order[-3:]))


if __name__ == "__main__":
    main()
