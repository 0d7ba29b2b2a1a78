"""`undertoe read TAKE --lick NAME`: a take judged by passes of a lick, pass by pass."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pedal.cli.lick_pages import heading_of, pass_object, pass_rows
from pedal.cli.lick_source import kept_lick
from pedal.cli.pitch_plot import refuse_no_picture
from pedal.errors import UsageError
from pedal.licks.forms import AskedNote, Question, asked
from pedal.licks.heard import HeardNote, heard_note
from pedal.licks.lick import Lick, LickError, transposed
from pedal.licks.marks import MarkedPass, mark_pass
from pedal.licks.offers import offers, sung_form
from pedal.licks.passes import Passes
from pedal.live.lick_folder import FOLDER, LickFolder
from pedal.modes.lick_shelf import title_of
from pedal.safe_files import writing_bytes
from pedal.theory.cents import midi_of
from pedal.theory.spelling import for_eyes

if TYPE_CHECKING:
    from pedal.settings.parts import Settings
    from pedal.verdicts.verdict import Verdict


class LickReading:
    """Takes verdicts as they come, prints a pass when it is over, and says at the end what remains to be said."""

    def __init__(
        self, word: str, question: Question, settings: Settings, *, as_json: bool, plot: Path | None, take: Path
    ) -> None:
        from pedal.live.starting_state import starting_state

        folder = LickFolder(settings.state.folder / FOLDER)
        lick = kept_lick(word, folder)
        self.remarks = list(folder.faults)
        if lick.key.tonic.semitone != settings.key.tonic.semitone:
            try:
                lick = transposed(lick, settings.key)
            except LickError as fault:
                raise UsageError(f"--lick {word}: {fault}") from fault
            self.remarks.append(f"the lick is transposed to {settings.key.tonic}: give its own key with --key")
        place = starting_state(settings)
        found = offers(lick, neck=place.neck, rig=place.strung(), position_number=place.position)
        self._lick, self._question, self._bands, self._a4_hz = lick, question, settings.bands, settings.a4_hz
        self._asked = asked(lick, question, sung_form(lick, found))
        self._passes, self._as_json = Passes(self._asked), as_json
        self._verdicts: dict[HeardNote, Verdict] = {}
        self._plot = LickPlot(plot, instead_of=(take,)) if plot is not None else None
        self._count = self._strange = 0

    def add(self, verdicts: Iterable[Verdict]) -> None:
        """Take what was judged."""
        for verdict in verdicts:
            note = heard_note(verdict, bands=self._bands)
            if note is None:
                continue
            self._verdicts[note] = verdict
            self._tell(self._passes.hear(note))

    def finish(self) -> None:
        """The take is over: the last pass, and what there is to say."""
        self._tell(self._passes.finish())
        if not self._count:
            self.remarks.append("no pass was heard: a pass has two notes at least")
        elif self._strange == self._count:
            self.remarks.append("no pass was this lick: learn it anew with `undertoe lick TAKE --save NAME`")
        if self._plot is not None:
            self._plot.save(self._lick, self._asked)

    def _tell(self, notes: tuple[HeardNote, ...] | None) -> None:
        if notes is None:
            return
        key = self._lick.key
        marked = mark_pass(self._asked, notes, question=self._question, key=key, bands=self._bands)
        self._count += 1
        self._strange += not marked.known
        if self._as_json:
            print(json.dumps(pass_object(self._count, marked, key, notes[0].onset_s, title_of(self._lick))))
        else:
            if self._count == 1:
                print(f"{for_eyes(heading_of(self._lick))}, {self._question.replace('_', ' ')}")
                print(f"    {'note':<14} {'mark':<14}{'height':>7} {'length':>8} {'came':>8}")
            print("\n".join(pass_rows(self._count, marked, key, notes[0].onset_s)))
        if self._plot is not None:
            self._plot.add(marked, [self._verdicts.get(note) for note in notes], self._a4_hz)


class LickPlot:
    """Model and passes over each other, in the model's time. Needs matplotlib, an extra of the installation."""

    def __init__(self, file: Path, *, instead_of: Sequence[Path]) -> None:
        refuse_no_picture(file, instead_of)
        self._file, self._instead_of = file, tuple(instead_of)
        self._passes: list[tuple[MarkedPass, list[tuple[list[float], list[float]]]]] = []

    def add(self, marked: MarkedPass, verdicts: Sequence[Verdict | None], a4_hz: float) -> None:
        """One pass; its curves are moved and stretched to the model's time."""
        begin, ratio = _in_model_time(marked)
        curves = []
        for verdict in verdicts:
            if verdict is None or verdict.trace is None:
                continue
            times = [(float(at) - begin) / ratio for at in verdict.trace.time_s]
            curves.append((times, [midi_of(float(hz), a4_hz=a4_hz) if hz > 0 else math.nan for hz in verdict.trace.hz]))
        self._passes.append((marked, curves))

    def save(self, lick: Lick, asked_notes: Sequence[AskedNote]) -> None:
        """Draw and write the file."""
        from matplotlib.figure import Figure

        figure = Figure(figsize=(min(24.0, max(8.0, 1.6 * lick.seconds + 2.0)), 5.0), layout="constrained")
        axes = figure.add_subplot()
        sounds = [midi for one in asked_notes for midi in one.note.sounds]
        low, high = min(sounds) - 1.5, max(sounds) + 2.0
        notes = [midi for midi in range(math.ceil(low), math.floor(high) + 1) if lick.key.contains(midi)]
        axes.hlines(notes, 0, 1, transform=axes.get_yaxis_transform(), color="0.88", linewidth=0.8, zorder=0)
        axes.set_yticks(notes, [for_eyes(lick.key.spell(midi)) for midi in notes])
        for one in asked_notes:
            _draw_model(axes, one)
        styles = ("solid", "dashed", "dotted", "dashdot")
        for number, (marked, curves) in enumerate(self._passes):
            label = f"pass {number + 1}: {for_eyes(marked.line) if marked.known else 'another phrase'}"
            for times, midi in curves:
                axes.plot(
                    times, midi, color="black", linewidth=0.9, linestyle=styles[number % 4],
                    alpha=max(0.35, 1.0 - 0.15 * number), label=label,
                )  # fmt: skip
                label = ""
        axes.set(ylim=(low, high), xlabel="seconds of the model", title=for_eyes(heading_of(lick)))
        if self._passes:
            axes.legend(fontsize=7, loc="upper right")
        with writing_bytes(self._file, instead_of=self._instead_of) as file:
            figure.savefig(file, format=self._file.suffix.lower().removeprefix("."), dpi=110)


def _draw_model(axes: Any, one: AskedNote) -> None:
    """A note of the model as a grey band at each of its sounds, an arrow where it is bent."""
    note = one.note
    end = one.onset_s + one.gap_s * note.beats / (note.beats + note.rest_beats)
    levels = [float(midi) for midi in note.sounds]
    if note.inflection == "curl":
        levels = [float(note.midi), note.midi + note.cents / 100.0]
    step = (end - one.onset_s) / len(levels)
    times = [one.onset_s + step * (n + shift) for n in range(len(levels)) for shift in (0.1, 0.9)]
    axes.plot(
        times, [level for level in levels for _ in (0, 1)], color="0.7", linewidth=6, solid_capstyle="butt", zorder=1
    )


def _in_model_time(marked: MarkedPass) -> tuple[float, float]:
    """When the pass began, and how many of its seconds are one of the model."""
    ratio = 1.0 if not marked.tempo_percent else 100.0 / marked.tempo_percent
    first = next((m for m in marked.marks if m.asked is not None and m.heard is not None), None)
    if first is None or first.asked is None or first.heard is None:
        return 0.0, ratio
    return first.heard.onset_s - ratio * first.asked.onset_s, ratio
