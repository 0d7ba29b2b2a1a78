"""A look in a process of its own: the sound library can abort, or wait for ever, and take only itself along."""

from __future__ import annotations

import multiprocessing
from multiprocessing.connection import Connection

from pedal.doctor.finding import Finding, Look, look_safely

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
