"""The input: the one that hears a string is taken; then its level in words, then its noise and hum in words."""

from __future__ import annotations

from collections import deque

from pedal.modes.gain_check import HOT_DB, QUIET_DB
from pedal.setup.choice import InputChoice, InputDevice
from pedal.setup.event import InputsFound, ListenedTo, Passed, Played, Press, Quiet, SetUpEvent, Trouble
from pedal.setup.step import Findings, SetUpPage
from pedal.setup.wish import FindInputs, HearLoudness, HearQuiet, ListenTo, Nothing, Wish
from pedal.soundcheck.noise import SOUNDED_DB, noise_title, noise_words

LOOK_AGAIN_S = 2.0
KEPT = 12
"""Half seconds by which a level is told: long enough for a few strokes, short enough that a turned knob shows."""
FLOOR_DB = -60.0
"""Where the level's bar begins."""
NOBODY_DB = -55.0
"""Nobody plays hard below this."""
NONE_HEARS = "No string heard: cable, guitar volume, input gain?"


class ChooseInput:
    """Devices are listened to in turn while the player plays."""

    name = "input"

    def __init__(self) -> None:
        self.over = False
        self.findings: Findings = {}
        self.said = ""
        self.chosen: InputChoice | None = None
        self._devices: tuple[InputDevice, ...] | None = None
        self._at, self._looks, self._rounds, self._waited_s = 0, 0, 0, 0.0
        self._heard: list[tuple[float, InputChoice]] = []
        self._trouble = ""

    @property
    def wish(self) -> Wish:
        """Find them; then listen to one after another."""
        if self._devices is None:
            return FindInputs(self._looks)
        if self.over or not self._devices:
            return Nothing()
        return ListenTo(self._devices[self._at], self._rounds)

    def hear(self, event: SetUpEvent) -> None:
        """Devices, and what each of them heard."""
        if self.over:
            return
        match event:
            case InputsFound(devices=devices):
                self._devices, self._at, self._waited_s = devices, 0, 0.0
            case ListenedTo(device=device, channels=channels):
                heard = [(one.loudest_db, number) for number, one in enumerate(channels, 1) if one.heard]
                self._heard += [(loudest_db, InputChoice(device.name, number)) for loudest_db, number in heard]
                self._go_on()
            case Trouble(sentence=sentence) if self._devices is None:
                self._devices, self._waited_s, self._trouble = (), 0.0, sentence
            case Trouble(sentence=sentence):
                self._trouble = sentence
                self._go_on()
            case Passed(seconds=seconds) if self._devices == ():
                self._waited_s += seconds
                if self._waited_s >= LOOK_AGAIN_S:
                    self._look()
            case Press() if self._rounds or self._devices == ():
                self._look()
            case _:
                pass

    def _look(self) -> None:
        self._devices, self._heard, self._trouble = None, [], ""
        self._looks += 1

    def _go_on(self) -> None:
        """The next device; after the last the loudest that heard a string is taken, or all are listened to again."""
        if not self._devices:
            return
        self._at = (self._at + 1) % len(self._devices)
        if self._at:
            return
        self._rounds += 1
        if self._heard:
            loudest_db, self.chosen = max(self._heard, key=lambda pair: pair[0])
            others = len({choice.name for _, choice in self._heard}) - 1
            more = f"; {others} more heard it, quieter" if others else ""
            self.over, self.findings = True, self.chosen.findings()
            self.said = f"{self.chosen.name}, channel {self.chosen.channel}, {loudest_db:.0f} dBFS{more}"

    def page(self) -> SetUpPage:
        """Who is being listened to."""
        if self.over:
            return SetUpPage("INPUT", (self.said,), "go on", "again")
        if self._devices == ():
            return SetUpPage("NO INPUT", (self._trouble or "Plug the audio interface in.",), "again", "leave")
        if self._devices is None:
            return SetUpPage("PLAY", ("open strings, on and on",), "", "leave")
        device = self._devices[self._at]
        now = f"{self._at + 1} of {len(self._devices)}: {device.name}"
        if self._rounds:
            return SetUpPage("NOTHING", (self._trouble or NONE_HEARS, now), "again", "leave")
        return SetUpPage("PLAY", ("open strings, on and on", now), "", "leave")


class CheckLevel:
    """Says turn up or turn down until it is good, or until the player is content."""

    name = "level"

    def __init__(self, choice: InputChoice | None) -> None:
        self.over = False
        self.findings: Findings = {}
        self.said = ""
        self._choice = choice
        self._loudest: deque[float] = deque(maxlen=KEPT)
        self._clipped: deque[bool] = deque(maxlen=KEPT)
        self._trouble = ""
        self._looks, self._rest_s = 0, 0.0

    @property
    def wish(self) -> Wish:
        """Listen all the time."""
        return Nothing() if self.over else HearLoudness(self._choice, self._looks)

    def hear(self, event: SetUpEvent) -> None:
        """Half a second of playing, or a press that takes the level as it is."""
        match event:
            case Played(loudness=loudness):
                self._loudest.append(loudness.loudest_db)
                self._clipped.append(loudness.clipped)
                self._trouble = ""
            case Press() if not self.over and self._loudest:
                self.over = True
                self.said = f"{self._word.lower()}, {max(self._loudest):.0f} dBFS"
            case Trouble(sentence=sentence):
                self._trouble, self._rest_s = sentence, LOOK_AGAIN_S
                self._loudest.clear()
                self._clipped.clear()
            case Passed(seconds=seconds):
                self._rest(seconds)
            case Press():
                self._rest(LOOK_AGAIN_S)
            case _:
                pass

    def _rest(self, seconds: float) -> None:
        """After a trouble some time is left to the interface, or to a hand; then it is listened to once more."""
        if self._rest_s > 0:
            self._rest_s -= seconds
            if self._rest_s <= 0:
                self._looks += 1

    @property
    def _word(self) -> str:
        loudest = max(self._loudest, default=FLOOR_DB)
        if any(self._clipped) or loudest > HOT_DB:
            return "TURN DOWN"
        if loudest < NOBODY_DB:
            return "PLAY HARD"
        return "TURN UP" if loudest < QUIET_DB else "GOOD"

    def page(self) -> SetUpPage:
        """The word, and a bar with the good part marked."""
        if self._trouble:
            return SetUpPage("NO SOUND", (self._trouble,), "again", "leave")
        loudest = max(self._loudest, default=FLOOR_DB)
        lines = {
            "TURN DOWN": "the input's gain: it clips" if any(self._clipped) else "the input's gain",
            "TURN UP": "the input's gain, guitar at full volume",
            "PLAY HARD": "all strings, as hard as ever",
            "GOOD": "as it is",
        }
        word = self._word
        figure = "" if word == "PLAY HARD" else f"{loudest:.0f} dBFS"
        return SetUpPage(
            word,
            (lines[word], *([figure] if figure else [])),
            "go on" if self._loudest else "",
            "again" if self.over else "leave",
            bar=_share(loudest),
            good=(_share(QUIET_DB), _share(HOT_DB)),
        )


class MeasureNoise:
    """Hands off: what is left is noise and hum."""

    name = "noise"

    def __init__(self, choice: InputChoice | None) -> None:
        self.over = False
        self.findings: Findings = {}
        self.said = ""
        self._choice, self._looks = choice, 0
        self._quiet: Quiet | None = None
        self._trouble = ""

    @property
    def wish(self) -> Wish:
        """Listen once."""
        return Nothing() if self.over or self._trouble else HearQuiet(self._choice, self._looks)

    def hear(self, event: SetUpEvent) -> None:
        """The noise; if something sounded meanwhile, once more."""
        match event:
            case Quiet(noise=noise, loudness=loudness, played=played) if not self.over:
                self._quiet = event
                self._looks += 1
                if not played and loudness.loudest_db - noise.total_db < SOUNDED_DB:
                    self.over, self.said = True, noise_words(noise)
            case Trouble(sentence=sentence):
                self._trouble = sentence
            case Press() if self._trouble:
                self._trouble = ""
                self._looks += 1
            case _:
                pass

    def page(self) -> SetUpPage:
        """What to do, or how it is."""
        if self._trouble:
            return SetUpPage("NO SOUND", (self._trouble,), "again", "leave")
        if self.over and self._quiet is not None:
            return SetUpPage(noise_title(self._quiet.noise), (self.said,), "go on", "again")
        lines: tuple[str, ...] = ("Hand flat on the strings, volume up, four seconds.",)
        if self._quiet is not None:
            lines = ("Something sounded: once more.", *lines)
        return SetUpPage("BE STILL", lines, "", "leave")


def _share(level_db: float) -> float:
    return min(1.0, max(0.0, 1.0 - level_db / FLOOR_DB))
