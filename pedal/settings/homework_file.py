"""A teacher's file -> `Homework`, or every fault at once: line, key, what was expected.

for: Ann                 whose it is, one of players.names; left out, everybody's
key: A minor pentatonic  to whose notes bends go; left out, the key of the settings
since: 2026-11-20        true tries count from this day on; left out, all that the log has
by: 2026-12-04           when it is due
times: 10                how often each must be true, unless it says otherwise
targets:
- bend: 2/8            string and fret, to the note of the key above it
- bend: 3/7
to: A4
times: 20
- pre-bend: 2/8
- curl: 3/5
- lick: old gate      a kept lick, by its name
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from pedal.errors import SettingsError
from pedal.practice.homework import MOST_TASKS, MOST_TIMES, Homework, Task, TaskPart
from pedal.settings.document import Listing, Mapping, Node, Scalar, parse_document, read_document, short, text_of
from pedal.settings.guitar import neck_of
from pedal.settings.kinds import IntRange, Unfit, nearest, scalar_text, shown
from pedal.settings.music_kinds import KeyWords
from pedal.settings.parts import Settings
from pedal.theory.force import SEMITONES_MOST
from pedal.theory.neck import NeckError
from pedal.theory.scale import CURL_SEMITONES, Key
from pedal.theory.spelling import NoteNameError, parse_pitch

FILE_NAME = "homework.yaml"
USUAL_TIMES = 10
MOST_NAME = 80
"""As much as the log keeps of a lick's name."""
_A_DAY = "a day such as 2026-12-04"
_KEYS = ("for", "key", "since", "by", "times", "targets")
_PARTS: dict[str, TaskPart] = {"bend": "bend", "pre-bend": "prebend", "curl": "curl", "lick": "lick"}


def is_homework(path: Path) -> bool:
    """Whether a file says that it is one: it has targets. Raises `SettingsError` for what is no YAML."""
    return any(word.text == "targets" for word, _ in read_document(path).entries)


def read_homework(path: Path, settings: Settings) -> Homework:
    """The homework of a file, for the neck, key and players of the settings.

    `since_s` is in seconds since 1970. Raises `SettingsError` with every fault, sorted by line.
    """
    return homework_of(text_of(path), settings, name=str(path))


def homework_of(text: str, settings: Settings, *, name: str) -> Homework:
    """The same of a text; `name` stands before the line in complaints."""
    return _Reader(name, settings).read(parse_document(text, name=name))


@dataclass
class _Reader:
    name: str
    settings: Settings
    faults: list[tuple[int, str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.neck = neck_of(self.settings)
        self.key: Key = self.settings.key

    def read(self, tree: Mapping) -> Homework:
        found = self._keys(tree)
        self.key = self._value(found, "key", KeyWords().expected, lambda node: KeyWords().read(node)) or self.key
        player = self._player(found.get("for"))
        since_s: float | None = self._value(found, "since", _A_DAY, _since_s)
        by: date | None = self._value(found, "by", _A_DAY, _day)
        times = self._times(found.get("times"), "times", USUAL_TIMES)
        tasks = self._tasks(found.get("targets"), tree.line, times)
        if self.faults:
            raise SettingsError([f"{self.name}:{line}: {sentence}" for line, sentence in sorted(self.faults)])
        due = "" if by is None else by.isoformat()
        return Homework(tuple(tasks), player, due, float("-inf") if since_s is None else since_s)

    def _fault(self, line: int, path: str, sentence: str) -> None:
        self.faults.append((line, f"{path}: {sentence}"))

    def _keys(self, tree: Mapping) -> dict[str, Node]:
        found: dict[str, Node] = {}
        for word, node in tree.entries:
            if word.text not in _KEYS:
                meant = nearest(word.text, list(_KEYS))
                hint = f", did you mean {meant}?" if meant else f"; there are {', '.join(_KEYS)}"
                self._fault(word.line, word.text[:40] or "''", f"expected a known key (got {short(word.text)!r}){hint}")
            elif word.text in found:
                self._fault(word.line, word.text, "expected each key once (got it again)")
            else:
                found[word.text] = node
        return found

    def _value(self, found: dict[str, Node], key: str, expected: str, read):  # type: ignore[no-untyped-def]
        if key not in found:
            return None
        try:
            return read(found[key])
        except Unfit as unfit:
            meant = f", did you mean {unfit.meant}?" if unfit.meant else ""
            self._fault(found[key].line, key, f"expected {expected} (got {unfit.got}){meant}")
            return None

    def _player(self, node: Node | None) -> str:
        if node is None:
            return ""
        names = self.settings.players.names
        wanted = node.text.strip().casefold() if isinstance(node, Scalar) else ""
        for name in names:
            if name.casefold() == wanted:
                return name
        known = f"one of {', '.join(names)}" if names else "no name: the settings have no players.names"
        self._fault(node.line, "for", f"expected {known} (got {shown(node)})")
        return ""

    def _times(self, node: Node | None, path: str, usual: int) -> int:
        if node is None:
            return usual
        kind = IntRange(1, MOST_TIMES)
        try:
            return kind.read(node)
        except Unfit as unfit:
            self._fault(node.line, path, f"expected {kind.expected} (got {unfit.got})")
            return usual

    def _tasks(self, node: Node | None, line: int, times: int) -> list[Task]:
        if not isinstance(node, Listing) or not 1 <= len(node.items) <= MOST_TASKS:
            got = "nothing" if node is None else shown(node)
            sentence = f"expected a list of 1 to {MOST_TASKS}, such as '- bend: 2/8' (got {got})"
            self._fault(line if node is None else node.line, "targets", sentence)
            return []
        tasks: list[Task] = []
        for number, item in enumerate(node.items, 1):
            task = self._task(item, f"targets {number}", times)
            if task is not None and any(task.spot == other.spot for other in tasks):
                self._fault(item.line, f"targets {number}", "expected each target once (got it again)")
            elif task is not None:
                tasks.append(task)
        return tasks

    def _task(self, node: Node, path: str, times: int) -> Task | None:
        entries = {word.text: value for word, value in node.entries} if isinstance(node, Mapping) else {}
        kinds = [word for word in entries if word in _PARTS]
        strange = [word for word in entries if word not in (*_PARTS, "to", "times")]
        if len(kinds) != 1 or strange or not isinstance(node, Mapping) or len(entries) != len(node.entries):
            got = ", ".join(word[:20] for word in entries) or shown(node)
            self._fault(node.line, path, f"expected one of {', '.join(_PARTS)}, with 'to' and 'times' (got {got})")
            return None
        wanted = self._times(entries.get("times"), f"{path} times", times)
        part = _PARTS[kinds[0]]
        if part == "lick":
            return self._lick(entries, path, wanted)
        spot = self._spot(entries[kinds[0]], f"{path} {kinds[0]}")
        if spot is None:
            return None
        midi = self.neck.midi(*spot)
        if part == "curl":
            return self._curl(entries, spot, line=node.line, path=path, midi=midi, times=wanted)
        rise = self._rise(entries.get("to"), path, midi, line=node.line)
        return None if rise is None else Task(part, *spot, rise, wanted)

    def _spot(self, node: Node, path: str) -> tuple[int, int] | None:
        expected = "a string and a fret such as 2/8"
        try:
            text = scalar_text(node, "text")
            string, fret = (int(word) for word in text.split("/"))
        except (Unfit, ValueError):
            self._fault(node.line, path, f"expected {expected} (got {shown(node)})")
            return None
        try:
            self.neck.midi(string, fret)
        except NeckError as fault:
            self._fault(node.line, path, f"expected {expected} on this neck (got {text}: {fault})")
            return None
        if fret == self.neck.capo:
            self._fault(node.line, path, f"expected a fretted note (got {text}: an open string cannot be bent)")
            return None
        return string, fret

    def _lick(self, entries: dict[str, Node], path: str, times: int) -> Task | None:
        """By name; whether it is kept is for the pedal to see, since a teacher may not have it."""
        node = entries["lick"]
        name = " ".join(node.text.split()) if isinstance(node, Scalar) else ""
        if "to" in entries:
            self._fault(entries["to"].line, f"{path} to", "expected none: a lick is played as it was kept")
            return None
        if not 1 <= len(name) <= MOST_NAME:
            expected = f"expected the name of a kept lick, such as old gate, at most {MOST_NAME} letters"
            self._fault(node.line, f"{path} lick", f"{expected} (got {shown(node)})")
            return None
        return Task("lick", 0, 0, 0, times, name)

    def _curl(
        self, entries: dict[str, Node], spot: tuple[int, int], *, line: int, path: str, midi: int, times: int
    ) -> Task | None:
        if "to" in entries:
            self._fault(entries["to"].line, f"{path} to", "expected none: a curl has a zone, and no target")
            return None
        if self.key.steps_above_tonic(midi) not in CURL_SEMITONES:
            sentence = f"expected the minor third or the flat seventh of {self.key} (got {self.key.spell(midi)})"
            self._fault(line, f"{path} curl", sentence)
            return None
        return Task("curl", *spot, 0, times)

    def _rise(self, node: Node | None, path: str, midi: int, *, line: int) -> int | None:
        most = int(SEMITONES_MOST)
        within = f"a note one to {most} frets above {self.key.spell(midi)}"
        if node is None:
            following = self.key.next_above(midi)
            if following - midi <= most:
                return following - midi
            got = f"nothing, and the next note of {self.key} is {self.key.spell(following)}"
            self._fault(line, path, f"expected 'to', {within} (got {got})")
            return None
        top = f"expected {within}"
        try:
            rise = parse_pitch(scalar_text(node, "text")) - midi
        except (Unfit, NoteNameError):
            self._fault(node.line, f"{path} to", f"{top}, such as {self.key.spell(midi + 2)} (got {shown(node)})")
            return None
        if not 1 <= rise <= most:
            self._fault(node.line, f"{path} to", f"{top} (got {shown(node)})")
            return None
        return rise


def _day(node: Node) -> date:
    text = node.text if isinstance(node, Scalar) else ""
    try:
        return date.fromisoformat(text)
    except ValueError as fault:
        raise Unfit(shown(node)) from fault


def _since_s(node: Node) -> float:
    """When a day begins, seconds since 1970; the calendar's first and last days have no such figure everywhere."""
    day = _day(node)
    try:
        return datetime(day.year, day.month, day.day).timestamp()
    except (ValueError, OverflowError, OSError) as fault:
        raise Unfit(shown(node)) from fault
