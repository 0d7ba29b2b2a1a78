"""Show a position of a key: its bends in order, how far and how hard each is pushed, which fingers, and the curls.

For example:

    undertoe map --key "G minor pentatonic" --position 1
    undertoe map --key "A [1 b3 4 5 b7]" --position 2 --tuning "drop D" --png position.png
    undertoe map --position 3 --strings 0.011,0.014,0.018,0.028w,0.038w,0.049w --json
"""

from __future__ import annotations

import argparse
import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pedal.cli.common import add_config

if TYPE_CHECKING:
    from pedal.settings.parts import Settings
    from pedal.theory.effort import Rig
    from pedal.theory.position_sheet import PositionSheet
    from pedal.theory.zone import BlueZone

HELP = "show a position: its bends, their force and support, and its curls"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command line may hold."""
    parser.add_argument(
        "--key",
        metavar="KEY",
        help='such as "Bb minor pentatonic" or "G [1 b3 4 5 b7]" (default: from the settings)',
    )
    parser.add_argument(
        "--position", type=int, default=1, metavar="N", help="1 to the number of notes in the scale (default: 1)"
    )
    parser.add_argument(
        "--strings", metavar="SET", help="inches, highest string first, w for wound (default: from the settings)"
    )
    parser.add_argument(
        "--tuning", metavar="NOTES", help="lowest string first, or a name: drop D (default: from the settings)"
    )
    parser.add_argument(
        "--capo", type=int, metavar="FRET", help="fret of the capo, 0 for none (default: from the settings)"
    )
    parser.add_argument("--frets", type=int, metavar="N", help="number of the last fret (default: from the settings)")
    parser.add_argument(
        "--scale-length", type=float, metavar="MM", help="nut to saddle, millimetres (default: from the settings)"
    )
    parser.add_argument("--a4", type=float, metavar="HZ", help="concert pitch (default: from the settings)")
    add_config(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object in place of the table")
    parser.add_argument("--png", type=Path, metavar="FILE", help="also draw the neck into a PNG file")
    parser.add_argument("--svg", type=Path, metavar="FILE", help="also draw the neck into an SVG file")


def run(arguments: argparse.Namespace) -> int:
    """Print the map, draw it where asked; raises UsageError for a key, position, neck or set that cannot be."""
    from pedal import wiring
    from pedal.cli.installed import for_the_service
    from pedal.errors import UsageError
    from pedal.theory.position_sheet import position_sheet
    from pedal.theory.scale import parse_key

    for_the_service(arguments)
    settings = wiring.settings(arguments.config)
    try:
        key = settings.key if arguments.key is None else parse_key(arguments.key)
        sheet = position_sheet(key, arguments.position, _rig(arguments, settings), zone=_zone(settings))
    except ValueError as fault:
        raise UsageError(str(fault)) from fault
    _print(sheet, as_json=arguments.json)
    if arguments.svg or arguments.png:
        _draw(sheet, svg=arguments.svg, png=arguments.png)
    return 0


def _rig(arguments: argparse.Namespace, settings: Settings) -> Rig:
    """The guitar of the settings, changed by what the command line says."""
    from pedal.settings.guitar import METRES_A_MM, rig_of
    from pedal.theory.neck import Neck, parse_tuning
    from pedal.theory.strings import parse_string_set

    tuning = settings.tuning if arguments.tuning is None else parse_tuning(arguments.tuning)
    capo = settings.capo if arguments.capo is None else arguments.capo
    frets = settings.frets if arguments.frets is None else arguments.frets
    changed: dict[str, Any] = {"neck": Neck(tuning, capo, frets)}
    if arguments.strings is not None:
        changed["strings"] = parse_string_set(arguments.strings, strings=tuning.strings)
    if arguments.scale_length is not None:
        changed["scale_m"] = arguments.scale_length * METRES_A_MM
    if arguments.a4 is not None:
        changed["a4_hz"] = arguments.a4
    return dataclasses.replace(rig_of(settings), **changed)


def _zone(settings: Settings) -> BlueZone:
    from pedal.theory.zone import BlueZone

    bands = settings.bands
    return BlueZone(bands.curl_least_cents, bands.zone_low_cents, bands.zone_high_cents, bands.zone_near_cents)


def _print(sheet: PositionSheet, *, as_json: bool) -> None:
    import json

    from pedal.cli.map_words import position_object, position_page

    print(json.dumps(position_object(sheet)) if as_json else position_page(sheet))


def _draw(sheet: PositionSheet, *, svg: Path | None, png: Path | None) -> None:
    from pedal.cli.map_words import heading, neck_sheet
    from pedal.safe_files import writing, writing_bytes
    from pedal.screen.line_art import picture, svg_text
    from pedal.screen.neck_picture import neck_picture

    art = neck_picture(neck_sheet(sheet))
    if svg:
        with writing(svg) as file:
            file.write(svg_text(art, title=heading(sheet)))
    if png:
        with writing_bytes(png) as dots:
            picture(art).save(dots, "PNG")
