"""A word of the command line -> a lick: one that is kept, a text, a MIDI file, or a take that is played to the ear."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from pedal.errors import UsageError
from pedal.extras import need
from pedal.licks.heard import HeardNote, heard_note, model_of, vague_in
from pedal.licks.lick import Lick, LickError
from pedal.licks.passes import SILENCE_S
from pedal.live.lick_folder import SUFFIX, LickFileError, LickFolder, lick_of_file
from pedal.modes.lick_shelf import NEW, KeptLick, title_of
from pedal.safe_text import is_clean

if TYPE_CHECKING:
    from pedal.settings.parts import Settings
    from pedal.verdicts.verdict import Verdict

_MIDI = (".mid", ".midi", ".smf")
_TAKES = (".wav", ".flac")


def find_kept(shelf: Iterable[KeptLick], word: str) -> KeptLick | None:
    """The lick of a number, of "new", or of a name in whatever case."""
    shelf = tuple(shelf)
    if _is_number(word):
        number = word.lstrip("0") or "0"  # as words: there is no end to what a command line holds
        return next((one for one in shelf if str(one.number) == number), None)
    wanted = word.casefold()
    if wanted == "new":
        return next((one for one in shelf if one.number == NEW), None)
    return next((one for one in shelf if title_of(one.lick).casefold() == wanted), None)


def _is_number(word: str) -> bool:
    """Whether it is written in plain figures; a small two above the line is none."""
    return word.isascii() and word.isdecimal()


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:  # a name longer than any disk holds
        return False


def kept_lick(word: str, folder: LickFolder) -> Lick:
    """The lick of a word: kept, or in a text file; raises `UsageError` with what there is."""
    if word.endswith(SUFFIX) and _is_there(Path(word)):
        return lick_of_file(Path(word))
    shelf = folder.load()
    found = find_kept(shelf, word)
    if found is not None:
        return found.lick
    there = ", ".join("new" if one.number == NEW else f"{one.number} {title_of(one.lick)}".strip() for one in shelf)
    what = f"kept are: {there}" if there else f"none is kept in {folder.folder}"
    raise UsageError(f"{word!r} is no lick that is kept, and no file ending in {SUFFIX}: {what}")


def lick_of(word: str, settings: Settings, folder: LickFolder, *, channel: int) -> tuple[Lick, list[str]]:
    """The lick of any source, and remarks on how it was found."""
    path = Path(word)
    suffix = path.suffix.lower()
    if suffix in _MIDI:
        return _from_midi(path, settings), []
    if suffix in _TAKES:
        return _from_take(path, settings, channel)
    return kept_lick(word, folder), list(folder.faults)


def _from_midi(path: Path, settings: Settings) -> Lick:
    need("mido", "reading MIDI")
    from pedal.licks.midi import MOST_BYTES, lick_of_midi

    try:
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
        return lick_of_midi(raw, settings.key, tuning=settings.tuning)
    except OSError as error:
        raise LickFileError(f"{path} cannot be read: {error.strerror or error}.") from error
    except LickError as fault:
        raise LickFileError(f"{path}: {fault}") from fault


def _from_take(path: Path, settings: Settings, channel: int) -> tuple[Lick, list[str]]:
    from pedal import wiring
    from pedal.cli.take_hearing import heard_in
    from pedal.live.starting_state import aim_of
    from pedal.verdicts.verdict import Verdict

    verdicts: list[Verdict] = []
    with closing(wiring.sound_file(path, channel=channel)) as take:
        for heard in heard_in(take, aim_of(settings, judge_as="watch")):
            verdicts += [thing for thing in heard if isinstance(thing, Verdict)]
        remarks = list(take.remarks)
    phrases = phrases_of(verdicts)
    try:
        lick = model_of(phrases[0] if phrases else (), settings.key, tuning=settings.tuning)
    except LickError as fault:
        raise LickFileError(f"{path}: {fault}") from fault
    if len(phrases) > 1:
        remarks.append(f"the take holds {len(phrases)} phrases: the lick is the first one")
    vague = vague_in(phrases[0])
    if vague:
        remarks.append(f"{vague} of its notes had no clear pitch and {'is' if vague == 1 else 'are'} left out")
    return lick, remarks


def phrases_of(verdicts: Iterable[Verdict]) -> list[list[HeardNote]]:
    """Heard notes, parted where it was silent for as long as ends a model."""
    phrases: list[list[HeardNote]] = []
    for verdict in verdicts:
        note = heard_note(verdict)
        if note is None:
            continue
        if not phrases or note.onset_s - phrases[-1][-1].end_s >= SILENCE_S:
            phrases.append([])
        phrases[-1].append(note)
    return phrases


def named(lick: Lick, name: str) -> Lick:
    """The lick under a name; raises `UsageError` for one that cannot be written."""
    plain = " ".join(name.split())
    readable = 0 < len(plain) <= 40 and "#" not in plain and is_clean(plain)
    if not readable or _is_number(plain) or plain.casefold() == "new":
        raise UsageError(f"--save {name!r}: give a name of 1 to 40 letters, without #, and no number")
    return replace(lick, name=plain)
