"""Passes through licks, written into lines of the log and read out of them again."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from pedal.licks.forms import asked
from pedal.licks.heard import HeardNote
from pedal.licks.lick import Lick, LickNote
from pedal.licks.marks import mark_pass
from pedal.modes.lick_log import LickHistory, LoggedPass, PassNumbers, pass_entries, passes_in
from pedal.modes.log_entry import LogEntry
from pedal.modes.state import PedalState
from pedal.theory.scale import parse_key
from pedal.verdicts.aim import Bands

# Written out, and not taken from the code, so that a change of it is seen.
PARTED_S, RECENT = 60.0, 8

KEY = parse_key("G minor pentatonic")
ROW = (55, 58, 60, 62, 65)
LICKS = tuple(Lick(tuple(LickNote(midi, 0.5) for midi in ROW), KEY, name=name) for name in ("old gate", "high road"))
STATE = PedalState(key=KEY)
PASSES = st.lists(
    st.tuples(
        st.sampled_from(LICKS),
        st.sampled_from(["", "Ann", "Ben"]),
        st.lists(st.booleans(), min_size=5, max_size=5).filter(any),  # which notes were played
        st.integers(0, 2),  # notes too many
    ),
    max_size=6,
)


def a_heard(midi: int, at_s: float) -> HeardNote:
    return HeardNote(at_s, at_s + 0.3, midi, None, "steady", "unclear", 0.0, None, 0.0, "cut")


def written(passes: list, *, apart_s: float = 10.0) -> tuple[list[LogEntry], list[LoggedPass]]:
    """The lines of passes played one after another, and what they were."""
    numbers: PassNumbers = {}
    lines, were = [], []
    for turn, (lick, player, played, more) in enumerate(passes):
        at_s = apart_s * turn
        notes = [a_heard(midi, at_s + 0.4 * n) for n, midi in enumerate(ROW) if played[n]]
        notes += [a_heard(41, at_s + 2.4 + 0.4 * n) for n in range(more)]
        marked = mark_pass(asked(lick, "as_played"), notes, question="as_played", key=KEY, bands=Bands())
        state = replace(STATE, player=player)
        entries = pass_entries(marked, {}, lick, state, mode="lick", numbers=numbers)
        lines += [replace(entry, player=player or None) for entry in entries]
        were.append(LoggedPass(lick.name, player, entries[0].time_s, marked.right, marked.of))
    return lines, were


@given(PASSES)
def test_what_was_written_is_read_again(passes: list) -> None:
    lines, were = written(passes)
    assert list(passes_in(lines)) == were
    assert all(one.of == len(ROW) and 0 <= one.right <= one.of for one in were)


@given(PASSES)
def test_the_history_has_the_last_of_each_player_and_lick(passes: list) -> None:
    lines, were = written(passes * 4)
    history = LickHistory(lines)
    for lick in LICKS:
        for player in ("", "Ann", "Ben"):
            own = [one for one in were if (one.lick, one.player) == (lick.name, player)]
            assert list(history.passes(player, lick.name)) == own[-RECENT:]


def test_two_sessions_that_count_from_one_are_two_passes_where_a_pause_parts_them() -> None:
    whole = (LICKS[0], "", [True] * 5, 0)
    first, _ = written([whole])
    for pause_s, passes in ((PARTED_S + 2.0, 2), (PARTED_S - 2.0, 1)):
        later = [replace(line, time_s=line.time_s + first[-1].time_s + pause_s) for line in first]
        assert len(list(passes_in([*first, *later]))) == passes
