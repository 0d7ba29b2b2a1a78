"""The steps in their order, and what a foot does with them: a press goes on, a long one leaves or repeats.

    short   go on; or what the page says
    long    while a step looks: leave it as it was; once it has found something: begin it again
    held    leave the set-up (what was found stays)

Any switch does, so that one is enough, and none need be known. From the menu one comes to the list of steps: a short
press goes down, a long one begins the step.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from pedal.modes.screen_model import TuneScreen
from pedal.modes.state import PedalState
from pedal.notes.event import Onset
from pedal.setup.cable import TryCable
from pedal.setup.choice import InputChoice, OutputDevice, PanelChoice
from pedal.setup.event import ListenedTo, Passed, PinDown, Played, Press, SetUpEvent, Sounded
from pedal.setup.names import NAMES, StepName
from pedal.setup.panel import FindPanel
from pedal.setup.proof import TuneOneString
from pedal.setup.sound_in import NOBODY_DB, CheckLevel, ChooseInput, MeasureNoise
from pedal.setup.sound_out import ChooseOutput
from pedal.setup.step import SetUpPage, Step
from pedal.setup.switches import PressSwitches
from pedal.setup.wish import Nothing, Wish
from pedal.values import frozen

Record = dict[str, str]
"""Of each step "done: WHAT" or "left"; the settings that were found, by their path."""
PATIENCE_S = 90.0
"""So long without a press, and nobody is there."""
LEAVE = "leave"


@frozen
class Known:
    """What the set-up begins with: what the settings say; None for the machine's own input and output."""

    panel: PanelChoice
    place: PedalState
    input: InputChoice | None = None
    output: OutputDevice | None = None


class SetUp:
    """`.step(event)` moves on; `.wish`, `.screen()` and `.record` say what follows; `.panel` is the one that was taken.

    record : of a set-up before this one: what is done there is not asked again.
    only : this step alone.
    listed : begin with the list of steps.
    """

    def __init__(
        self,
        known: Known,
        record: Mapping[str, str] | None = None,
        *,
        only: StepName | None = None,
        listed: bool = False,
    ) -> None:
        self._known = known
        self.record: Record = dict(record or {})
        self.panel: PanelChoice | None = None
        self._only, self._input, self._output = only, known.input, known.output
        self._row, self._listed = 0, listed
        self._step: Step | None = None
        self.finished = False
        self.said: list[str] = []
        self._idle_s = 0.0
        if only is not None:
            self._step = self._make(only)
        elif not listed:
            self._go_on()

    @property
    def wish(self) -> Wish:
        """What the step wants done."""
        return Nothing() if self._step is None else self._step.wish

    @property
    def forsaken(self) -> bool:
        """Nobody has pressed anything for `PATIENCE_S`."""
        return self._idle_s >= PATIENCE_S

    @property
    def step_name(self) -> str:
        """Which step is being taken now; "" while the list or the end is shown."""
        return "" if self._step is None else self._step.name

    def step(self, event: SetUpEvent) -> None:
        """Take one event; never raises, whatever the order they come in."""
        if isinstance(event, Passed):
            self._idle_s += event.seconds
        elif _somebody(event):
            self._idle_s = 0.0
        if self.finished:
            return
        if isinstance(event, Press):
            self._press(event)
        elif self._step is not None:
            self._step.hear(event)

    def _press(self, press: Press) -> None:
        step = self._step
        match press.kind:
            case "held" if isinstance(step, PressSwitches) and step.hold_is_mine:
                step.hear(replace(press, kind="long"))  # a foot that waits for an answer; it comes with the release
            case "held":
                if step is not None and step.over:
                    self._keep(step)
                self.finished = True
            case _ if step is None:
                self._press_in_list(press)
            case "short" if step.over:
                self._keep(step)
                self._after()
            case "long" if step.over:
                self._step = self._make(_named(step.name))
            case "long" if not (isinstance(step, PressSwitches) and step.hold_is_mine):
                self.record.setdefault(step.name, "left")
                self._after()
            case _:
                step.hear(press)

    def _keep(self, step: Step) -> None:
        self.record |= step.findings | {step.name: f"done: {step.said}"}
        self.said.append(f"{step.name}: {step.said}")
        if isinstance(step, FindPanel):
            self.panel = step.chosen
        if isinstance(step, ChooseInput):
            self._input = step.chosen
        if isinstance(step, ChooseOutput):
            self._output = step.chosen

    def _after(self) -> None:
        self._step = None
        if self._only is not None:
            self.finished = True
        elif not self._listed:
            self._go_on()

    def _go_on(self) -> None:
        """The next step that was neither done nor left; after the last, the page that says so."""
        open_steps = [name for name in NAMES if name not in self.record]
        self._step = self._make(open_steps[0]) if open_steps else None

    def _press_in_list(self, press: Press) -> None:
        if not self._listed:
            self.finished = True
            return
        rows = (*NAMES, LEAVE)
        if press.kind == "short":
            self._row = (self._row + 1) % len(rows)
        elif rows[self._row] == LEAVE:
            self.finished = True
        else:
            self._step = self._make(_named(rows[self._row]))

    def _make(self, name: StepName) -> Step:
        known = self._known
        match name:
            case "panel":
                return FindPanel(known.panel)
            case "switches":
                return PressSwitches()
            case "input":
                return ChooseInput()
            case "level":
                return CheckLevel(self._input)
            case "noise":
                return MeasureNoise(self._input)
            case "output":
                return ChooseOutput()
            case "tune":
                return TuneOneString(known.place, self._input)
            case "cable":
                return TryCable(self._input, self._output)

    def screen(self) -> SetUpPage | TuneScreen:
        """What is shown now."""
        step = self._step
        if step is None:
            return self._list_page() if self._listed else _done_page(self.record)
        if isinstance(step, TuneOneString) and (tuner := step.tuner) is not None:
            return tuner
        return replace(step.page(), place=NAMES.index(_named(step.name)), places=len(NAMES))

    def _list_page(self) -> SetUpPage:
        rows = (*NAMES, LEAVE)
        row = rows[self._row]
        said = "the set-up" if row == LEAVE else self.record.get(row, "not yet").removeprefix("done: ")
        hold = "leave" if row == LEAVE else "begin"
        return SetUpPage(row.upper(), (said,), "next", hold, self._row, len(rows))


def _somebody(event: SetUpEvent) -> bool:
    """A foot, or a string: somebody is there."""
    match event:
        case Press() | PinDown() | Sounded(heard=Onset()):
            return True
        case ListenedTo(channels=channels):
            return any(channel.heard for channel in channels)
        case Played(loudness=loudness):
            return loudness.loudest_db > NOBODY_DB
        case _:
            return False


def _done_page(record: Record) -> SetUpPage:
    left = [name for name in NAMES if not record.get(name, "").startswith("done")]
    words = f"Left as it was: {', '.join(left)}." if left else "All steps are done. The menu has each of them again."
    return SetUpPage("READY", (words,), "play", "", len(NAMES), len(NAMES))


def _named(name: str) -> StepName:
    return next(one for one in NAMES if one == name)
