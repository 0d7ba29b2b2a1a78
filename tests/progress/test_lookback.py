"""The look back as the text of a code: nothing that the code cannot hold, and no figure lost."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from pedal.progress.lookback import LETTERS, Lookback, code_text, short_text

WORDS = st.sampled_from(["", "b7→1 −22", "♭3 low", "pre 1 +17", "#4→5 ±32", "b3→4 less true"]) | st.text(max_size=20)
LOOKS = st.builds(
    Lookback,
    st.sampled_from(["today", "last session", "last month"]),
    st.integers(0, 99),
    st.integers(0, 99_999),
    st.none() | st.integers(0, 100),
    WORDS,
)


@given(st.lists(LOOKS, min_size=1, max_size=3))
def test_a_code_holds_only_its_letters_and_every_count_and_share(parts: list[Lookback]) -> None:
    text = code_text(parts)
    assert set(text) <= LETTERS
    assert "  " not in text and text == text.strip()
    for part in parts:
        share = "" if part.true_percent is None else f" {part.true_percent}% TRUE"
        assert f"{part.title.upper()}: {part.tries} BENDS{share}" in text


@given(LOOKS)
def test_the_least_fits_the_smallest_panel(part: Lookback) -> None:
    assert set(short_text(part)) <= LETTERS
    assert len(short_text(part)) <= 25, "a code of the first version holds 25 letters"


def test_a_fault_keeps_its_sign() -> None:
    flat, sharp = (code_text([Lookback("today", 1, 9, 50, word)]) for word in ("b7→1 −22", "b7→1 +22"))
    assert re.search(r"B7-1 -22\.$", flat) and re.search(r"B7-1 \+22\.$", sharp)
