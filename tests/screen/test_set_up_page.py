"""Pages of the set-up: dot for dot as they were last looked at, and never over an edge, whatever they say."""

from __future__ import annotations

import pytest
from golden import assert_as_kept
from hypothesis import given, settings
from hypothesis import strategies as st

from pedal.screen.setup_page import lay_out_set_up
from pedal.screen.setup_samples import SET_UP_PAGES
from pedal.setup.step import SetUpPage

PAGES, GOOD = SET_UP_PAGES, (0.4, 0.85)


@pytest.mark.parametrize("height", [64, 32])
def test_pages_look_as_they_did(height):
    assert_as_kept(
        f"set_up_{height}", {name: lay_out_set_up(page, height=height).bitmap for name, page in PAGES.items()}
    )


@pytest.mark.parametrize("name", [name for name in PAGES if name != "figure"])
def test_what_a_builder_must_read_is_not_cut_short(name):
    """On 64 rows every page of the way says all of its words."""
    written = [one.words for one in lay_out_set_up(PAGES[name]).written]
    assert not any(words.endswith("…") for words in written), written


words = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=40)


@settings(deadline=None, max_examples=120)
@given(
    st.builds(
        SetUpPage,
        st.sampled_from(["PRESS", "TURN DOWN", "MEASURING", "SWITCHES", "BLOCK SIZE"]),
        st.lists(words, max_size=3).map(tuple),
        st.sampled_from(["", "go on", "again", "yes"]),
        st.sampled_from(["", "leave", "again", "none"]),
        st.integers(0, 8),
        st.just(8),
        st.one_of(st.none(), st.floats(0, 1)),
        st.just(GOOD),
        st.booleans(),
        st.integers(0, 1000),
    ),
    st.sampled_from([64, 32]),
)
def test_no_page_writes_over_an_edge(page, height):
    for one in lay_out_set_up(page, height=height).written:
        assert one.x >= 0
        assert one.x + one.columns <= 128
        assert one.y >= 0
        assert one.y + one.cap_rows <= height
