"""Findings as lines for a person and as JSON for a program."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict
from textwrap import wrap

from pedal.doctor.finding import Finding
from pedal.safe_text import clean

_PART, _WIDTH = 16, 100


def as_lines(findings: Iterable[Finding]) -> list[str]:
    """One line a finding, its remedy below it."""
    lines: list[str] = []
    for finding in findings:
        lines.append(f"{finding.mark:<8} {finding.part:<{_PART}} {clean(finding.fact)}")
        if finding.remedy:
            indent = " " * (_PART + 10)
            remedy = f"-> {clean(finding.remedy)}"
            lines += wrap(remedy, _WIDTH, initial_indent=indent, subsequent_indent=indent + "   ")
    return lines


def summary(findings: list[Finding]) -> str:
    """How many things are missing and how many could be better, in one sentence."""
    missing, warnings = (sum(finding.mark == mark for finding in findings) for mark in ("missing", "warn"))
    if not missing and not warnings:
        return "All that the settings ask for works."
    better = f"; {_count(warnings, 'thing')} could be better." if warnings else "."
    if not missing:
        return f"All that the settings ask for works{better}"
    return f"{_count(missing, 'thing')} of what the settings ask for {'is' if missing == 1 else 'are'} missing{better}"


def as_json(findings: Iterable[Finding]) -> str:
    """A list of objects with part, mark, fact and remedy."""
    told = [{name: clean(words) for name, words in asdict(finding).items()} for finding in findings]
    return json.dumps(told, ensure_ascii=False, indent=2)


def _count(number: int, word: str) -> str:
    return f"{number} {word}" + ("" if number == 1 else "s")
