"""One thing that was looked at and how it stands; looks that survive what is broken; findings as lines and JSON."""

from __future__ import annotations

import json
import multiprocessing
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict
from multiprocessing.connection import Connection
from textwrap import wrap
from typing import Literal

from pedal.errors import UndertoeError
from pedal.safe_text import clean
from pedal.values import frozen

Mark = Literal["ok", "warn", "missing"]


@frozen
class Finding:
    """`part` is what was looked at, `fact` what was seen, `remedy` what to do, "" where nothing need be done.

    "warn": the pedal plays, but worse than it could. "missing": something that the settings ask for does not work.
    """

    part: str
    mark: Mark
    fact: str
    remedy: str = ""


Look = Callable[[], Iterator[Finding]]


def look_safely(part: str, look: Look) -> list[Finding]:
    """What a look finds; when it fails itself, that is a finding too: a doctor survives whatever is broken."""
    found: list[Finding] = []
    try:
        found.extend(look())
    except UndertoeError as fault:
        fact, _, remedy = str(fault).partition(": ")
        found.append(Finding(part, "missing", fact, remedy))
    except Exception as fault:  # noqa: BLE001 - a broken library may raise anything, at import too
        words = f"{type(fault).__name__}: {fault}".splitlines()[0]
        found.append(Finding(part, "missing", f"cannot be looked at ({words[:200]})", "install the pedal anew"))
    return found


PATIENCE_S = 15.0
"""Listening takes 1.25 s; opening a device through a sound server that has just woken, a few more."""
_REMEDY = "end what else uses sound, replug the interface, and look at the sound server's or ALSA's own configuration"


def look_apart(part: str, look: Look, *, patience_s: float = PATIENCE_S) -> list[Finding]:
    """What a look finds, or that it died or was silent. A look must pickle: a module's function, or a partial of it."""
    context = multiprocessing.get_context("spawn")
    receiver, sender = context.Pipe(duplex=False)
    process = context.Process(target=_look_and_send, args=(sender, part, look), daemon=True)
    process.start()
    sender.close()
    try:
        if receiver.poll(patience_s):
            return list(receiver.recv())
        fact = f"does not answer within {patience_s:g} s"
    except EOFError:
        process.join()
        fact = f"died while it was asked (status {process.exitcode})"
    finally:
        process.kill()
        process.join()
        receiver.close()
    return [Finding(part, "missing", fact, _REMEDY)]


def _look_and_send(sender: Connection, part: str, look: Look) -> None:
    sender.send(look_safely(part, look))


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
