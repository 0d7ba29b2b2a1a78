"""Any words at all on the command line: a status of 0, 1 or 2, sentences that begin with our name, no traceback."""

from __future__ import annotations

import argparse
import contextlib
import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pedal.cli.entry import VERBS, _parser, main

WITHOUT_DEVICES = ("check", "map", "read", "review")
"""Verbs that end by themselves, whatever comes after them; the others are asked for things that cannot be."""
VALUES = ("", "0", "-1", "1e9", "nan", "G blues", "H minor", "nothing", "missing/file", "é", "\x1b[2J", "a" * 99)
EXTRAS = ("--help", "-h", "--", "-", "--no-such-option", "--json=yes")


def is_harmless(word: str) -> bool:
    """No path that leads out of the test's own folder: some options name files that are written."""
    return not word.startswith(("/", "~")) and ".." not in word and "\0" not in word


FREE = st.text(max_size=8).filter(is_harmless)


@st.composite
def words_after(draw: st.DrawFn, verb: str) -> list[str]:
    """Options that the verb has, with and without values, among words that mean nothing."""
    parser = _parser([verb])
    verbs = next(action for action in parser._actions if isinstance(action, argparse._SubParsersAction))
    options = [option for action in verbs.choices[verb]._actions for option in action.option_strings]
    word = st.one_of(st.sampled_from(options), st.sampled_from(VALUES), st.sampled_from(EXTRAS), FREE)
    return draw(st.lists(word, max_size=6))


def outcome(words: list[str]) -> tuple[int, str, str]:
    """Status and what was printed; argparse ends its help by SystemExit."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            status = main(words)
        except SystemExit as ended:
            status = int(ended.code or 0)
    return status, out.getvalue(), err.getvalue()


@pytest.fixture(autouse=True)
def a_home_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "STATE_DIRECTORY"):
        monkeypatch.delenv(name, raising=False)


def assert_settles(words: list[str]) -> None:
    status, _, err = outcome(words)
    assert status in (0, 1, 2), (words, status, err)
    assert "Traceback" not in err
    if status:
        assert err.strip(), f"status {status} without a word for {words}"
        assert all(line.startswith("undertoe: ") for line in err.splitlines()), (words, err)


@given(st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@pytest.mark.parametrize("verb", WITHOUT_DEVICES)
def test_a_verb_with_any_words(verb: str, data: st.DataObject) -> None:
    assert_settles([verb, *data.draw(words_after(verb))])


@pytest.mark.parametrize("words", ["read /dev/null", "read .", "check /dev/null", "check .", "review --log ."])
def test_things_that_are_no_files(words: str) -> None:
    assert_settles(words.split())


@given(st.lists(st.one_of(st.sampled_from(VALUES + EXTRAS), FREE), max_size=4).filter(lambda w: not {*w} & {*VERBS}))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_words_without_a_verb(words: list[str]) -> None:
    assert_settles(words)


@pytest.mark.parametrize("verb", VERBS)
@pytest.mark.parametrize("word", ["--no-such-option", "--mode=nothing", "unwanted words", "--config=missing/file.yaml"])
def test_what_cannot_be_asked_of_any_verb(verb: str, word: str) -> None:
    if verb == "doctor" and word.startswith("--config"):
        return  # the doctor finds the file missing, which is a finding: tested with the doctor
    status, _, err = outcome([verb, *word.split(" ")])
    assert status in (1, 2), err
    assert "Traceback" not in err


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_has_help(verb: str) -> None:
    status, out, err = outcome([verb, "--help"])
    assert (status, err) == (0, "")
    assert f"undertoe {verb}" in out
