"""Pages of the set-up: dot for dot as they were last looked at, and never over an edge, whatever they say."""

from __future__ import annotations

import pytest
from golden import compare
from hypothesis import given, settings
from hypothesis import strategies as st

from pedal.screen.setup_page import lay_out_set_up
from pedal.setup.cable import CARE as CABLE_CARE
from pedal.setup.page import SetUpPage
from pedal.setup.panel import REMEDIES
from pedal.setup.sound_in import NONE_HEARS
from pedal.setup.sound_out import CARE

GOOD = (0.4, 0.85)
PAGES = {
    "panel": SetUpPage(
        "PRESS",
        ("if this is whole, sharp and upright", "2 of 4: SH1106 at 0x3C on I2C 1"),
        edges=True,
        beat=5,
        places=8,
    ),
    "no panel": SetUpPage("NO PANEL", REMEDIES, "again", "leave", 0, 8),
    "switches": SetUpPage("FOUND 2", ("1: GPIO 17, 2: GPIO 27", "the next one?"), "", "these are all", 1, 8),
    "input": SetUpPage("PLAY", ("open strings, on and on", "2 of 3: USB Audio: -"), "", "leave", 2, 8),
    "none hears": SetUpPage("NOTHING", (NONE_HEARS, "2 of 3: USB Audio: -"), "again", "leave", 2, 8),
    "level": SetUpPage(
        "TURN DOWN", ("the input's gain: it clips", "-4 dBFS"), "go on", "leave", 3, 8, bar=0.93, good=GOOD
    ),
    "noise": SetUpPage(
        "HUM", ("Some hum: 50 Hz at -61 dBFS. Isolated supply, one outlet for all.",), "go on", "again", 4, 8
    ),
    "output": SetUpPage("HEAR IT?", (f"A quiet tone. {CARE}", "1 of 2: USB Audio: -"), "yes", "none", 5, 8),
    "cable": SetUpPage("CABLE", (CABLE_CARE,), "begin", "leave", 7, 8),
    "figure": SetUpPage("LOSSES", ("no sample lost in 15 s",), "next", "leave", 7, 8),
    "ready": SetUpPage("READY", ("All steps are done. Switch 1 held: the menu.",), "play", "", 8, 8),
}


@pytest.mark.parametrize("height", [64, 32])
def test_pages_look_as_they_did(height):
    compare(f"set_up_{height}", {name: lay_out_set_up(page, height=height).bitmap for name, page in PAGES.items()})


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
