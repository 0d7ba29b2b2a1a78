"""`undertoe`: finds the verb, and is the one place that prints errors and ends with a status.

Status: 0 done; 1 it ran and failed; 2 bad usage or bad configuration; 130 stopped by Ctrl-C; 141 when
whoever reads standard output has enough. A command module has HELP, add_arguments(parser) and run(arguments) -> status,
and imports what is heavy inside `run`.
"""

from __future__ import annotations

import argparse
import errno
import importlib
import io
import os
import signal
import sys
import threading
from pathlib import Path
from types import ModuleType
from typing import NoReturn

from pedal.cli.common import INTERRUPTED
from pedal.errors import SettingsError, UndertoeError, UsageError
from pedal.safe_text import clean

VERBS = ("demo", "live", "read", "lick", "map", "review", "check", "setup", "doctor", "carry")
_NOBODY_READS = 128 + signal.SIGPIPE
_CANNOT_BE_WRITTEN = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EBADF}


class _Parser(argparse.ArgumentParser):
    """argparse with one sentence for an error, and no guessing of shortened options."""

    def __init__(self, **settings: object) -> None:
        super().__init__(allow_abbrev=False, formatter_class=argparse.RawDescriptionHelpFormatter, **settings)  # type: ignore[arg-type]

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{message}; `{self.prog} --help` says what is possible")


class _Version(argparse.Action):
    """Looks the version up only when asked: that reads the package's own files."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from importlib.metadata import version

        print("undertoe", version("undertoe"))
        parser.exit()


def main(argv: list[str] | None = None) -> int:
    """Run one verb; the exit status."""
    # Before numpy is imported: one thread is quickest for windows this small, and leaves the other cores to the screen.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    _print_what_the_terminal_can()
    words = sys.argv[1:] if argv is None else argv
    try:
        try:
            arguments = _parser(words).parse_args(words)
            _refuse_what_is_no_value(arguments)
            status = int(arguments.run(arguments))
        finally:
            sys.stdout.flush()
    except UndertoeError as fault:
        for sentence in fault.faults if isinstance(fault, SettingsError) else [str(fault)]:
            print(f"undertoe: {clean(sentence)}", file=sys.stderr)
        return fault.exit_status
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever read has enough.
        _drop_what_is_buffered()
        return _NOBODY_READS
    except PermissionError as fault:
        if fault.filename is None:
            raise
        # Of a folder that may not even be looked into, as the installed pedal's own by whoever logs in.
        may_not = f"{fault.filename} may not be read or written by this user: sudo, or name another"
        print(f"undertoe: {clean(may_not)}", file=sys.stderr)
        return UndertoeError.exit_status
    except OSError as fault:
        # Files and devices have names, and sentences of their own where they are opened: this is standard output.
        if fault.filename is not None or fault.errno not in _CANNOT_BE_WRITTEN:
            raise
        print(f"undertoe: standard output cannot be written: {fault.strerror}", file=sys.stderr)
        _drop_what_is_buffered()
        return UndertoeError.exit_status
    return status


def _refuse_what_is_no_value(arguments: argparse.Namespace) -> None:
    """Raise `UsageError` for two dashes in place of a value, and for a file name that no file system can hold."""
    for name, path in vars(arguments).items():
        if path == []:  # what argparse makes of --key=-- before Python 3.13
            raise UsageError(f"--{name.replace('_', '-')} needs a value")
        if isinstance(path, Path):
            try:
                os.fsencode(path)
            except UnicodeEncodeError as fault:
                raise UsageError(f"{path} is no file name: it holds half a character") from fault
            if "\0" in str(path):
                raise UsageError(f"{path} is no file name: it holds a zero")


def _drop_what_is_buffered() -> None:
    """What is still buffered must not raise again at exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _parser(words: list[str]) -> argparse.ArgumentParser:
    """The parser of the verb that is asked for; of all verbs when none is, so that `--help` lists them."""
    parser = _Parser(prog="undertoe", description="A bend meter: hears every string bend and says how true it was.")
    parser.add_argument("--version", action=_Version, nargs=0, help="say the version and end")
    asked = [words[0]] if words and words[0] in VERBS else VERBS
    verbs = parser.add_subparsers(dest="verb", metavar="VERB", required=True, parser_class=_Parser)
    for verb in asked:
        module = _command(verb)
        child = verbs.add_parser(verb, help=module.HELP, description=module.__doc__)
        module.add_arguments(child)
        child.set_defaults(run=module.run)
    return parser


def _command(verb: str) -> ModuleType:
    return importlib.import_module(f"pedal.cli.{verb}")


def _print_what_the_terminal_can() -> None:
    """A terminal without ♭ shows a question mark in its place rather than an error."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def program() -> NoReturn:
    """Run the command line, and end the process with its status."""
    # Whatever is written from here on, by whichever library, is its owner's alone.
    os.umask(0o077)
    # File descriptor 2 is mute while C libraries that chatter are called, and one of them may hang: ours is another.
    sys.stderr = os.fdopen(os.dup(2), "w", buffering=1, encoding=sys.stderr.encoding)
    status = main()
    left_behind = [thread for thread in threading.enumerate() if thread.daemon]
    if left_behind:
        # They hang in a driver: an interpreter that tidies up under them hangs as well. What is kept is kept first.
        for thread in threading.enumerate():
            if not thread.daemon and thread is not threading.current_thread():
                thread.join()
        sys.stderr.flush()
        os._exit(status)
    sys.exit(status)


if __name__ == "__main__":
    program()
