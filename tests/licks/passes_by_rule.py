"""Heard notes made from a lick by rule, with edits: what a perfect ear would say of a pass."""

from __future__ import annotations

from dataclasses import replace

from pedal.licks.heard import HeardNote
from pedal.licks.lick import Lick, LickNote
from pedal.theory.scale import parse_key

KEY = parse_key("G minor pentatonic")
G3, Bb3, C4, D4, F4, G4, Bb4 = 55, 58, 60, 62, 65, 67, 70


def lick_of(*midi: int, beats: float = 0.5, tempo: float = 90.0) -> Lick:
    """A plain lick of notes of one length."""
    return Lick(tuple(LickNote(m, beats) for m in midi), KEY, tempo)


def sounded(note: LickNote, at_s: float, lasts_s: float) -> HeardNote:
    """A note as the ear tells it when it was played as it stands."""
    end_s = at_s + lasts_s
    plain = HeardNote(at_s, end_s, note.midi, None, "steady", "unclear", None, None, 0.0, "cut")
    match note.inflection:
        case "plain":
            return replace(plain, ending="rang_out" if note.ending == "ring" else "cut")
        case "curl":
            down = note.ending == "release"
            return replace(
                plain, kind="curl", word="released" if down else "true", bend_cents=note.cents,
                ending="released" if down else "cut_sharp",
            )  # fmt: skip
        case _:
            kind = note.inflection + ("_release" if note.ending == "release" else "")
            return replace(
                plain, kind=kind, word="true", target_midi=note.target_midi, bend_cents=note.height_cents,  # type: ignore[arg-type]
                error_cents=note.cents, ending="released" if note.ending == "release" else "cut_sharp",
            )  # fmt: skip


def played(lick: Lick, *, tempo: float = 1.0, at_s: float = 0.0) -> list[HeardNote]:
    """A pass without a fault; `tempo` 2 is twice as fast."""
    return [
        sounded(note, at_s + onset / tempo, note.beats * lick.beat_s / tempo)
        for note, onset in zip(lick.notes, lick.onsets_s, strict=True)
    ]
