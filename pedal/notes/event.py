"""What happens to a string, as it happens."""

from __future__ import annotations

from pedal.notes.note import Note
from pedal.values import frozen


@frozen
class Onset:
    """A string was struck (or began to sound)."""

    time_s: float


@frozen
class Rest:
    """The pitch settled where the note began."""

    time_s: float
    hz: float


@frozen
class Rise:
    """The pitch left its rest upwards."""

    time_s: float


@frozen
class Hold:
    """The pitch settled away from its rest, or the first pitch of a pre-bend settled."""

    time_s: float
    hz: float


@frozen
class Fall:
    """The pitch began to come down."""

    time_s: float


@frozen
class End:
    """The note is over; here is all of it."""

    time_s: float
    note: Note


NoteEvent = Onset | Rest | Rise | Hold | Fall | End
