"""A demo of a few seconds, for those who look at what is around it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pedal.synth.drills import SCENES, curl_scene


@pytest.fixture
def two_curls(monkeypatch: pytest.MonkeyPatch) -> None:
    """The demo of the mode curl ends after its second note."""
    whole = curl_scene()
    short = replace(whole, strokes=whole.strokes[:2], length_s=whole.strokes[1].end_s + 0.5)
    monkeypatch.setitem(SCENES, "curl", lambda: short)
