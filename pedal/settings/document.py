"""Bytes of a file -> a tree of words with their lines; YAML's dangerous and surprising parts are refused by name."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

import yaml

from pedal.errors import SettingsError
from pedal.values import frozen

LARGEST_BYTES = 64 * 1024
"""Sixteen times the longest sensible file; bounds the time that a hostile one can take."""
_HARD_SPACE = "\u00a0"
"""Telephones and word processors write it for a space; YAML takes it for a letter of the key."""
_LOOSE_TAB = re.compile(r"(?<=[:,\[{])\t+|[ \t]*\t[ \t]*$", re.MULTILINE)
"""A tab that only parts two words or ends a line; one that indents a line is refused, since nobody knows its width."""
_CURLED = re.compile(r"[^#]*?[:\[,{-]\s*([\u2018-\u201f\u00ab\u00bb])")
"""A quote as they make it of a straight one, where a value begins: YAML takes it for a letter of the value."""
DEEPEST = 5
"""section, key and list are three; anything deeper is a mistake or an attack."""

Sort = Literal["text", "number", "on_off", "nothing"]
_SORTS: dict[str, Sort] = {"int": "number", "float": "number", "bool": "on_off", "null": "nothing"}


@frozen
class Scalar:
    """One word or number as written; `sort` is how YAML reads it (a quoted number is text)."""

    line: int
    text: str
    sort: Sort


@frozen
class Listing:
    """A YAML sequence: its line, and what stands in it in order."""

    line: int
    items: tuple[Node, ...]


@frozen
class Mapping:
    """Keys with their values, in the order of the file; the same key may stand twice."""

    line: int
    entries: tuple[tuple[Scalar, Node], ...]


Node = Scalar | Listing | Mapping


def short(text: str, most: int = 40) -> str:
    """As much of it as a complaint has room for; that it goes on is seen.

    >>> short("7" * 41)
    '7777777777777777777777777777777777777...'
    """
    return text if len(text) <= most else text[: most - 3] + "..."


def read_document(path: Path) -> Mapping:
    """The tree of a file; raises `SettingsError` where there is no such plain, small, harmless file of text."""
    return parse_document(text_of(path), name=str(path))


def text_of(path: Path) -> str:
    """The text of a file, whichever way an editor wrote it; raises `SettingsError` for what is none."""
    return decoded(_bytes_of(path), name=str(path))


def parse_document(text: str, *, name: str) -> Mapping:
    """The tree of a text; `name` stands before the line in complaints. An empty text is an empty mapping.

    Raises `SettingsError` for what is no YAML, has bent quotes, or holds no keys.
    """
    text = _LOOSE_TAB.sub(" ", text.replace(_HARD_SPACE, " "))
    for line, written in enumerate(text.split("\n"), 1):
        if found := _CURLED.match(written):
            raise SettingsError([f"{name}:{line}: expected straight quotes, \" or ' (got {found[1]})"])
    with _complaints(name, text):
        root = _Composer(text.removeprefix("\ufeff")).get_single_node()
    if root is None or (isinstance(root, yaml.ScalarNode) and root.tag == "tag:yaml.org,2002:null"):
        return Mapping(1, ())
    tree = _plain(root, name)
    if not isinstance(tree, Mapping):
        raise SettingsError([f"{name}:{tree.line}: expected keys with values, such as 'key: G minor pentatonic'"])
    return tree


def _bytes_of(path: Path) -> bytes:
    try:
        # Non-blocking, so that a named pipe cannot hold the start; what kind of thing it is is asked of the open file.
        handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
        with os.fdopen(handle, "rb") as file:
            kind = os.fstat(file.fileno()).st_mode
            if stat.S_ISDIR(kind):
                raise SettingsError([f"{path}: expected a file of settings (got a folder)"])
            if not stat.S_ISREG(kind):
                raise SettingsError([f"{path}: expected a plain file of settings (got a device or pipe)"])
            raw = file.read(LARGEST_BYTES + 1)
    except IsADirectoryError:
        raise SettingsError([f"{path}: expected a file of settings (got a folder)"]) from None
    except (OSError, ValueError) as fault:
        reason = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
        raise SettingsError(
            [f"{path}: cannot be read ({reason.lower()}); check the name and the permissions"]
        ) from fault
    if len(raw) > LARGEST_BYTES:
        raise SettingsError([f"{path}: expected at most {LARGEST_BYTES // 1024} KiB of settings; this file is larger"])
    return raw


def decoded(raw: bytes, *, name: str) -> str:
    """The text of bytes: UTF-8, or UTF-16 by its mark, as some editors save; raises `SettingsError` for the rest."""
    if raw.startswith((b"\xff\xfe\x00\x00", b"\x00\x00\xfe\xff")):
        raise SettingsError([f"{name}:1: expected UTF-8 text (got UTF-32); save the file as UTF-8"])
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return raw.decode("utf-16").replace("\r\n", "\n")
        except UnicodeDecodeError as fault:
            raise SettingsError([f"{name}:1: expected text (got half a UTF-16 file); save it as UTF-8"]) from fault
    if raw.startswith(b"{\\rtf"):
        raise SettingsError([f"{name}:1: expected plain text (got a formatted document); save the file as plain text"])
    if b"\x00" in raw:
        line = raw.count(b"\n", 0, raw.index(b"\x00")) + 1
        raise SettingsError([f"{name}:{line}: expected UTF-8 text (got zeros, as in UTF-16); save the file as UTF-8"])
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as fault:
        line = raw.count(b"\n", 0, fault.start) + 1
        bad = raw[fault.start]
        raise SettingsError(
            [f"{name}:{line}: expected UTF-8 text (got the byte 0x{bad:02X}); save the file as UTF-8"]
        ) from fault


class _Refused(yaml.error.MarkedYAMLError):
    """A part of YAML that settings do without."""


class _Composer(yaml.SafeLoader):
    """PyYAML's composer, for trees only: no anchors, aliases or tags, and no deep nesting."""

    depth = 0

    def compose_node(self, parent: yaml.Node | None, index: int) -> yaml.Node | None:
        event = self.peek_event()  # type: ignore[no-untyped-call]
        if isinstance(event, yaml.AliasEvent) or event.anchor:
            raise _Refused(
                problem="anchors and aliases (& and *) are not allowed: write the value out",
                problem_mark=event.start_mark,
            )
        if event.tag is not None:
            raise _Refused(problem="tags (!) are not allowed: write the plain value", problem_mark=event.start_mark)
        if self.depth > DEEPEST:
            raise _Refused(problem=f"nested deeper than {DEEPEST} levels", problem_mark=event.start_mark)
        self.depth += 1
        node = super().compose_node(parent, index)
        self.depth -= 1
        return node


@contextmanager
def _complaints(name: str, text: str) -> Iterator[None]:
    try:
        yield
    except yaml.reader.ReaderError as fault:
        line = text.count("\n", 0, int(fault.position)) + 1
        code = fault.character if isinstance(fault.character, int) else ord(fault.character)
        raise SettingsError([f"{name}:{line}: expected printable text (got the character U+{code:04X})"]) from fault
    except yaml.error.MarkedYAMLError as fault:
        mark = fault.problem_mark or fault.context_mark
        if "quoted scalar" in (fault.context or ""):  # what was not closed is more use than where the file ends
            mark = fault.context_mark or mark
        line = mark.line + 1 if mark else 1
        raise SettingsError([f"{name}:{line}: {_in_words(fault, text, line)}"]) from fault


def _in_words(fault: yaml.error.MarkedYAMLError, text: str, line: int) -> str:
    written = (text.splitlines() or [""])[min(line, len(text.splitlines())) - 1] if text else ""
    problem = fault.problem or "cannot be understood"
    if isinstance(fault, _Refused):
        return problem
    if "'\\t'" in problem or written[: len(written) - len(written.lstrip())].count("\t"):
        return "expected spaces before a key (got a tab): indent with two spaces"
    if "mapping values are not allowed" in problem:
        return _odd_colon(text, line)
    if "another document" in problem:
        return "expected one document (got a second one after ---)"
    for sign, sentence in _SENTENCES.items():
        if sign in problem or sign in (fault.context or ""):
            return f"{sentence} (got {short(written.strip(), 60)!r})"
    return f"expected one setting a line, such as 'key: G minor pentatonic' (got {short(written.strip(), 60)!r})"


_SENTENCES = {
    "could not find expected ':'": "expected a colon and a space after each setting's name, here or in the line above",
    "but found '<scalar>'": "expected the whole value in quotes, or nothing of it",
    "expected <block end>": "expected this line in the same column as the other settings of its section",
    "quoted scalar": "expected the quotes to be closed again",
    "flow sequence": "expected the list to be closed by ] with commas between its values",
    "flow mapping": "expected settings on lines of their own, without braces",
    "cannot start any token": "expected the value in quotes, because it begins with a sign that YAML keeps for itself",
}
"""What PyYAML says (its scanner.py and parser.py, 6.0), and what a player has to do about it."""


def _odd_colon(text: str, line: int) -> str:
    """A colon where none can be: in a value, or in a line that stands further in than the section it belongs to."""
    lines = text.splitlines()
    written = lines[line - 1] if 0 < line <= len(lines) else ""
    before = next((one for one in reversed(lines[: line - 1]) if one.strip() and not one.strip().startswith("#")), "")
    inward = len(written) - len(written.lstrip()) > len(before) - len(before.lstrip())
    got = f"(got {short(written.strip(), 60)!r})"
    if ":" not in before and before.strip():
        got = f"(got {short(before.strip(), 60)!r})"
        return f"expected a colon and a space after the setting's name in the line above {got}"
    if inward and before.partition(":")[2].strip():
        return f"expected this line to begin in the same column as the one above it {got}"
    return f"expected the value in quotes where it holds a colon {got}"


def _plain(node: yaml.Node, name: str) -> Node:
    line = node.start_mark.line + 1
    if isinstance(node, yaml.ScalarNode):
        return Scalar(line, node.value, _SORTS.get(node.tag.rpartition(":")[2], "text"))
    if isinstance(node, yaml.SequenceNode):
        return Listing(line, tuple(_plain(item, name) for item in node.value))
    entries = []
    for key, value in node.value:
        plain_key = _plain(key, name)
        if not isinstance(plain_key, Scalar):
            raise SettingsError([f"{name}:{plain_key.line}: expected a word as key (got a list or keys)"])
        entries.append((plain_key, _plain(value, name)))
    return Mapping(line, tuple(entries))
