"""Write the manual page from the very parsers of the command line: `python install/manual.py > docs/undertoe.1`."""

from __future__ import annotations

import argparse
import inspect
import sys
from collections.abc import Iterator

from pedal.cli import entry

_HEAD = """\
.\\" Written by install/manual.py from the command line's own parsers.
.TH UNDERTOE 1 "" "Undertoe" "User Commands"
.SH NAME
undertoe \\- bend meter for guitarists
.SH SYNOPSIS
.B undertoe
.I VERB
.RI [ options ]
.SH DESCRIPTION
Undertoe hears every note of a guitar, knows the key, and says how true each string bend was: which note it started
from, where it was going, how far off it arrived, how long it held, and how it ended.
.SH VERBS
"""
_TAIL = """\
.SH EXIT STATUS
.TP
.B 0
done
.TP
.B 1
it ran and failed, or something is missing
.TP
.B 2
bad usage or bad settings
.TP
.B 130
stopped by Ctrl\\-C
.TP
.B 141
whoever read standard output had enough
.SH FILES
.TP
.I ~/.config/undertoe/undertoe.yaml
the player's settings
.TP
.I /etc/undertoe/undertoe.yaml
the installed settings, used where the player has none; the service uses these
.TP
.I /boot/firmware/undertoe.yaml
settings that lie over the installed ones, to be edited by any computer; some do not count there
.TP
.I ~/.local/state/undertoe, /var/lib/undertoe
log and memory, of the player and of the service
.SH ENVIRONMENT
.TP
.B STATE_DIRECTORY, XDG_STATE_HOME, XDG_CONFIG_HOME
other places for the files above
.TP
.B GPIOZERO_PIN_FACTORY
the library that drives the pins; the service names lgpio
.SH CAUTIONS
Warm up, and stop at pain, numbness or tingling. Start the drone quiet: loud sound harms hearing for good.
Power the pedal only from a ready\\-made, certified, isolated low\\-voltage supply, and never open mains equipment.
.SH SEE ALSO
docs/configuration.md, docs/hardware.md and docs/troubleshooting.md in the sources
"""


def manual() -> str:
    """The page in roff's man macros."""
    parser = entry._parser([])
    verbs = next(action for action in parser._actions if isinstance(action, argparse._SubParsersAction))
    pages = [line for name, verb in verbs.choices.items() for line in _verb(name, verb)]
    return _HEAD + "\n".join(pages) + "\n" + _TAIL


def _verb(name: str, parser: argparse.ArgumentParser) -> Iterator[str]:
    yield f".SS undertoe {name}"
    first, *rest = inspect.cleandoc(parser.description or "").split("\n\n", 1)
    yield _escaped(" ".join(first.split()))
    for action in parser._actions:
        if action.dest != "help":
            yield ".TP"
            yield _words_of(action)
            yield _escaped(" ".join((action.help or "").replace("%%", "%").split())) or "\\&"
    for verbatim in (*rest, parser.epilog):
        if verbatim:
            yield ".PP\n.nf"
            yield from (_escaped(line) for line in verbatim.rstrip().splitlines())
            yield ".fi"


def _words_of(action: argparse.Action) -> str:
    value = str(action.metavar or (action.dest.upper() if action.option_strings else action.dest))
    if action.choices is not None:
        value = "{" + ",".join(map(str, action.choices)) + "}"
    if not action.option_strings:
        return f".I {_escaped(value)}"
    options = ", ".join(action.option_strings)
    return f".B {_escaped(options)}" + ("" if action.nargs == 0 else f" \\fI{_escaped(value)}\\fR")


def _escaped(text: str) -> str:
    text = text.replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{text}" if text.startswith((".", "'")) else text


if __name__ == "__main__":
    sys.stdout.write(manual())
