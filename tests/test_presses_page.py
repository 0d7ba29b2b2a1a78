"""The page of presses is what walking the board gives, and what it promises holds."""

from __future__ import annotations

import importlib.util
import json
import sys
from typing import get_args

import pytest

from pedal.modes.names import ModeName
from tests.conftest import REPOSITORY

DOCS = REPOSITORY / "docs"


@pytest.fixture(scope="module")
def maker():
    spec = importlib.util.spec_from_file_location("make_presses", DOCS / "make_presses.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    monkeypatch = pytest.MonkeyPatch()
    monkeypatch.setitem(sys.modules, spec.name, module)  # dataclasses look their module up
    spec.loader.exec_module(module)
    yield module
    monkeypatch.undo()


@pytest.fixture(scope="module")
def figures(maker):
    return maker.figures()


def test_the_page_is_current(maker):
    assert (DOCS / "presses.md").read_text() == maker.page(), "run python docs/make_presses.py"


def test_nothing_is_out_of_reach_whatever_stands_on_the_floor(figures):
    assert len(figures) == 12
    assert all(None not in presses for presses in figures.values())


def test_from_g_to_c_sharp_minor_takes_three_presses_at_most(figures):
    assert max(figures["from G to C♯ minor"]) <= 3


def test_what_could_be_done_in_a_few_presses_takes_no_more_now(figures):
    """Long ways through the menu may have grown by the rows that it gained; short ways may not.

    One switch walks the ring of modes one way, and the ring has a mode or two more than the seven of then.
    """
    before = json.loads((DOCS / "presses_before.json").read_text())["presses"]
    grown = [
        (words, then, now)
        for words, presses in figures.items()
        for switches, (then, now) in enumerate(zip(before[words], presses, strict=True), 1)
        if then is not None and then <= 6 and now > then + (switches == 1) * (len(get_args(ModeName)) - 7)
    ]
    assert not grown


def test_a_way_that_cannot_be_walked_is_not_counted(maker):
    task = maker.Task("nowhere", (lambda walk: walk.do("recall"),), lambda pedal: True)
    assert maker.fewest(task, 2) is None
    wrong = maker.Task("elsewhere", (lambda walk: walk.do("next_mode"),), lambda pedal: pedal.settings.mode == "tune")
    assert maker.fewest(wrong, 2) is None
