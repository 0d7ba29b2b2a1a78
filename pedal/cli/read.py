"""Judge a recorded take: one line a note, exactly as the live pedal would have judged it.

For example:

    undertoe read take.wav --key "Bb minor pentatonic"
    undertoe read take.flac --json > verdicts.jsonl
    undertoe read take.wav --channel 2 --plot take.png
    undertoe read take.wav --lick "old gate" --asked sung
"""

from __future__ import annotations

import argparse
import contextlib
from pathlib import Path
from typing import TYPE_CHECKING

from pedal.cli.common import add_config
from pedal.cli.take_hearing import heard_in, remark, verdicts_among

if TYPE_CHECKING:
    from pedal.chain import Heard
    from pedal.cli.pitch_plot import PitchPlot
    from pedal.ports import Store
    from pedal.settings.parts import Settings
    from pedal.verdicts.aim import Aim

HELP = "judge a recorded take (WAV, FLAC)"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command line may hold."""
    parser.add_argument("take", metavar="TAKE", type=Path, help="sound file: WAV (PCM or float) or FLAC")
    parser.add_argument("--key", help='key and scale, such as "Bb minor pentatonic" (default: from the settings)')
    parser.add_argument(
        "--mode", choices=("watch", "curl", "ladder", "blind"), default="watch", help="what was played (default: watch)"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object per note (or pass), for programs")
    parser.add_argument(
        "--lick",
        metavar="NAME",
        help="judge by passes of this lick: name, number or .lick file (default: note by note)",
    )
    parser.add_argument(
        "--asked",
        choices=("as_played", "plain", "sung"),
        default="as_played",
        help="with --lick: how the lick was to be played (default: as_played)",
    )
    parser.add_argument(
        "--channel", type=int, default=1, metavar="N", help="channel to judge, counted from 1 (default: 1)"
    )
    parser.add_argument("--a4", type=float, metavar="HZ", help="concert pitch (default: from the settings)")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="draw pitch, targets and endings: .png or .svg")
    parser.add_argument(
        "--log", type=Path, metavar="FILE", help="also keep the verdicts in this log (default: none is kept)"
    )
    add_config(parser, "settings to judge by")


def run(arguments: argparse.Namespace) -> int:
    """Judge the take and print; 0 if it could be judged, however many notes it held."""
    from pedal import wiring
    from pedal.cli.installed import for_the_service
    from pedal.live.starting_state import aim_of, with_words

    for_the_service(arguments, named_by=("config",))  # --log says where the verdicts go, and not whose pedal it is
    settings = with_words(wiring.settings(arguments.config), key_words=arguments.key, a4_hz=arguments.a4)
    aim = aim_of(settings, judge_as=arguments.mode)
    if arguments.lick is not None:
        return _by_passes(arguments, settings)
    plot = _plot(arguments.plot, aim, arguments.take)
    with contextlib.ExitStack() as opened:
        take = opened.enter_context(contextlib.closing(wiring.sound_file(arguments.take, channel=arguments.channel)))
        store = (
            opened.enter_context(contextlib.closing(wiring.store(arguments.log, most_mb=settings.log.max_mb)))
            if arguments.log
            else None
        )
        notes = 0
        for heard in heard_in(take, aim):
            notes += _answer(heard, plot=plot, as_json=arguments.json, first=not notes)
            if store is not None:
                _keep(heard, store, settings, mode=arguments.mode)
        remark(*(take.remarks if notes or take.remarks else [f"no note was heard in {arguments.take}"]))
        if store is not None and store.remark:
            remark(store.remark)
    if plot is not None:
        plot.save()
    return 0


def _by_passes(arguments: argparse.Namespace, settings: Settings) -> int:
    """The take as passes of a lick."""
    from pedal import wiring
    from pedal.cli.lick_reading import LickReading
    from pedal.errors import UsageError
    from pedal.live.starting_state import aim_of

    if arguments.mode != "watch" or arguments.log is not None:
        raise UsageError("--lick judges passes: it goes with neither --mode nor --log")
    reading = LickReading(
        arguments.lick,
        arguments.asked,
        settings,
        as_json=arguments.json,
        plot=arguments.plot,
        take=arguments.take,
    )
    with contextlib.closing(wiring.sound_file(arguments.take, channel=arguments.channel)) as take:
        for heard in heard_in(take, aim_of(settings, judge_as="watch")):
            reading.add(verdicts_among(heard))
        reading.finish()
        remark(*take.remarks, *reading.remarks)
    return 0


def _answer(heard: list[Heard], *, plot: PitchPlot | None, as_json: bool, first: bool) -> int:
    """Print the verdicts among what was heard; how many there were."""
    from pedal.live.verdict_lines import json_line, table_header, table_row

    verdicts = verdicts_among(heard)
    for number, verdict in enumerate(verdicts):
        if first and number == 0 and not as_json:
            print(table_header())
        print(json_line(verdict) if as_json else table_row(verdict))
    if plot is not None:
        plot.add(heard)
    return len(verdicts)


def _keep(heard: list[Heard], store: Store, settings: Settings, *, mode: str) -> None:
    from pedal.modes.log_entry import LogEntry
    from pedal.settings.music_kinds import TuningWords

    tuning = TuningWords().write(settings.tuning)
    store.append(
        [
            LogEntry(
                verdict.onset_s,
                mode,
                str(settings.key),
                verdict,
                target_note=verdict.target_note,
                a4_hz=settings.a4_hz,
                tuning=tuning,
            )
            for verdict in verdicts_among(heard)
        ]
    )


def _plot(file: Path | None, aim: Aim, take: Path) -> PitchPlot | None:
    if file is None:
        return None
    from pedal.cli.pitch_plot import PitchPlot

    return PitchPlot(file, key=aim.key, a4_hz=aim.a4_hz, instead_of=(take,))
