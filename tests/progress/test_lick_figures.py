"""Which note of which lick stays behind, from the marks that were logged; and through the real log and review."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pedal.cli.entry import main
from pedal.progress.lick_figures import lick_figures


def rows(*notes: tuple[int, str, int], lick: str = "old gate", passes: int = 8):
    return [(lick, number, mark, f"N{number}", count, passes) for number, mark, count in notes]


def test_the_note_that_is_seldom_right_stays_behind():
    (found,) = lick_figures(
        [
            rows(
                (1, "plain", 8),
                (2, "curl_cut", 1),
                (2, "curl_released", 6),
                (2, "near", 1),
                (3, "bent", 7),
                (3, "missed", 1),
            )
        ]
    )
    assert (found.lick, found.passes, [round(note.right.value, 3) for note in found.notes]) == (
        "old gate",
        8,
        [1.0, 0.125, 0.875],
    )
    assert found.behind is not None
    assert (found.behind.number, found.behind.fault) == (2, "curl_released")


def test_few_passes_or_a_small_difference_claim_nothing():
    few = lick_figures([rows((1, "plain", 2), (2, "missed", 2), passes=2)])
    assert few[0].behind is None
    near = lick_figures([rows((1, "plain", 8), (2, "plain", 7), (2, "missed", 1))])
    assert near[0].behind is None


def test_what_creeps_in_is_wrong_and_a_release_that_was_asked_for_is_right():
    (found,) = lick_figures([rows((1, "curl_cut, not asked", 8), (2, "curl_released, asked", 8))])
    assert [note.right.value for note in found.notes] == [0.0, 1.0]


def test_sessions_add_up_and_the_most_played_comes_first():
    found = lick_figures(
        [rows((1, "plain", 8)), rows((1, "plain", 4), passes=4), rows((1, "plain", 3), lick="other", passes=3)]
    )
    assert [(one.lick, one.passes, one.notes[0].passes) for one in found] == [("old gate", 12, 12), ("other", 3, 3)]


def test_a_note_is_named_by_what_was_right_of_it_and_not_by_what_was_played_instead():
    instead = ("old gate", 3, "missed", "F4", 8, 12)
    asked = ("old gate", 3, "plain", "C4", 4, 12)
    flat = ("old gate", 3, "near", "B3", 1, 12)
    only = ("old gate", 4, "missed", "A4", 8, 12)
    for sessions in (
        [[instead, flat, asked, only]],
        [[asked, instead, flat, only]],
        [[instead], [flat], [asked, only]],
    ):
        (found,) = lick_figures(sessions)
        assert [note.note for note in found.notes] == ["C4", "A4"]
    (found,) = lick_figures([[instead, flat]])
    assert found.notes[0].note == "B3", "near is at the note, a miss may be anywhere"


def test_an_added_note_is_none_of_the_lick():
    (found,) = lick_figures([[*rows((1, "plain", 8)), ("old gate", None, "added", None, 5, 8)]])
    assert (len(found.notes), found.added) == (1, 5)


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The performance of the mode, kept in a log."""
    path = tmp_path_factory.mktemp("lick") / "log.sqlite"
    assert main(["demo", "--mode", "lick", "--headless", "--fast", "--log", str(path)]) == 0
    return path


def test_the_performance_of_the_mode_is_logged_and_reviewed(log: Path, capsys: pytest.CaptureFixture[str]):
    capsys.readouterr()
    assert main(["review", "--log", str(log), "--json"]) == 0
    (lick,) = json.loads(capsys.readouterr().out)["licks"]
    assert (lick["lick"], lick["passes"], lick["added"]) == ("G3 Bb3 C4 D4 …", 3, 0)
    assert [note["passes"] for note in lick["notes"]] == [3, 3, 3, 1, 3, 3, 3]
    assert lick["notes"][6]["right"]["value"] == pytest.approx(2 / 3)
    assert lick["notes"][6]["fault"] == "curl_released"


def test_the_review_shows_licks_in_the_terminal_and_on_the_page(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    assert main(["review", "--log", str(log)]) == 0
    assert "G3 B♭3 C4 D4 …" in capsys.readouterr().out
    assert main(["review", "--log", str(log), "--html", str(tmp_path / "page.html")]) == 0
    assert '<h2 id="licks">Licks</h2>' in (tmp_path / "page.html").read_text()
