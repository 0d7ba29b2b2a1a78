"""Words that came from elsewhere -> words that may be printed: they move no cursor, forge no line, turn no order.

Names of files, of players and of devices, and every text of a log, are written by others. What a terminal obeys (C0,
C1, ESC), what breaks a line (LF, U+2028), what reorders it (the bidirectional controls of Unicode Standard Annex 9) and
what no encoding can write (lone surrogates) all lie in the categories that `str.isprintable` calls unprintable.
"""

from __future__ import annotations

import unicodedata

_PLAIN = str.maketrans(
    {"ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "ð": "d", "Ð": "D", "þ": "th", "Þ": "Th", "ß": "ss",
     "æ": "ae", "Æ": "Ae", "œ": "oe", "Œ": "Oe", "ı": "i", "’": "'", "‘": "'", "“": '"', "”": '"'}
)  # fmt: skip
_KEPT = "\N{NO-BREAK SPACE}"
"""Unprintable by that definition, harmless, and in our own sentences."""


def clean(words: str) -> str:
    r"""The same words with a question mark for every character that is not there to be read.

    >>> clean("Ann\x1b[2J"), clean("B♭ 3\n"), clean("\u202egnp.exe")
    ('Ann?[2J', 'B♭ 3?', '?gnp.exe')
    """
    if words.isprintable():
        return words
    return "".join(sign if sign.isprintable() or sign in _KEPT else "?" for sign in words)


def is_clean(words: str) -> bool:
    """Whether `clean` would change nothing."""
    return words.isprintable() or clean(words) == words


def unaccented(words: str) -> str:
    """The same words in plain Latin letters, as far as they have any; a letter of another script stays as it is.

    By the compatibility decompositions of Unicode Standard Annex 15; letters that have none are listed.

    >>> unaccented("Zoë Łukasz Đorđe Straße"), unaccented("Анна")
    ('Zoe Lukasz Dorde Strasse', 'Анна')
    """
    if words.isascii():
        return words
    return "".join(
        sign for sign in unicodedata.normalize("NFKD", words.translate(_PLAIN)) if not unicodedata.combining(sign)
    )


def safe_cell(value: object) -> object:
    """A cell of a CSV file: text that a spreadsheet would take for a formula begins with an apostrophe instead.

    The signs are those that OWASP lists under "CSV Injection" (=, +, -, @, tab, carriage return; from memory). Numbers
    stay numbers.
    """
    if not isinstance(value, str):
        return value
    text = clean(value)
    return f"'{text}" if text.startswith(("=", "+", "-", "@")) else text
