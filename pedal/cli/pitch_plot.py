"""What was heard -> a picture: the pitch over time, where each bend was going, how it ended, how true it was."""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pedal.errors import UsageError
from pedal.extras import need
from pedal.live.verdict_lines import word
from pedal.pitch import Reading
from pedal.safe_files import picture_format, refuse_an_input, writing_bytes
from pedal.theory.cents import midi_of
from pedal.theory.scale import Key
from pedal.theory.spelling import for_eyes, parse_pitch
from pedal.verdicts.verdict import Verdict

if TYPE_CHECKING:
    from pedal.chain import Heard

_SUFFIXES = (".png", ".svg")
_ENDINGS = {
    "cut_sharp": ("|", "cut sharp"),
    "cut": ("|", "cut"),
    "released": ("v", "released"),
    "rang_out": (">", "rang out"),
}
_JUMP_SEMITONES = 0.8
"""A larger step between two readings is another note: the line is not drawn across."""


def refuse_no_picture(file: Path, instead_of: Iterable[Path]) -> None:
    """Raise, before the take is read, where `--plot` could not be drawn or would write over what is read."""
    picture_format("--plot", file, _SUFFIXES)
    if not file.parent.is_dir():
        raise UsageError(f"--plot {file}: there is no folder {file.parent}")
    need("matplotlib", "--plot")
    refuse_an_input(file, instead_of)


class PitchPlot:
    """Gathers readings and verdicts; `.save()` draws them. Needs matplotlib, an extra of the installation."""

    def __init__(self, file: Path, *, key: Key, a4_hz: float, instead_of: Iterable[Path]) -> None:
        refuse_no_picture(file, instead_of)
        self._file, self._key, self._a4_hz, self._instead_of = file, key, a4_hz, tuple(instead_of)
        self._time_s, self._midi = array("d"), array("d")
        self._verdicts: list[Verdict] = []

    def add(self, heard: list[Heard]) -> None:
        """Take what the chain heard."""
        for thing in heard:
            if isinstance(thing, Reading):
                midi = midi_of(thing.hz, a4_hz=self._a4_hz) if thing.hz > 0 else math.nan
                if self._midi and abs(midi - self._midi[-1]) > _JUMP_SEMITONES:
                    self._time_s.append(thing.time_s)
                    self._midi.append(math.nan)
                self._time_s.append(thing.time_s)
                self._midi.append(midi)
            elif isinstance(thing, Verdict):
                self._verdicts.append(thing)

    def save(self) -> None:
        """Draw and write the file; raises UndertoeError if it cannot be written."""
        from matplotlib.figure import Figure

        length_s = self._time_s[-1] if self._time_s else 1.0
        figure = Figure(figsize=(min(40.0, max(9.0, 1.1 * length_s)), 5.0), layout="constrained")
        axes = figure.add_subplot()
        low, high = self._range()
        self._draw_scale(axes, low, high)
        axes.plot(self._time_s, self._midi, color="black", linewidth=1.0)
        for verdict in self._verdicts:
            self._draw_verdict(axes, verdict)
        axes.set(xlim=(0, length_s), ylim=(low, high), xlabel="seconds", title=for_eyes(str(self._key)))
        with writing_bytes(self._file, instead_of=self._instead_of) as file:
            figure.savefig(file, format=picture_format("--plot", self._file, _SUFFIXES), dpi=110)

    def _range(self) -> tuple[float, float]:
        heard = [midi for midi in self._midi if not math.isnan(midi)]
        targets = [parse_pitch(verdict.target_note) for verdict in self._verdicts if verdict.target_note]
        notes = [parse_pitch(verdict.rest_note) for verdict in self._verdicts if verdict.rest_note]
        # Where notes were judged they tell the range: a click in between may read as any pitch.
        span = notes + targets or heard or [40.0, 76.0]
        return min(span) - 1.5, max(span) + 2.5

    def _draw_scale(self, axes: Any, low: float, high: float) -> None:
        """Lines and names for the notes of the key."""
        notes = [midi for midi in range(math.ceil(low), math.floor(high) + 1) if self._key.contains(midi)]
        axes.hlines(notes, 0, 1, transform=axes.get_yaxis_transform(), color="0.85", linewidth=0.8, zorder=0)
        axes.set_yticks(notes, [for_eyes(self._key.spell(midi)) for midi in notes])

    def _draw_verdict(self, axes: Any, verdict: Verdict) -> None:
        """The target as a bar over the note, the ending as a mark where it ended, the verdict in words above."""
        top = [reading for reading in self._within(verdict) if not math.isnan(reading)]
        if verdict.target_note:
            target = parse_pitch(verdict.target_note)
            axes.hlines(target, verdict.onset_s, verdict.end_s, color="0.35", linewidth=2.5, linestyle="dotted")
        if not top:
            return
        mark, ending = _ENDINGS[verdict.ending]
        axes.plot(verdict.end_s, top[-1], marker=mark, color="black", markersize=9, linestyle="none")
        error = "" if verdict.error_cents is None else f" {verdict.error_cents:+.0f}"
        said = word(verdict)
        # Most notes of a take are plain: what they are is enough, and nothing about them is unclear.
        judged = (f"{said.upper()}{error}", verdict.kind.replace("_", " "), ending)
        words = "\n".join(("plain", ending) if said == "steady" else judged)
        axes.annotate(
            words, (verdict.onset_s, max(top)), xytext=(0, 6), textcoords="offset points", fontsize=7, va="bottom"
        )

    def _within(self, verdict: Verdict) -> array[float]:
        from bisect import bisect

        return self._midi[bisect(self._time_s, verdict.onset_s) : bisect(self._time_s, verdict.end_s)]
