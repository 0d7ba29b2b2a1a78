"""Faults that a player can mend: one sentence each (what, where, what to do) and an exit status."""

from __future__ import annotations


class UndertoeError(Exception):
    """Base of everything that ends in one sentence on stderr instead of a traceback."""

    exit_status = 1


class SettingsError(UndertoeError):
    """The configuration is wrong. `faults`: one sentence a fault, sorted by line, each with file, line and key path."""

    exit_status = 2

    def __init__(self, faults: list[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


class UsageError(UndertoeError):
    """The command line asks for something that cannot be."""

    exit_status = 2


class TakeError(UndertoeError):
    """A sound file cannot be judged."""


class DeviceError(UndertoeError):
    """A device is missing, busy or gone. The sentence ends with the remedy."""


class StoreError(UndertoeError):
    """The log cannot be read or written."""
