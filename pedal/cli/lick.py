"""Show a lick and where it can sing, or keep one: from a take, a MIDI file with pitch bends, or a text.

For example:

    undertoe lick                                  the licks that are kept
    undertoe lick "old gate"                       one of them, by name or number
    undertoe lick take.wav --save "old gate"       the lick that a take holds, kept
    undertoe lick phrase.mid --key "A blues"       a lick of a MIDI file
    undertoe lick "old gate" --out lesson.lick     one file, to be given to a student
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from pedal.cli.common import add_config
from pedal.cli.take_hearing import remark

if TYPE_CHECKING:
    from pedal.licks.lick import Lick
    from pedal.licks.offers import Offer
    from pedal.live.lick_folder import LickFolder
    from pedal.settings.parts import Settings
    from pedal.theory.effort import Rig

HELP = "show a lick and where it can sing; keep one"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command line may hold."""
    parser.add_argument(
        "source", metavar="LICK", nargs="?", help="name or number of a kept lick, or a file: .lick, .mid, .wav, .flac"
    )
    parser.add_argument("--save", metavar="NAME", help="keep it on this pedal under this name (default: show it only)")
    parser.add_argument(
        "--out", type=Path, metavar="FILE", help="also write it as a text file, to pass on (default: no file)"
    )
    parser.add_argument(
        "--wav", type=Path, metavar="FILE", help="also write how it sounds, by the built-in string (default: no file)"
    )
    parser.add_argument("--half", action="store_true", help="with --wav: at half the tempo")
    parser.add_argument("--forget", action="store_true", help="remove it from this pedal")
    parser.add_argument(
        "--key",
        help="key of a take or MIDI file, or one that a kept lick is transposed to (default: from the settings; "
        "a kept lick stays as it is)",
    )
    parser.add_argument("--position", type=int, default=1, metavar="N", help="where it is played (default: 1)")
    parser.add_argument("--channel", type=int, default=1, metavar="N", help="channel of a take (default: 1)")
    parser.add_argument("--json", action="store_true", help="one JSON object in place of the page")
    add_config(parser)


def run(arguments: argparse.Namespace) -> int:
    """Print the page; keep, give away or forget where asked."""
    from pedal import wiring
    from pedal.cli.installed import for_the_service
    from pedal.errors import UsageError
    from pedal.live.lick_folder import FOLDER, LickFolder
    from pedal.live.starting_state import with_words

    for_the_service(arguments)
    settings = with_words(wiring.settings(arguments.config), key_words=arguments.key, a4_hz=None)
    folder = LickFolder(settings.state.folder / FOLDER)
    if arguments.source is None:
        if arguments.save or arguments.out or arguments.forget or arguments.wav:
            raise UsageError("say which lick: a name, a number, or a file")
        return _list(folder, as_json=arguments.json)
    if arguments.half and not arguments.wav:
        raise UsageError("--half says how --wav sounds: give --wav as well")
    if arguments.forget:
        also = {"--save": arguments.save, "--out": arguments.out, "--wav": arguments.wav}
        if given := [word for word, value in also.items() if value is not None]:
            raise UsageError(f"--forget goes without {given[0]}: keep or give it away first, then forget it")
        return _forget(folder, arguments.source)
    lick = _find(arguments, settings, folder)
    last = len(lick.key.degrees)
    if not 1 <= arguments.position <= last:
        raise UsageError(f"position {arguments.position} does not exist: {lick.key} has positions 1 to {last}")
    found, rig = _offers(lick, settings, arguments.position)
    _print(lick, found, rig, arguments)
    if arguments.save:
        _save(lick, folder, arguments.save)
    if arguments.out:
        _give(lick, arguments.out, arguments.source)
    if arguments.wav:
        _sound(lick, arguments.wav, half=arguments.half, settings=settings, source=arguments.source)
    return 0


def _list(folder: LickFolder, *, as_json: bool) -> int:
    import json

    from pedal.cli.lick_pages import shelf_page
    from pedal.modes.lick_shelf import title_of

    shelf = folder.load()
    if as_json:
        for one in shelf:
            words = {"number": one.number, "name": title_of(one.lick), "key": str(one.lick.key)}
            print(json.dumps(words | {"notes": len(one.lick.notes), "seconds": round(one.lick.seconds, 2)}))
    elif shelf:
        print(shelf_page(shelf))
    else:
        print(f"no lick is kept in {folder.folder}: play one in mode Lick, or `undertoe lick take.wav --save NAME`")
    remark(*folder.faults)
    return 1 if folder.faults else 0


def _find(arguments: argparse.Namespace, settings: Settings, folder: LickFolder) -> Lick:
    from pedal.cli.lick_source import lick_of
    from pedal.errors import UsageError
    from pedal.licks.lick import LickError, transposed

    lick, remarks = lick_of(arguments.source, settings, folder, channel=arguments.channel)
    if arguments.key and lick.key.tonic.semitone != settings.key.tonic.semitone:
        try:
            remarks = [*remarks, f"transposed from {lick.key.tonic} to {settings.key.tonic}"]
            lick = transposed(lick, settings.key)
        except LickError as fault:
            raise UsageError(f"--key {arguments.key}: {fault}") from fault
    remark(*remarks)
    return lick


def _offers(lick: Lick, settings: Settings, position: int) -> tuple[tuple[Offer, ...], Rig | None]:
    from dataclasses import replace

    from pedal.licks.offers import offers
    from pedal.live.starting_state import starting_state
    from pedal.theory.neck import Neck

    place = replace(starting_state(settings), neck=Neck(lick.tuning, settings.capo, settings.frets))
    rig = place.strung()
    return offers(lick, neck=place.neck, rig=rig, position_number=position), rig


def _print(lick: Lick, found: tuple[Offer, ...], rig: Rig | None, arguments: argparse.Namespace) -> None:
    import json

    from pedal.cli.lick_pages import lick_object, lick_page
    from pedal.theory.neck import Neck

    neck = rig.neck if rig is not None else Neck(lick.tuning)
    if arguments.json:
        print(json.dumps(lick_object(lick, found, neck, arguments.position)))
    else:
        print(lick_page(lick, found, neck, arguments.position))


def _save(lick: Lick, folder: LickFolder, name: str) -> None:
    from pedal.cli.lick_source import find_kept, named
    from pedal.live.lick_folder import LickFileError
    from pedal.modes.lick_shelf import KeptLick, free_number
    from pedal.practice.item import MOST_LICKS

    lick = named(lick, name)
    shelf = folder.load()
    same = find_kept(shelf, lick.name)
    number = same.number if same is not None else free_number(shelf)
    if number is None:
        raise LickFileError(f"{MOST_LICKS} licks are kept, and no more: forget one with `undertoe lick NAME --forget`")
    path = folder.keep(KeptLick(number, lick))
    remark(*folder.faults, f"kept as {number} in {path}")


def _give(lick: Lick, file: Path, source: str) -> None:
    from pedal.licks.text import write_lick
    from pedal.safe_files import writing

    with writing(file, instead_of=[Path(source)]) as out:
        out.write(write_lick(lick))


def _sound(lick: Lick, file: Path, *, half: bool, settings: Settings, source: str) -> None:
    import io

    import soundfile

    from pedal.safe_files import writing_bytes
    from pedal.synth.lick_sound import sound_of_lick

    peak = 10 ** (settings.audio.drone_ceiling_db / 20)
    samples = sound_of_lick(lick, sample_rate=48_000, tempo=0.5 if half else 1.0, peak=peak, a4_hz=settings.a4_hz)
    sound = io.BytesIO()
    soundfile.write(sound, samples, 48_000, format="WAV", subtype="PCM_16")
    with writing_bytes(file, instead_of=[Path(source)]) as out:
        out.write(sound.getvalue())


def _forget(folder: LickFolder, word: str) -> int:
    from pedal.cli.lick_source import find_kept
    from pedal.errors import UsageError

    found = find_kept(folder.load(), word)
    if found is None:
        raise UsageError(f"{word!r} is no lick that is kept in {folder.folder}")
    remark(f"{folder.forget(found.number)} is gone")
    return 0
