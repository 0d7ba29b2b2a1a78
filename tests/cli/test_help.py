"""The help of every verb: examples, a word for every option, and what holds where a value is not given."""

from __future__ import annotations

import argparse
import re
import shlex
from collections.abc import Iterator

import pytest

from pedal.cli.entry import VERBS, _command

OUTPUTS = {"--png", "--svg", "--gif", "--plot", "--csv", "--html", "--midi", "--export", "--import"}
"""Files that are written, or taken in, only when they are named."""


def options(verb: str) -> Iterator[argparse.Action]:
    parser = argparse.ArgumentParser(prog=verb, add_help=False)
    _command(verb).add_arguments(parser)
    yield from parser._actions


@pytest.mark.parametrize("verb", VERBS)
def test_every_option_says_what_it_is_for(verb: str) -> None:
    assert [action.dest for action in options(verb) if not action.help] == []


@pytest.mark.parametrize("verb", VERBS)
def test_every_option_with_a_value_says_its_default(verb: str) -> None:
    silent = [
        action.option_strings[0]
        for action in options(verb)
        if action.option_strings and action.nargs != 0 and "default: " not in (action.help or "")
    ]
    assert set(silent) - OUTPUTS == set()


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_has_examples_that_its_parser_takes(verb: str) -> None:
    module = _command(verb)
    told = f"{module.__doc__}\n{getattr(module, 'EXAMPLES', '')}"
    lines = re.findall(rf"^ +undertoe {verb}(.*?)(?:  .*| > .*)?$", told, re.MULTILINE)
    assert len(lines) >= 2
    for line in lines:
        parser = argparse.ArgumentParser(prog=verb, exit_on_error=False)
        module.add_arguments(parser)
        parser.parse_args(shlex.split(line))
