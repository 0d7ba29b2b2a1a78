"""A verdict as a line, dot for dot; and what the small files of a pedal that runs may hold."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pedal.errors import UsageError
from pedal.live import news, one_at_a_time
from pedal.live.memory_file import MemoryFile
from pedal.live.news import FILE, News, heard, tell
from pedal.live.starting_state import with_words
from pedal.live.verdict_lines import json_line, table_header, table_row, word
from pedal.settings.load import load
from tests.licks.verdicts_by_rule import verdict

BENT = {
    "at_s": 12.34567, "seconds": 1.23456, "rest_note": "Bb3", "rest_cents": -1.2345, "degree": "b3", "shape": "rise",
    "kind": "bend_release", "target_note": "C4", "target_degree": "4", "bend_cents": 187.6543, "error_cents": -12.3456,
    "rise_s": 0.123456, "hold_s": 0.98765, "vibrato_hz": 5.4321, "vibrato_evenness": 0.8765, "ending": "cut_sharp",
    "verdict": "near", "reason": "The bend from Bb3 stopped 12 cents below C4.",
}  # fmt: skip


def test_a_row_of_the_table_stands_under_its_header() -> None:
    lines = [table_header(), table_row(verdict(**BENT)), table_row(verdict(rest_note=None, degree=None, at_s=1.0))]
    assert lines == [
        "   at s  note         kind             to     height c  error c  held s  ending     verdict   why",
        "  12.35  B♭3    ♭3    bend release     C4       +187.7    -12.3    0.99  cut sharp  NEAR      "
        "The bend from B♭3 stopped 12 cents below C4.",
        "   1.00  ?            steady                         –             0.30  cut        –",
    ]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("onset_s", 12.3457), ("end_s", 13.5802), ("rest_cents", -1.23), ("bend_cents", 187.65), ("rise_s", 0.1235),
        ("hold_s", 0.9877), ("vibrato_hz", 5.43), ("vibrato_evenness", 0.88), ("kind", "bend_release"),
    ],
)  # fmt: skip
def test_programs_are_told_tenths_of_a_millisecond_and_hundredths_of_a_cent(field: str, value: object) -> None:
    assert json.loads(json_line(verdict(**BENT)))[field] == value


@pytest.mark.parametrize("endless", [float("inf"), float("nan"), None])
def test_what_is_no_number_is_null(endless: float | None) -> None:
    assert json.loads(json_line(verdict(hold_s=endless)))["hold_s"] is None


@pytest.mark.parametrize(
    ("kind", "said"), [("steady", "steady"), ("slide", "no bend"), ("hammer_on", "no bend"), ("unclear", "unclear")]
)
def test_what_cannot_be_judged_is_counted_as_what_it_was(kind: str, said: str) -> None:
    assert word(verdict(kind=kind)) == said
    assert word(verdict(kind=kind, verdict="true")) == "true"


@pytest.mark.parametrize(("a4_hz", "fine"), [(399.9, False), (400.0, True), (480.0, True), (480.1, False)])
def test_a_concert_pitch_of_the_command_line_keeps_to_its_range(a4_hz: float, fine: bool) -> None:
    if fine:
        assert with_words(load(None), key_words=None, a4_hz=a4_hz).a4_hz == a4_hz
    else:
        with pytest.raises(UsageError, match=f"--a4: {a4_hz:g} Hz is no concert pitch: give 400 to 480"):
            with_words(load(None), key_words=None, a4_hz=a4_hz)


@pytest.mark.parametrize(("size", "kept"), [(65_536, True), (65_537, False)])
def test_a_memory_of_64_kib_is_read_and_a_larger_one_is_damaged(tmp_path: Path, size: int, kept: bool) -> None:
    file = tmp_path / "remembered.json"
    text = '{"given": {}, "memory": {"rung": 4}'
    file.write_text(text + " " * (size - len(text) - 1) + "}")
    memory = MemoryFile(file, {})
    assert memory.load() == ({"rung": 4} if kept else {})
    assert bool(memory.note) != kept


def test_news_are_three_sentences_of_200_letters_heard_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rung: list[int] = []
    monkeypatch.setattr(one_at_a_time, "held_by", lambda _: 7)
    monkeypatch.setattr(news.os, "kill", lambda pedal, _: rung.append(pedal))
    assert tell(tmp_path, News(("a" * 201, "b", "c", "d"), anew=True))
    assert rung == [7]
    assert heard(tmp_path) == News(("a" * 200, "b", "c"), anew=True)
    assert heard(tmp_path) is None
    assert not tell(tmp_path, News(()))
    (tmp_path / FILE).write_text(json.dumps({"sentences": ["x" * 300, *"yzw"], "anew": 1}))
    assert heard(tmp_path) == News(("x" * 200, "y", "z"), anew=False)


@pytest.mark.parametrize(("size", "is_heard"), [(16_384, True), (16_385, False)])
def test_a_file_of_news_has_16_kib_at_most(tmp_path: Path, size: int, is_heard: bool) -> None:
    text = '{"sentences": ["one"], "anew": false'
    (tmp_path / FILE).write_text(text + " " * (size - len(text) - 1) + "}")
    assert heard(tmp_path) == (News(("one",)) if is_heard else None)
