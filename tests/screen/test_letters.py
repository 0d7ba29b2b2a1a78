"""The letters: all drawn, none alike, no holes torn and no gaps filled by enlarging."""

from __future__ import annotations

from itertools import combinations

import pytest

from pedal.screen.letters import (
    POSTER_FACE,
    SMALL_FACE,
    alphabet,
    dots_of,
    enlarge,
    gap_of,
    mask,
    read_art,
    spell,
    width_of,
)
from pedal.theory.scale import SCALES
from pedal.theory.spelling import for_eyes

FACES = [POSTER_FACE, SMALL_FACE]
NEEDED = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789+−-±♭♯.,:/%?!×▸()…–~"


@pytest.mark.parametrize("face", FACES, ids=lambda face: face.name)
def test_every_letter_that_the_screens_need_is_drawn(face):
    lower = "" if face.capitals_only else NEEDED.lower()
    assert set(NEEDED + lower) <= set(alphabet(face))


@pytest.mark.parametrize("face", FACES, ids=lambda face: face.name)
def test_no_two_letters_look_alike(face):
    """But for O and nought, which never stand in the same place, and the minus and the dash for "not measured"."""
    alike = [(a, b) for (a, x), (b, y) in combinations(alphabet(face).items(), 2) if x == y]
    assert set(alike) <= {("O", "0"), ("−", "–")}


@pytest.mark.parametrize("face", FACES, ids=lambda face: face.name)
@pytest.mark.parametrize("letter", "ABCDEFGHIJKLMNOPRSTUVWXYZ0123456789♯")
def test_capitals_and_digits_stand_on_the_line_in_full_height(face, letter):
    rows = alphabet(face)[letter]
    lit = [n for n, row in enumerate(rows) if "#" in row]
    if letter == "♯":
        assert lit[-1] - lit[0] >= 5
    else:
        assert (lit[0], lit[-1]) == (0, face.cap_rows - 1)


def blots(rows):
    """Number of lit patches and of dark holes, counting corners as touching for the lit only."""
    height, width = len(rows), len(rows[0])
    cells = {(y, x): rows[y][x] == "#" for y in range(height) for x in range(width)}
    framed = {(y, x): cells.get((y, x), False) for y in range(-1, height + 1) for x in range(-1, width + 1)}
    seen, patches, holes = set(), 0, 0
    for start, lit in framed.items():
        if start in seen:
            continue
        patches, holes = patches + lit, holes + (not lit)
        todo = [start]
        while todo:
            y, x = todo.pop()
            if (y, x) in seen:
                continue
            seen.add((y, x))
            near = [(y + dy, x + dx) for dy in (-1, 0, 1) for dx in (-1, 0, 1) if lit or not (dy and dx)]
            todo += [place for place in near if framed.get(place) == lit and place not in seen]
    return patches, holes - 1


def enlarged(rows: tuple[str, ...], scale: int) -> tuple[str, ...]:
    """As text art."""
    return tuple("".join("#" if dot else "." for dot in row) for row in enlarge(dots_of(rows), scale))


@pytest.mark.parametrize("scale", [2, 3, 4])
@pytest.mark.parametrize("letter", sorted(alphabet(POSTER_FACE)))
def test_enlarging_keeps_strokes_whole_and_holes_open(letter, scale):
    rows = alphabet(POSTER_FACE)[letter]
    large = enlarged(rows, scale)
    assert (len(large), len(large[0])) == (scale * len(rows), scale * len(rows[0]))
    patches, holes = blots(rows)
    assert blots(large)[0] == patches
    assert blots(large)[1] >= holes - 1, "a hole of one dot between slanted strokes may close, no other"


def test_enlarging_fills_the_stair_of_a_slope_and_rounds_a_corner():
    assert enlarged(("#.", ".#"), 3) == (
        "###...",
        "###...",
        "####..",
        "..####",
        "...###",
        "...###",
    )  # fmt: skip
    assert enlarged(("##", "##"), 3)[0] == ".####."


@pytest.mark.parametrize("scale", [1, 2, 3, 4])
def test_a_mask_is_the_letter_itself(scale):
    rows = alphabet(POSTER_FACE)["R"]
    rows = enlarged(rows, scale) if scale > 1 else rows
    picture = mask(POSTER_FACE, "R", scale)
    assert picture.mode == "1"
    lit = {(x, y) for x in range(picture.width) for y in range(picture.height) if picture.getpixel((x, y))}
    assert lit == {(x, y) for y, row in enumerate(rows) for x, sign in enumerate(row) if sign == "#"}
    assert picture.size == (len(rows[0]), len(rows))


@pytest.mark.parametrize(
    ("words", "poster", "small"),
    [
        ("B♭3", "B♭3", "B♭3"),
        ("ring +2", "RING +2", "ring +2"),
        ("日", "?", "?"),
        ("a_b", "A-B", "a_b"),
        ("", "", ""),
        ("Zoë Ø", "ZOE O", "Zoe O"),
        ("straße", "STRASSE", "strasse"),
        ("`[1]`", "'(1)'", "'[1]'"),
        ("Анна", "????", "????"),
    ],
)
def test_words_in_the_letters_there_are(words, poster, small):
    assert spell(words, POSTER_FACE) == poster
    assert spell(words, SMALL_FACE) == small


@pytest.mark.parametrize("tonic", ["C", "Db", "F#", "Bb", "Cb"])
@pytest.mark.parametrize("scale", SCALES)
def test_every_key_can_be_spelled(tonic, scale):
    words = for_eyes(tonic) + " " + scale
    assert "?" not in spell(words, SMALL_FACE)
    assert "?" not in spell(words, POSTER_FACE)


def test_width_is_the_letters_and_the_gaps_between_them():
    assert width_of("", SMALL_FACE) == 0
    assert width_of("I", POSTER_FACE, 3) == 3
    assert width_of("AB", SMALL_FACE) == 4 + 1 + 4
    assert width_of("AB", POSTER_FACE, 3) == 12 + 3 + 12
    assert width_of("AB", POSTER_FACE, 3, tight=True) == 12 + 2 + 12
    assert gap_of(SMALL_FACE, 1, tight=True) == 1


@pytest.mark.parametrize(
    ("art", "said"),
    [
        ("A B\n## #\n## #", "ragged text art under A B"),
        ("A\n##\n#", "the letter A"),
        ("A\n#x\n##", "the letter A"),
        ("A A\n# #\n# #", "the letter A is drawn twice"),
        ("A B\n# #\n#", "ragged text art"),
    ],
)
def test_art_that_is_drawn_wrongly_is_refused(art, said):
    with pytest.raises(ValueError, match=said):
        read_art(art, rows=3 if art.endswith("## #") else 2)
