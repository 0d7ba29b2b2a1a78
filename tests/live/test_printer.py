"""What people read of verdicts: words for notes that are no bends, dashes where there is nothing to say."""

from __future__ import annotations

import json
from typing import Any

import pytest

from pedal.live.printer import Printer
from pedal.live.verdict_lines import json_line, table_header, table_row, word
from pedal.verdicts.verdict import Verdict


def a_verdict(**changed: Any) -> Verdict:
    fields: dict[str, Any] = {
        "onset_s": 1.0, "end_s": 2.0, "rest_note": "C4", "rest_cents": 0.0, "degree": "4", "shape": "rise",
        "kind": "bend", "target_note": "D4", "target_degree": "5", "bend_cents": 196.0, "error_cents": -4.0,
        "absolute_cents": -4.0, "peak_cents": 200.0, "overshoot_cents": 4.0, "rise_s": 0.2, "hold_s": 0.5,
        "final_cents": 196.0, "ending": "cut", "vibrato_hz": 0.0, "vibrato_cents": 0.0, "verdict": "true", "reason": "",
    }  # fmt: skip
    return Verdict(**(fields | changed))


STEADY = a_verdict(shape="level", kind="steady", bend_cents=0.0, error_cents=None, verdict="unclear")
SLIDE = a_verdict(shape="not_a_bend", kind="slide", bend_cents=None, error_cents=None, verdict="unclear")
HAMMER_ON = a_verdict(shape="not_a_bend", kind="hammer_on", bend_cents=None, error_cents=None, verdict="unclear")
TWO_STRINGS = a_verdict(shape="not_a_bend", kind="unclear", bend_cents=None, error_cents=None, verdict="unclear")
HELD_PREBEND = a_verdict(shape="level", kind="prebend", bend_cents=0.0, error_cents=-14.5, verdict="flat")


def cell(verdict: Verdict, name: str, *, width: int, right: bool = False) -> str:
    at = table_header().index(name)
    row = table_row(verdict)
    return (row[at + len(name) - width : at + len(name)] if right else row[at : at + width]).strip()


@pytest.mark.parametrize(
    ("verdict", "said", "in_table"),
    [
        (a_verdict(), "true", "TRUE"),
        (STEADY, "steady", "–"),
        (SLIDE, "no bend", "NO BEND"),
        (HAMMER_ON, "no bend", "NO BEND"),
        (TWO_STRINGS, "unclear", "UNCLEAR"),
        (HELD_PREBEND, "flat", "FLAT"),
    ],
)
def test_the_word_that_a_player_reads(verdict: Verdict, said: str, in_table: str) -> None:
    assert word(verdict) == said
    assert cell(verdict, "verdict", width=8) == in_table


def test_programs_read_the_word_of_the_contract() -> None:
    assert json.loads(json_line(STEADY))["verdict"] == "unclear"


@pytest.mark.parametrize("verdict", [STEADY, HELD_PREBEND])
def test_a_level_note_has_no_height(verdict: Verdict) -> None:
    assert cell(verdict, "height c", width=8, right=True) == "–"


def test_a_bend_has_a_height_and_its_reason_drawn_accidentals() -> None:
    verdict = a_verdict(reason="Bb3 bent to C4: 4 cents flat.")
    assert cell(verdict, "height c", width=8, right=True) == "+196.0"
    assert table_row(verdict).endswith("B♭3 bent to C4: 4 cents flat.")


def test_the_summary_counts_steady_notes_apart_from_refused_ones() -> None:
    printer = Printer(None)
    for verdict in (a_verdict(), STEADY, STEADY, SLIDE, HAMMER_ON, TWO_STRINGS, HELD_PREBEND):
        printer.tell(verdict)
    assert printer.summary() == "7 notes: 1 true, 1 flat, 2 steady, 2 no bend, 1 unclear"


def test_the_summary_of_silence_and_of_one_note() -> None:
    printer = Printer(None)
    assert printer.summary() == "no note was heard"
    printer.tell(a_verdict())
    assert printer.summary() == "1 note: 1 true"
