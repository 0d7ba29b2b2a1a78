"""What a player may take for something else: the last verdict for the next bend's, a height for an error."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_layout import faults

from pedal.modes.recall import ROWS
from pedal.modes.screen_model import (
    BlindScreen,
    CurlScreen,
    EchoScreen,
    LadderScreen,
    RecallRow,
    RecallScreen,
    Status,
    StringPicture,
    VerdictCard,
    WatchScreen,
)
from pedal.screen.canvas import LARGE
from pedal.screen.drawing import lay_out
from pedal.screen.samples import samples
from pedal.theory.spelling import for_eyes

WAYS = [("glance", 64), ("close", 64), ("glance", 32)]
SOUNDING = StringPicture(4.0, 300.0, None, 4.0)
LAST = VerdictCard("SHARP", 31, "cut", note="F4")
HEIGHT = VerdictCard("TRUE", 35, "cut", is_height=True, note="Bb3")


def words(model, density="glance", height=64) -> list[str]:
    return [one.words for one in lay_out(model, density=density, height=height).written]


def status(mode: str, **marks) -> Status:
    return Status(mode, "G minor pentatonic", **marks)


@pytest.mark.parametrize(("density", "height"), WAYS)
@pytest.mark.parametrize("make", [
    lambda face: WatchScreen(status("watch"), "G4", "Bb4", SOUNDING, face),
    lambda face: CurlScreen(status("curl"), "Bb3", SOUNDING, face, 0, 0),
])  # fmt: skip
def test_while_a_note_sounds_the_last_verdict_is_smaller_and_stands_with_its_own_note(make, density, height) -> None:
    sounding = lay_out(make(LAST), density=density, height=height)
    (word,) = [one for one in sounding.written if "SHARP" in one.words]
    assert word.cap_rows < LARGE.cap_rows
    assert any("F4" in one.words for one in sounding.written)


@pytest.mark.parametrize(("density", "height"), WAYS)
def test_the_height_of_a_curl_has_no_sign_and_an_error_always_has_one(density, height) -> None:
    silent = StringPicture(zone_cents=(15.0, 60.0))
    curl = " ".join(words(CurlScreen(status("curl"), "Bb3", silent, HEIGHT, 1, 1), density, height))
    assert "curl" in curl
    assert "+35" not in curl
    for cents, figure in ((3, "+3"), (0, "±0"), (-3, "−3")):
        face = replace(LAST, word="TRUE", figure=cents)
        shown = words(WatchScreen(status("watch"), "F4", "G4", StringPicture(), face), density, height)
        assert any(figure in word for word in shown)
        assert "err" in " ".join(shown)


@pytest.mark.parametrize(("density", "height"), WAYS)
def test_recall_tells_heights_of_curls_from_errors_of_bends(density, height) -> None:
    rows = (RecallRow("D4", 14, 3.2, 8.1), RecallRow("Bb3 curl", 11, 35.4, 7.0, is_height=True))
    shown = " ".join(words(RecallScreen(status("recall"), rows, 8, 34, 0, 1), density, height))
    assert "err" in shown
    assert "curl" in shown
    assert "+3" in shown
    assert "+35" not in shown


@pytest.mark.parametrize("density", ["glance", "close"])
@pytest.mark.parametrize("height", [64, 32])
def test_every_row_of_every_page_of_recall_is_shown(density, height) -> None:
    """The page that the mode makes for a density is drawn whole on every panel, and says where it lies."""
    names = ("Bb2", "F#3", "C4", "D4")[: ROWS[density]]
    rows = tuple(RecallRow(name, 100 + n, -100.0 - n, 8.1) for n, name in enumerate(names))
    canvas = lay_out(RecallScreen(status("recall"), rows, 8, 434, 0, 5), density=density, height=height)
    shown = " ".join(one.words for one in canvas.written)
    assert [name for name in names if for_eyes(name) not in shown] == []
    assert [n for n in range(len(names)) if f"−10{n}" not in shown] == []
    assert faults(canvas) == []
    last = lay_out(RecallScreen(status("recall"), rows, 8, 434, 4, 5), density=density, height=height)
    assert last.bitmap.tobytes() != canvas.bitmap.tobytes()


@pytest.mark.parametrize(("density", "height"), WAYS)
def test_before_the_pluck_the_ladder_says_that_a_bend_is_heavy(density, height) -> None:
    waiting = samples()["ladder waiting"]
    assert isinstance(waiting, LadderScreen)
    assert any("heavy" in word.lower() for word in words(waiting, density, height))
    light = replace(waiting, support="index")
    assert not any("heavy" in word.lower() for word in words(light, density, height))


def test_standing_the_ladder_shows_the_fingers() -> None:
    assert "RING +2" in words(samples()["ladder waiting"])


def test_after_the_last_verdict_of_the_ladder_no_bend_is_called_the_next() -> None:
    judged = replace(samples()["ladder waiting"], verdict=LAST)
    assert any(word.startswith("next ") for word in words(judged, "close"))
    assert not any(word.startswith("next ") for word in words(replace(judged, climbed=True), "close"))


@pytest.mark.parametrize(("density", "height"), WAYS)
def test_blind_says_that_the_drone_sounds_and_which_chord(density, height) -> None:
    waiting = samples()["blind waiting"]
    assert isinstance(waiting, BlindScreen)
    on = " ".join(words(replace(waiting, status=status("blind", drone=True, chord="Cm")), density, height))
    off = " ".join(words(replace(waiting, status=status("blind")), density, height))
    assert "drone" in on.lower()
    assert "drone" not in off.lower()
    assert "C" in on
    assert "m" in on


def test_a_minor_chord_keeps_its_small_letter() -> None:
    """The large face has capitals only, and GM would be major."""
    minor, major = (
        lay_out(WatchScreen(status("watch", drone=True, chord=chord), None, None, StringPicture(), None)).bitmap
        for chord in ("Gm", "G")
    )
    assert minor.tobytes() != major.tobytes()
    assert "GM" not in words(WatchScreen(status("watch", drone=True, chord="Gm"), None, None, StringPicture(), None))


@pytest.mark.parametrize(("density", "height"), WAYS)
def test_an_unlike_echo_says_what_was_unlike(density, height) -> None:
    echo = samples()["echo likeness"]
    assert isinstance(echo, EchoScreen)
    unlike = replace(echo, likeness=17, unlike="NO VIBRATO")
    assert "no vibrato" in " ".join(words(unlike, density, height)).lower()
