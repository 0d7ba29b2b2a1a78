"""The table written out: a commented default file, and the reference page of the handbook."""

from __future__ import annotations

from itertools import groupby
from textwrap import wrap

from pedal.modes.action_map import DEFAULTS, SCREENS
from pedal.settings.door import of_the_card
from pedal.settings.parts import Settings
from pedal.settings.table import ACTIONS, GESTURES, ROWS, SECTIONS, Row

_WIDTH = 100
_ACTION_SECTION = "switches.actions"


def default_yaml() -> str:
    """A file that says what the defaults are and what every key means; loading it gives the defaults."""
    lines = ["# Settings of the bend meter. Every key may be left out; what stands here is the default.", ""]
    for section, rows in _by_section():
        indent = "  " * (section.count(".") + 1 if section else 0)
        lines += _remark(SECTIONS[section] + ".", indent[2:])
        if section:
            lines.append(f"{indent[2:]}{section.rpartition('.')[2]}:")
        if section == _ACTION_SECTION:
            lines += [line for words in _presses_in_words() for line in _remark(words, indent)]
        else:
            for row in rows:
                lines += [*_remark(row.meaning, indent), *_remark(f"Expected: {row.kind.expected}.", indent)]
                lines.append(f"{indent}{row.key}: {row.kind.write(row.default)}")
        lines.append("")
    return "\n".join(lines)


def reference_page() -> str:
    """docs/configuration.md: one table a section."""
    lines = [
        "# Settings",
        "",
        "Written from `pedal/settings/table.py` by `undertoe check --reference`; a test keeps it current.",
        "",
        "The file is YAML. It is looked for in this order: the one given with `--config`, then",
        "`~/.config/undertoe/undertoe.yaml`, then `/etc/undertoe/undertoe.yaml`; with none the defaults below hold.",
        "Every key may be left out. `undertoe check FILE` names every fault of a file with its line; a wrong file is",
        "never half used. `undertoe check --default` prints a commented file to begin with.",
        "Anchors, aliases and tags of YAML are refused, and so is a key that stands twice.",
        "",
        "Over the installed file lies `undertoe.yaml` of the card's FAT partition, or of a stick ([card.md](card.md)).",
        f"There these do not count: {', '.join(f'`{word}`' for word in _not_on_the_card())}.",
        "",
    ]
    for section, rows in _by_section():
        lines += [f"## {SECTIONS[section]}" + (f" (`{section}`)" if section else ""), ""]
        if section == _ACTION_SECTION:
            lines += [line for words in _presses_in_words() for line in (*wrap(words, 120, break_on_hyphens=False), "")]
            lines += _maps()
            continue
        lines += ["| key | expected | default | meaning |", "|---|---|---|---|"]
        lines += [f"| `{r.path}` | {r.kind.expected} | `{r.kind.write(r.default)}` | {r.meaning} |" for r in rows]
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _not_on_the_card() -> list[str]:
    """Whole sections, and single keys of the others."""
    values = {row.path: row.default for row in ROWS}
    refused = {key for key, _ in of_the_card(values, values)}
    words = []
    for section, rows in _by_section():
        paths = [row.path for row in rows]
        words += [section] if refused.issuperset(paths) else [path for path in paths if path in refused]
    return words


def changes(settings: Settings, defaults: Settings) -> list[str]:
    """One line "key: value (default ...)" for every row in which two settings differ."""
    lines = []
    for row in ROWS:
        value, default = value_of(settings, row), value_of(defaults, row)
        if value != default:
            lines.append(f"{row.path}: {row.kind.write(value)} (default {row.kind.write(default)})")
    return lines


def value_of(settings: Settings, row: Row) -> object:
    """What a row of the table is in these settings."""
    if row.section == _ACTION_SECTION:
        return dict(settings.switches.actions).get(row.key)
    part = getattr(settings, row.section) if row.section else settings
    return getattr(part, row.key)


def _by_section() -> list[tuple[str, list[Row]]]:
    return [(section, list(rows)) for section, rows in groupby(ROWS, key=lambda row: row.section)]


def _remark(words: str, indent: str) -> list[str]:
    return [f"{indent}# {line}" for line in wrap(words, _WIDTH)]


def _presses_in_words() -> tuple[str, str, str]:
    return (
        f"Presses: {', '.join(GESTURES)}.",
        f"A mode or the menu may stand before one, such as 'echo 2_held', to mean it only there: {', '.join(SCREENS)}.",
        f"Actions: {', '.join(ACTIONS)}; default is what the map says.",
    )


def _maps() -> list[str]:
    """The default maps side by side, a column for each number of switches."""
    counts = [count for count, meanings in DEFAULTS.items() if meanings]
    presses = list(dict.fromkeys(press for count in counts for press in DEFAULTS[count]))
    lines = ["| press | " + " | ".join(f"{n} switch{'es' if n > 1 else ''}" for n in counts) + " |"]
    lines.append("|---" * (len(counts) + 1) + "|")
    for press in sorted(presses, key=lambda press: (" " in press, press)):
        meanings = (DEFAULTS[count].get(press, "") for count in counts)
        lines.append(f"| `{press}` | " + " | ".join(meanings) + " |")
    return [*lines, ""]
